"""What somebody tries who wants in: forging, planting, guessing, and listening to the clock."""

from __future__ import annotations

import sys
from collections import Counter
from typing import TYPE_CHECKING

import pytest
from argon2 import PasswordHasher
from argon2.low_level import verify_secret

from tests.support.web import PASSWORD, Site, sign_in
from tracker.services import passwords
from tracker.services import sign_in as signing
from tracker.services.sign_in import MOST_PER_ADDRESS, SignInRefusedError, TooManyAttemptsError
from tracker.web.access import COOKIE
from tracker.web.app import ROUTERS

if TYPE_CHECKING:
    from types import CodeType, FrameType

FORGED = "urn:hardstand:problem:forged-request"
CHANGING = sorted(
    (method, route.path)
    for router in ROUTERS
    for route in router.routes
    for method in route.methods - {"GET", "HEAD"}
)
WATCHED: dict[CodeType, str] = {
    verify_secret.__code__: "verify",
    PasswordHasher.hash.__code__: "hash",
}


def test_there_are_routes_that_change_something() -> None:
    assert ("POST", "/api/events") in CHANGING
    assert ("DELETE", "/api/catalogue/{work}") in CHANGING


@pytest.mark.parametrize("how", ["no token", "another's token", "another site"])
def test_no_route_changes_anything_by_a_forged_request(site: Site, how: str) -> None:
    ada = site.person("*:manager", "*:gate", "*:workshop", "*:sales")
    token = ada.headers.pop("X-CSRF-Token")
    if how == "another's token":
        ada.headers["X-CSRF-Token"] = site.person(name="bea").headers["X-CSRF-Token"]
    if how == "another site":
        ada.headers |= {"X-CSRF-Token": token, "Sec-Fetch-Site": "cross-site"}
    said = {}
    for method, path in CHANGING:
        answer = ada.request(method, path, content=b"", headers={"Accept": "application/json"})
        said[method, path] = (answer.status_code, answer.json().get("type"))
    assert {route: got for route, got in said.items() if got != (403, FORGED)} == {}
    assert site.depot.one("SELECT count(*) FROM sessions") >= 1


def test_session_that_an_intruder_planted_is_not_the_victims_afterwards(site: Site) -> None:
    intruder = site.person("NORTH:gate", name="mallow")
    planted = intruder.cookies[COOKIE]
    site.add_person("ada", "NORTH:manager")
    victim = site.client(**{"X-CSRF-Token": intruder.headers["X-CSRF-Token"]})
    victim.cookies.set(COOKIE, planted, domain="testserver.local")
    assert sign_in(victim, "ada").status_code == 303
    sessions = [cookie.value for cookie in victim.cookies.jar if cookie.name == COOKIE]
    begun = [value for value in sessions if value != planted]
    assert len(begun) == 1
    assert site.client(Cookie=f"{COOKIE}={begun[0]}").get("/api/me").json()["name"] == "ada"
    assert site.client(Cookie=f"{COOKIE}={planted}").get("/api/me").status_code == 401


def work_of(site: Site, name: str, password: str) -> Counter[str]:
    """Return how often each costly function runs while somebody tries to sign in."""
    seen: Counter[str] = Counter()

    def look(frame: FrameType, event: str, _: object) -> None:
        if event == "call" and frame.f_code in WATCHED:
            seen[WATCHED[frame.f_code]] += 1

    sys.setprofile(look)
    try:
        with pytest.raises(SignInRefusedError):
            signing.sign_in(site.depot.web, name, password, "192.0.2.1")
    finally:
        sys.setprofile(None)
    return seen


def test_unknown_name_costs_the_same_work_as_a_known_one(site: Site) -> None:
    site.add_person("ada", "NORTH:gate")
    site.add_person("closed", "NORTH:gate")
    site.depot.change("UPDATE accounts SET password = NULL WHERE name = 'closed'")
    work = {}
    for name in ("ada", "nobody", "closed"):
        # As in a process just started, where the hash of nobody's password is not made yet.
        passwords._nobodys.cache_clear()
        work[name] = work_of(site, name, "wrong password")
    assert set(map(frozenset, (one.items() for one in work.values()))) == {
        frozenset({("verify", 1), ("hash", 1)})
    }
    assert work_of(site, "nobody", PASSWORD) == work_of(site, "ada", "wrong") == Counter(verify=1)


def test_hash_of_nobodys_password_costs_as_much_as_any_other() -> None:
    cost = slice(1, 4)
    anybodys = passwords.hash_password(PASSWORD).split("$")[cost]
    assert passwords._nobodys().split("$")[cost] == anybodys


@pytest.mark.parametrize(
    ("tried", "next_one", "is_stopped"),
    [
        ("192.0.2.1", "192.0.2.1", True),
        ("192.0.2.1", "192.0.2.2", False),
        ("192.0.2.1", "::ffff:192.0.2.1", True),
        ("2001:db8:7:7::1", "2001:db8:7:7:ffff::2", True),
        ("2001:db8:7:7::1", "2001:db8:7:8::1", False),
        ("unknown", "unknown", True),
    ],
)
def test_guesser_of_many_names_is_stopped_by_the_network_they_own(
    site: Site, tried: str, next_one: str, is_stopped: bool
) -> None:
    context = site.depot.web
    for number in range(MOST_PER_ADDRESS):
        # Counted without the hash that takes its time afterwards.
        signing.count_attempt(context, tried, f"name {number}")
    with pytest.raises(TooManyAttemptsError if is_stopped else SignInRefusedError):
        signing.sign_in(context, "another", "wrong", next_one)
