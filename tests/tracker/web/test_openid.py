"""Signing in at an OpenID provider: who comes in, and every answer that is not to be believed."""

from __future__ import annotations

import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qs, urlsplit

import httpx2
import pytest
from joserfc.jwk import OctKey

from tests.support.openid import (
    CLIENT_ID,
    CLIENT_SECRET,
    EMAIL,
    OpenIdServer,
    new_key,
    serve_openid,
)
from tests.support.web import Site, sign_in
from tracker.services import accounts, openid_provider

if TYPE_CHECKING:
    from collections.abc import Iterator

    from starlette.testclient import TestClient

    from shared.clock import StandingClock
    from shared.settings import Settings

COOKIE = "hardstand_session"
NOT_OURS = "The answer of the sign-in service does not belong to this sign-in."
NO_ACCOUNT = "You have no account here that you may sign in to."
AWAY = "The sign-in service of your organisation does not answer."


@pytest.fixture
def provider(clock: StandingClock) -> Iterator[OpenIdServer]:
    """A provider that vouches for Ada."""
    with serve_openid(clock) as provider:
        yield provider


@pytest.fixture
def settings(settings: Settings, provider: OpenIdServer) -> Settings:
    """Settings that name the provider."""
    return provider.set_in(settings)


@pytest.fixture
def house(site: Site) -> Site:
    """The site, with an account for Ada."""
    site.add_person(EMAIL, "NORTH:gate", shown_as="Ada Quill")
    return site


def go(client: TestClient, next_path: str = "/") -> str:
    """Go to the provider and return where it sends the browser back to."""
    away = client.get("/sign-in/openid", params={"next": next_path})
    assert away.status_code == 303, away.text
    back = httpx2.get(away.headers["location"])
    assert back.status_code == 303, back.text
    return back.headers["location"]


def come_back(client: TestClient, address: str, **changed: str) -> Any:  # noqa: ANN401 - httpx's answer
    """Follow the provider's redirect."""
    parts = urlsplit(address)
    said = {name: values[0] for name, values in parse_qs(parts.query).items()} | changed
    return client.get(parts.path, params=said)


def try_once(site: Site) -> Any:  # noqa: ANN401 - httpx's answer
    """Sign in once with a new browser."""
    client = site.client()
    return come_back(client, go(client))


def says(answer: Any, status: int, text: str) -> bool:  # noqa: ANN401 - httpx's answer
    """Say whether an answer keeps somebody out with these words and begins no session."""
    assert (answer.status_code, text in answer.text) == (status, True), answer.text
    return COOKIE not in answer.headers.get("set-cookie", "")


def test_page_offers_the_provider_by_a_link_that_keeps_where_one_wanted_to_go(house: Site) -> None:
    page = house.client().get("/sign-in?next=%2Fstock%3Fdepot%3DNORTH")
    assert 'href="/sign-in/openid?next=/stock%3Fdepot%3DNORTH"' in page.text
    # A form would be stopped by the policy where it is led on to the provider.
    assert 'action="/sign-in/openid' not in page.text
    assert "form-action 'self'" in page.headers["content-security-policy"]


def test_whom_the_provider_vouches_for_has_a_session_as_by_password(house: Site) -> None:
    client = house.client()
    answer = come_back(client, go(client, "/api/stock?depot=NORTH"))
    assert (answer.status_code, answer.headers["location"]) == (303, "/api/stock?depot=NORTH")
    cookie = next(one for one in answer.headers.get_list("set-cookie") if COOKIE in one).lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert f"max-age={30 * 86_400}" in cookie
    me = client.get("/api/me").json()
    assert (me["shown_as"], me["roles"]) == ("Ada Quill", {"NORTH": ["gate"]})
    assert house.depot.one("SELECT count(*) FROM sign_in_attempts") == 0


def test_session_of_before_is_dead_and_a_planted_token_opens_nothing(house: Site) -> None:
    client = house.client()
    sign_in(client, EMAIL)
    before = client.cookies[COOKIE]
    come_back(client, go(client))
    assert client.cookies[COOKIE] != before
    planted = house.client()
    planted.cookies.set(COOKIE, "planted", domain="testserver.local")
    come_back(planted, go(planted))
    assert planted.cookies[COOKIE] != "planted"
    for token in (before, "planted"):
        assert house.client(Cookie=f"{COOKIE}={token}").get("/api/me").status_code == 401


def test_answer_to_another_sign_in_is_refused(house: Site) -> None:
    mine, theirs = house.client(), house.client()
    address, other = go(mine), go(theirs)
    assert says(come_back(mine, address, state="0" * 64), 401, NOT_OURS)
    mine = house.client()
    go(mine)
    # Somebody's answer that was slipped to me, and an answer without any sign-in begun here.
    assert says(come_back(mine, other), 401, NOT_OURS)
    assert says(come_back(house.client(), go(house.client())), 401, NOT_OURS)
    assert says(house.client().get("/sign-in/openid/answer"), 401, NOT_OURS)


def test_code_of_another_sign_in_is_refused_by_its_verifier(house: Site) -> None:
    mine, theirs = house.client(), house.client()
    address = go(mine)
    code = parse_qs(urlsplit(go(theirs)).query)["code"][0]
    assert says(come_back(mine, address, code=code), 401, "did not sign you in")


def test_answer_counts_once(house: Site) -> None:
    client = house.client()
    address = go(client)
    assert come_back(client, address).status_code == 303
    assert says(come_back(client, address), 401, NOT_OURS)


def test_answer_that_took_too_long_is_refused(house: Site, clock: StandingClock) -> None:
    client = house.client()
    address = go(client)
    clock.move(timedelta(minutes=10, seconds=1))
    assert says(come_back(client, address), 401, NOT_OURS)


def test_answer_in_the_name_of_another_issuer_is_refused(house: Site) -> None:
    client = house.client()
    assert says(come_back(client, go(client), iss="https://other.example"), 401, NOT_OURS)


@pytest.mark.parametrize(
    "claims",
    [
        {"nonce": "another"},
        {"nonce": None},
        {"exp": 1_772_438_000},
        {"exp": None},
        {"iat": 1_772_500_000},
        {"aud": "another-client"},
        {"aud": "another-client", "azp": CLIENT_ID},
        {"aud": None},
        {"aud": [CLIENT_ID, "another"], "azp": "another"},
        {"iss": "https://other.example"},
        {"iss": None},
        {"sub": None},
        {"sub": "x" * 256},
        {"sub": "a\x00b"},
        {"at_hash": "of-another-token"},
    ],
    ids=str,
)
def test_token_that_says_something_wrong_is_refused(
    house: Site, provider: OpenIdServer, claims: dict[str, Any]
) -> None:
    provider.claims = claims
    assert says(try_once(house), 401, NOT_OURS)


def test_token_expired_by_seconds_is_taken_since_clocks_differ(
    house: Site, provider: OpenIdServer, clock: StandingClock
) -> None:
    now = int(clock.now().timestamp())
    provider.claims = {"exp": now - 59}
    assert try_once(house).status_code == 303
    provider.claims = {"exp": now - 60}
    assert says(try_once(house), 401, NOT_OURS)


def test_token_signed_by_another_key_is_refused(house: Site, provider: OpenIdServer) -> None:
    provider.signs_with = new_key()
    assert says(try_once(house), 401, NOT_OURS)


def test_token_signed_with_what_others_know_is_refused(house: Site, provider: OpenIdServer) -> None:
    provider.algorithm = "HS256"
    # The provider publishes a key of its own for it, as one that was misled might.
    provider.key = provider.signs_with = OctKey.import_key(CLIENT_SECRET * 2, {"kid": "first"})
    assert says(try_once(house), 401, NOT_OURS)
    provider.algorithm = "none"
    assert says(try_once(house), 401, NOT_OURS)


def test_keys_that_the_provider_changed_are_fetched_anew(
    house: Site, provider: OpenIdServer
) -> None:
    for key in (provider.key, new_key("second"), new_key("second")):
        provider.key = key
        assert try_once(house).status_code == 303
    assert provider.seen.count("/people/keys") == 3
    assert provider.seen.count("/people/.well-known/openid-configuration") == 1


@pytest.mark.parametrize(
    "email", ["orin@depot.example", "ada@\u017fite.example", " ada@depot.example", None, ""]
)
def test_whom_no_account_is_named_after_is_refused_and_none_is_made(
    house: Site, provider: OpenIdServer, email: str | None
) -> None:
    house.add_person("ada@site.example", "NORTH:manager")
    provider.claims = {"email": email}
    text = NO_ACCOUNT if email is not None else "does not vouch for your mail address"
    assert says(try_once(house), 401, text)
    assert house.depot.one("SELECT count(*) FROM accounts") == 2
    assert house.depot.one("SELECT count(*) FROM account_subjects") == 0


def test_long_address_is_not_cut_to_the_name_of_another(
    house: Site, provider: OpenIdServer
) -> None:
    house.add_person("a" * 88 + "@depot.examp", "NORTH:manager")
    provider.claims = {"email": "a" * 88 + "@depot.example"}
    assert says(try_once(house), 401, NO_ACCOUNT)


@pytest.mark.parametrize("verified", [False, None, "true", 1])
def test_address_that_is_not_verified_is_refused(
    house: Site, provider: OpenIdServer, verified: object
) -> None:
    provider.claims = {"email_verified": verified}
    assert says(try_once(house), 401, "does not vouch for your mail address")


def test_account_that_has_ended_is_refused_before_and_after_it_was_linked(
    house: Site, provider: OpenIdServer
) -> None:
    house.add_person("orin@depot.example")
    provider.claims = {"email": "orin@depot.example"}
    assert says(try_once(house), 401, NO_ACCOUNT)
    provider.claims = {}
    assert try_once(house).status_code == 303
    accounts.set_grants(house.depot.web, EMAIL, [])
    assert says(try_once(house), 401, NO_ACCOUNT)


def test_subject_once_linked_is_known_whatever_its_address_becomes(
    house: Site, provider: OpenIdServer
) -> None:
    provider.claims = {"email": EMAIL.upper()}
    assert try_once(house).status_code == 303
    provider.claims = {"email": "ada.quill@depot.example", "email_verified": False}
    client = house.client()
    assert come_back(client, go(client)).status_code == 303
    assert client.get("/api/me").json()["shown_as"] == "Ada Quill"


def test_address_given_to_somebody_else_opens_nothing_until_it_is_freed(
    house: Site, provider: OpenIdServer
) -> None:
    first = house.client()
    assert come_back(first, go(first)).status_code == 303
    provider.claims = {"sub": "subject-2"}
    assert says(try_once(house), 401, "belongs to somebody else")
    assert accounts.unlink(house.depot.web, EMAIL) == 1
    assert first.get("/api/me").status_code == 401
    assert try_once(house).status_code == 303
    provider.claims = {"sub": "subject-1"}
    assert says(try_once(house), 401, "belongs to somebody else")


def test_address_told_only_besides_the_token_is_asked_for(
    house: Site, provider: OpenIdServer
) -> None:
    provider.claims = {"email": None, "email_verified": None}
    provider.told_besides = {"sub": "another", "email": EMAIL, "email_verified": True}
    assert says(try_once(house), 401, NOT_OURS)
    provider.told_besides |= {"sub": "subject-1"}
    assert try_once(house).status_code == 303


def test_provider_that_is_down_is_told_of_and_counts_against_nobody(
    house: Site, clock: StandingClock, settings: Settings
) -> None:
    client = house.client()
    address = go(client)
    # A new document is asked for once the one that was kept is old; by then nobody answers.
    openid = house.app.state.means.openid
    with serve_openid(clock) as gone:
        openid.issuer = gone.issuer
    openid._discovery = None
    assert says(house.client().get("/sign-in/openid"), 503, AWAY)
    assert says(come_back(client, address, iss=""), 503, AWAY)
    assert house.depot.one("SELECT count(*) FROM sign_in_attempts") == 0
    assert sign_in(client, EMAIL).status_code == 303


def test_provider_that_hangs_is_waited_for_only_shortly(
    house: Site, provider: OpenIdServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert openid_provider._TIMEOUT.read == 5
    monkeypatch.setattr(openid_provider, "_TIMEOUT", httpx2.Timeout(0.2))
    provider.hang_s = 3
    assert says(house.client().get("/sign-in/openid"), 503, AWAY)


def test_provider_that_answers_a_byte_at_a_time_holds_few_threads_and_none_for_long(
    house: Site, provider: OpenIdServer
) -> None:
    client = house.client()
    back = go(client)
    asked = house.client().app.state.means.openid
    asked._calls.patience_s = 0.5
    provider.drip_s = 0.2
    with ThreadPoolExecutor(8) as pool:
        begun = time.monotonic()
        first = pool.submit(come_back, client, back)
        assert says(first.result(), 503, AWAY)
        asked._discovery = None
        answers = list(pool.map(lambda _: house.client().get("/sign-in/openid"), range(8)))
        assert all(says(one, 503, AWAY) for one in answers)
        # Each of those that came beyond the few was told at once, and none kept the others waiting.
        assert time.monotonic() - begun < 8 * 0.5
    assert sum(one.name == "bounded-call" for one in threading.enumerate()) <= 4
    assert house.depot.one("SELECT count(*) FROM sign_in_attempts") == 0


@pytest.mark.parametrize(
    "discovery",
    [
        {"issuer": "https://other.example"},
        {"jwks_uri": "http://keys.example/all"},
        {"authorization_endpoint": "javascript:alert(1)"},
        {"token_endpoint": None},
    ],
    ids=str,
)
def test_discovery_document_that_is_not_the_providers_is_not_gone_by(
    house: Site, provider: OpenIdServer, discovery: dict[str, Any]
) -> None:
    provider.discovery = discovery
    assert says(house.client().get("/sign-in/openid"), 503, AWAY)


def test_refusal_of_the_provider_is_told_without_its_words(
    house: Site, provider: OpenIdServer
) -> None:
    client = house.client()
    said = {"error": "access_denied", "error_description": "Call 555-0100"}
    answer = come_back(client, go(client), **said)
    assert says(answer, 401, "did not sign you in")
    assert "555-0100" not in answer.text
    assert "/people/token" not in provider.seen


def test_provider_that_knows_another_secret_refuses(house: Site, provider: OpenIdServer) -> None:
    provider.client_secret = "changed-over-there"
    assert says(try_once(house), 401, "did not sign you in")


def test_failures_are_counted_with_those_of_passwords(house: Site) -> None:
    client = house.client()
    for _ in range(50):
        answer = client.get("/sign-in/openid/answer?state=guessed&code=guessed")
        assert answer.status_code == 401
    late = come_back(client, go(client))
    assert (late.status_code, late.headers["retry-after"]) == (429, "900")
    assert COOKIE not in client.cookies
    assert sign_in(client, EMAIL).status_code == 429


@pytest.mark.parametrize(
    "path", ["//elsewhere.example", "https://elsewhere.example", "/" + "x" * 1600]
)
def test_after_the_provider_nobody_is_led_elsewhere(house: Site, path: str) -> None:
    client = house.client()
    assert come_back(client, go(client, path)).headers["location"] == "/"


def test_session_over_tls_travels_over_nothing_else(house: Site) -> None:
    client = house.client()
    client.base_url = "https://testserver"
    away = client.get("/sign-in/openid")
    assert "secure" in away.headers["set-cookie"].lower()
    assert "httponly" in away.headers["set-cookie"].lower()
    answer = come_back(client, httpx2.get(away.headers["location"]).headers["location"])
    assert "; secure" in answer.headers["set-cookie"].lower()
