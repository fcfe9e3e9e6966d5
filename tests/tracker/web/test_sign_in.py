"""Signing in and out, sessions, and what stops those who guess."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from tests.support.depot import wait_until
from tests.support.web import PASSWORD, Site, open_site, sign_in
from tracker.services import accounts, passwords
from tracker.services import sign_in as signing
from tracker.services.actor import Grant, Role
from tracker.services.sign_in import MOST_PER_NAME, SignInRefusedError, TooManyAttemptsError
from tracker.web.pages.sign_in import MOST_AT_THE_DOOR, own_path

if TYPE_CHECKING:
    from shared.clock import StandingClock
    from tests.support.depot import Depot

COOKIE = "hardstand_session"


def test_right_password_begins_a_session_that_scripts_cannot_read(site: Site) -> None:
    site.add_person("ada", "NORTH:gate", shown_as="Ada Quill")
    client = site.client()
    answer = sign_in(client, " Ada ", next="/api/stock?depot=NORTH")
    assert (answer.status_code, answer.headers["location"]) == (303, "/api/stock?depot=NORTH")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert "secure" not in cookie
    me = client.get("/api/me").json()
    assert (me["shown_as"], me["roles"]) == ("Ada Quill", {"NORTH": ["gate"]})


def test_session_over_tls_travels_over_nothing_else(site: Site) -> None:
    site.add_person("ada", "NORTH:gate")
    client = site.client()
    client.base_url = "https://testserver"
    assert "secure" in sign_in(client, "ada").headers["set-cookie"].lower()
    assert "strict-transport-security" in client.get("/health").headers


@pytest.mark.parametrize(("name", "password"), [("ada", "wrong"), ("nobody", PASSWORD)])
def test_wrong_name_and_wrong_password_are_answered_alike(
    site: Site, name: str, password: str
) -> None:
    site.add_person("ada", "NORTH:gate")
    client = site.client()
    answer = sign_in(client, name, password)
    assert answer.status_code == 401
    assert "The name and the password do not belong together." in answer.text
    assert COOKIE not in client.cookies


def test_no_password_is_right_where_none_is_kept() -> None:
    assert not passwords.is_right(None, "nobody's password")
    assert passwords.is_right(
        passwords.hash_password("caf\u00e9 caf\u00e9 caf\u00e9"), "cafe\u0301 " * 2 + "cafe\u0301"
    )


@pytest.mark.parametrize("password", ["nine char", "x" * 201])
def test_new_password_too_short_or_too_long_is_refused(password: str) -> None:
    with pytest.raises(passwords.PasswordError):
        passwords.hash_password(password)


def test_token_is_new_at_each_sign_in_and_the_old_one_is_dead(site: Site) -> None:
    client = site.person("NORTH:gate")
    before = client.cookies[COOKIE]
    assert sign_in(client, "ada").status_code == 303
    assert client.cookies[COOKIE] != before
    stale = site.client(Cookie=f"{COOKIE}={before}")
    assert stale.get("/api/me").status_code == 401
    assert client.get("/api/me").status_code == 200


def test_token_planted_before_sign_in_opens_nothing_after_it(site: Site) -> None:
    site.add_person("ada", "NORTH:gate")
    client = site.client()
    client.cookies.set(COOKIE, "planted")
    sign_in(client, "ada")
    assert site.client(Cookie=f"{COOKIE}=planted").get("/api/me").status_code == 401


def test_database_holds_neither_token_nor_password(site: Site) -> None:
    token = site.person("NORTH:gate").cookies[COOKIE]
    kept = str(site.depot.rows("SELECT * FROM sessions")) + str(
        site.depot.rows("SELECT * FROM accounts")
    )
    assert token not in kept
    assert PASSWORD not in kept
    assert "argon2id" in kept


def test_sign_out_ends_the_session_on_the_server(site: Site) -> None:
    client = site.person("NORTH:gate")
    kept = client.cookies[COOKIE]
    assert client.post("/sign-out").status_code == 303
    assert site.client(Cookie=f"{COOKIE}={kept}").get("/api/me").status_code == 401


def test_sessions_are_ended_from_outside_and_by_a_new_password(site: Site) -> None:
    first, context = site.person("NORTH:gate"), site.depot.web
    assert accounts.end_sessions(context, "ada") == 1
    assert first.get("/api/me").status_code == 401
    sign_in(first, "ada")
    assert first.get("/api/me").status_code == 200
    assert accounts.set_password(context, "ADA", "a lamp beside the barrier") == 1
    assert first.get("/api/me").status_code == 401
    assert sign_in(site.client(), "ada").status_code == 401
    assert sign_in(site.client(), "ada", "a lamp beside the barrier").status_code == 303


def test_roles_taken_away_are_gone_at_the_next_request(site: Site) -> None:
    client = site.person("NORTH:manager")
    accounts.set_grants(site.depot.web, "ada", [])
    assert client.get("/api/me").status_code == 403
    accounts.set_grants(site.depot.web, "ada", [Grant("SOUTH", Role.SALES)])
    assert client.get("/api/me").json()["roles"] == {"SOUTH": ["sales"]}


def test_session_ends_after_a_long_pause_and_lasts_while_it_is_used(
    site: Site, clock: StandingClock
) -> None:
    client = site.person("NORTH:gate")
    for _ in range(4):
        clock.move(timedelta(days=6))
        assert client.get("/api/me").status_code == 200
    clock.move(timedelta(days=7, minutes=6))
    assert client.get("/api/me").status_code == 401
    assert site.depot.one("SELECT count(*) FROM sessions") == 0


def test_session_ends_after_thirty_days_however_much_it_is_used(
    site: Site, clock: StandingClock
) -> None:
    client = site.person("NORTH:gate")
    for _ in range(5):
        clock.move(timedelta(days=6))
        assert client.get("/api/me").status_code == 200
    clock.move(timedelta(minutes=1))
    assert client.get("/api/me").status_code == 401


def test_ten_wrong_passwords_close_the_name_for_a_while(site: Site, clock: StandingClock) -> None:
    site.add_person("ada", "NORTH:gate")
    site.add_person("bea", "NORTH:gate")
    client = site.client()
    statuses = [sign_in(client, "ada", "wrong").status_code for _ in range(11)]
    assert statuses == [401] * 10 + [429]
    answer = sign_in(client, "ada")
    assert answer.status_code == 429
    assert answer.headers["retry-after"] == "900"
    assert sign_in(client, "bea").status_code == 303
    clock.move(timedelta(minutes=15))
    assert sign_in(site.client(), "ada").status_code == 303


def test_right_password_forgets_the_wrong_ones_of_the_name_but_not_of_the_address(
    site: Site,
) -> None:
    site.add_person("ada", "NORTH:gate")
    for _ in range(2):
        assert [sign_in(site.client(), "ada", "wrong").status_code for _ in range(9)] == [401] * 9
        assert sign_in(site.client(), "ada").status_code == 303
    # Eighteen wrong ones stand under the address, and the two right ones nowhere.
    assert site.depot.one("SELECT count(*) FROM sign_in_attempts") == 18


def test_strangers_who_guess_keep_nobody_out_of_a_browser_of_theirs(site: Site) -> None:
    site.add_person("ada", "NORTH:gate")
    site.add_person("bea", "NORTH:gate")
    known = {}
    for name in ("ada", "bea"):
        browser = site.client()
        assert sign_in(browser, name).status_code == 303
        known[name] = browser.cookies["hardstand_known"]
    assert site.client(Cookie=f"hardstand_known={known['ada']}").get("/api/me").status_code == 401
    stranger = site.client()
    for _ in range(MOST_PER_NAME):
        assert sign_in(stranger, "ada", "a guess at it").status_code == 401
    assert sign_in(stranger, "ada").status_code == 429
    # What a browser is known by is good for its own name, as it was given.
    for other in (known["bea"], known["ada"][:-1] + "!", "."):
        assert sign_in(site.client(Cookie=f"hardstand_known={other}"), "ada").status_code == 429
    own = {"Cookie": f"hardstand_known={known['ada']}"}
    for _ in range(MOST_PER_NAME - 1):
        assert sign_in(site.client(**own), "ada", "a slip of the finger").status_code == 401
    assert sign_in(site.client(**own), "ada").status_code == 303
    for _ in range(MOST_PER_NAME):
        assert sign_in(site.client(**own), "ada", "a guess at it").status_code == 401
    assert sign_in(site.client(**own), "ada").status_code == 429


def test_strangers_at_the_door_keep_nobody_from_the_pages(site: Site) -> None:
    """More than the pages have threads, while passwords take their time to be looked at."""
    inside, strangers = site.person("NORTH:gate"), 45
    with ThreadPoolExecutor(strangers + 1) as pool:
        with passwords._AT_ONCE, passwords._AT_ONCE:
            tries = [
                pool.submit(sign_in, site.client(), f"name {one}", "a guess at it")
                for one in range(strangers)
            ]
            wait_until(lambda: sum(one.done() for one in tries) == strangers - MOST_AT_THE_DOOR)
            page = pool.submit(inside.get, "/stock", headers={"Accept": "text/html"})
            assert page.result(timeout=60).status_code == 200
            sent_away = next(one.result() for one in tries if one.done())
        statuses = Counter(one.result().status_code for one in tries)
    assert statuses == {401: MOST_AT_THE_DOOR, 503: strangers - MOST_AT_THE_DOOR}
    assert sent_away.headers["retry-after"] == "2"
    assert site.app.state.means.sign_ins.taken == 0


def test_browser_behind_a_proxy_that_speaks_tls_is_given_cookies_for_tls_only(yard: Depot) -> None:
    with open_site(yard.with_settings(public_address="https://depot.example")) as site:
        site.add_person("ada", "NORTH:gate")
        answer = sign_in(site.client(), "ada")
        cookies = answer.headers.get_list("set-cookie")
        assert len(cookies) == 2
        assert all("Secure" in one and "HttpOnly" in one for one in cookies)
        assert answer.headers["strict-transport-security"].startswith("max-age=")


def test_burst_of_guesses_side_by_side_gets_no_more_tries(site: Site) -> None:
    site.add_person("ada", "NORTH:gate")

    def guess(number: int) -> type[Exception]:
        with pytest.raises((SignInRefusedError, TooManyAttemptsError)) as caught:
            signing.sign_in(site.depot.web, "ada", f"wrong {number}", "192.0.2.1")
        return caught.type

    with ThreadPoolExecutor(12) as pool:
        kinds = list(pool.map(guess, range(16)))
    assert kinds.count(SignInRefusedError) == 10
    assert kinds.count(TooManyAttemptsError) == 6


def test_address_that_tries_many_names_is_stopped(site: Site) -> None:
    site.add_person("ada", "NORTH:gate")
    context, now = site.depot.web, site.depot.web.clock.now()
    who = signing._who(context, "address", "testclient")
    site.depot.change(
        "INSERT INTO sign_in_attempts (who, tried_at)"
        " SELECT :who, :now FROM generate_series(1, 50)",
        who=who,
        now=now,
    )
    assert sign_in(site.client(), "ada").status_code == 429
    with pytest.raises(SignInRefusedError):
        signing.sign_in(context, "ada", "wrong", "192.0.2.7")


@pytest.mark.parametrize(
    "path", ["//elsewhere.example", "https://elsewhere.example", "/\\elsewhere", "/a\tb", ""]
)
def test_after_sign_in_nobody_is_led_elsewhere(path: str) -> None:
    assert own_path(path) == "/"


def test_form_leads_nobody_elsewhere(site: Site) -> None:
    site.add_person("ada", "NORTH:gate")
    assert 'value="/"' in site.client().get("/sign-in?next=//elsewhere.example").text
    answer = sign_in(site.client(), "ada", next="//elsewhere.example")
    assert answer.headers["location"] == "/"


def test_page_asked_for_without_a_session_is_asked_for_again_after_it(site: Site) -> None:
    answer = site.client(Accept="text/html").get("/?depot=NORTH")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/sign-in"
    page = site.client().get("/sign-in?next=%2Fgate%3Fa%3D1")
    assert 'value="/gate?a=1"' in page.text


def test_provider_that_is_not_set_is_not_offered(site: Site) -> None:
    assert "/sign-in/openid" not in site.client().get("/sign-in").text
    assert site.client().get("/sign-in/openid").status_code == 404
    assert site.client().get("/sign-in/openid/answer?code=a&state=b").status_code == 404


def test_names_are_shown_as_text_only(site: Site) -> None:
    answer = sign_in(site.client(), '"><script>alert(1)</script>', "wrong")
    assert "<script" not in answer.text
