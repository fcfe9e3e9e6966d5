"""Requests that a page of somebody else makes a browser send."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.support.depot import report
from tests.support.web import Site, post, sign_in
from tracker.services.actor import Scope

if TYPE_CHECKING:
    from starlette.testclient import TestClient

FORGED = "urn:hardstand:problem:forged-request"


@pytest.fixture
def ada(site: Site) -> TestClient:
    return site.person("NORTH:gate")


def test_change_with_the_sessions_token_is_made(ada: TestClient) -> None:
    assert post(ada, report("gate-in")).status_code == 202


def test_change_without_the_token_is_not(ada: TestClient) -> None:
    del ada.headers["X-CSRF-Token"]
    answer = post(ada, report("gate-in"))
    assert (answer.status_code, answer.json()["type"]) == (403, FORGED)


def test_token_of_another_session_is_no_good(site: Site, ada: TestClient) -> None:
    other = site.person("NORTH:gate", name="bea")
    ada.headers["X-CSRF-Token"] = other.headers["X-CSRF-Token"]
    assert post(ada, report("gate-in")).status_code == 403


def test_token_may_come_in_a_form(ada: TestClient) -> None:
    token = ada.headers.pop("X-CSRF-Token")
    assert ada.post("/sign-out", data={"csrf_token": "other"}).status_code == 403
    assert ada.get("/api/me").status_code == 200
    assert ada.post("/sign-out", data={"csrf_token": token}).status_code == 303
    assert ada.get("/api/me").status_code == 401


def test_browsers_word_on_where_a_change_comes_from_is_heard(ada: TestClient) -> None:
    statuses = {
        (header, value): ada.post("/api/events", content=b"[]", headers={header: value}).status_code
        for header, value in (
            ("Sec-Fetch-Site", "cross-site"),
            ("Sec-Fetch-Site", "same-site"),
            ("Sec-Fetch-Site", "same-origin"),
            ("Origin", "http://elsewhere.example"),
            ("Origin", "null"),
            ("Origin", "http://testserver"),
        )
    }
    assert statuses == {
        ("Sec-Fetch-Site", "cross-site"): 403,
        ("Sec-Fetch-Site", "same-site"): 403,
        ("Sec-Fetch-Site", "same-origin"): 200,
        ("Origin", "http://elsewhere.example"): 403,
        ("Origin", "null"): 403,
        ("Origin", "http://testserver"): 200,
    }


def test_nobody_is_signed_in_by_another_site(site: Site) -> None:
    site.add_person("ada", "NORTH:gate")
    client = site.client(Origin="http://elsewhere.example")
    assert sign_in(client, "ada").status_code == 403
    assert "hardstand_session" not in client.cookies


def test_machines_need_no_token(site: Site) -> None:
    assert post(site.machine(Scope.REPORT), report("gate-in")).status_code == 202
