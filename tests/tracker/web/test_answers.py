"""What every answer carries, and what is said when something goes wrong."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

import orjson
import pytest
from fastapi import APIRouter
from starlette.testclient import TestClient

from shared import logs
from tests.support.depot import report
from tests.support.web import Site, open_site, post
from tracker.store.engine import make_engine
from tracker.web.access import open_to_all
from tracker.web.app import create_app
from tracker.web.headers import POLICY

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.support.depot import Depot

NOWHERE = "postgresql+psycopg://hardstand_web@127.0.0.1:9/none"


@pytest.fixture
def away(yard: Depot) -> Iterator[TestClient]:
    """A browser at an application whose database does not answer."""
    engine = make_engine(NOWHERE)
    yield TestClient(create_app(replace(yard.web, engine=engine)))
    engine.dispose()


def test_every_answer_says_what_a_browser_may_do_with_it(site: Site) -> None:
    client = site.client()
    for path in ("/sign-in", "/api/stock", "/nowhere", "/static/hardstand.css", "/health"):
        headers = client.get(path).headers
        assert headers["content-security-policy"] == POLICY, path
        assert headers["x-content-type-options"] == "nosniff", path
        assert headers["referrer-policy"] == "same-origin", path
        assert re.fullmatch(r"[0-9a-f-]{36}", headers["x-request-id"]), path
    assert client.get("/sign-in").headers["cache-control"] == "no-store"
    assert client.get("/static/hardstand.css").headers["cache-control"] == "no-cache"


def test_policy_lets_no_script_or_style_stand_in_a_page() -> None:
    assert "unsafe" not in POLICY
    assert "default-src 'none'" in POLICY


def test_templates_have_no_script_or_style_in_them() -> None:
    folder = Path(str(resources.files("tracker.web") / "templates"))
    templates = sorted(folder.rglob("*.html"))
    assert len(templates) >= 4
    inside = re.compile(r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=\"/static/)|https?://")
    found = {one.name: inside.findall(one.read_text(encoding="utf-8")) for one in templates}
    assert {name: wrong for name, wrong in found.items() if wrong} == {}


def test_problem_says_what_was_wrong_what_was_expected_and_what_to_do(site: Site) -> None:
    answer = site.person("NORTH:gate").get("/api/units/nothing")
    assert answer.headers["content-type"] == "application/problem+json"
    said = answer.json()
    assert said.pop("instance") == f"urn:uuid:{answer.headers['x-request-id']}"
    assert said == {
        "type": "urn:hardstand:problem:unit-unknown",
        "title": "Not Found",
        "status": 404,
        "detail": "No unit is known by 'nothing'. Expected a mark it bears or ever bore, or a tag "
        "such as #NORTH/T-12. Check the mark, or look through the stock.",
        "wrong": "No unit is known by 'nothing'",
        "expected": "a mark it bears or ever bore, or a tag such as #NORTH/T-12",
        "remedy": "Check the mark, or look through the stock",
    }


def test_wrong_parameters_are_named(site: Site) -> None:
    gate = site.person("NORTH:gate")
    answer = gate.get("/api/stock", params={"size": 0, "presence": "lost", "depot": "\x00"})
    assert answer.status_code == 422
    assert {one["field"] for one in answer.json()["fields"]} == {
        "query.size",
        "query.presence",
        "query.depot",
    }
    assert gate.get("/api/stock", params={"after": "what"}).status_code == 400
    assert gate.get("/api/units/ZZZU1", params={"as_of": "2026-03-01T00:00"}).status_code == 422
    assert gate.get("/api/units/%00").status_code in (404, 422)


def test_browser_is_told_by_a_page_and_a_program_by_json(site: Site) -> None:
    page = site.client(Accept="text/html").get("/nowhere")
    assert page.status_code == 404
    assert page.headers["content-type"].startswith("text/html")
    assert "There is nothing at /nowhere." in page.text
    assert site.client(Accept="text/html").get("/api/stock").json()["status"] == 401
    refused = site.client().get("/api/stock")
    assert refused.headers["www-authenticate"] == "Bearer"


def test_unexpected_error_is_logged_once_and_tells_nothing(
    yard: Depot, logs_as_before: None
) -> None:
    router = APIRouter()

    @router.get("/api/broken")
    @open_to_all
    def get_broken() -> None:
        raise RuntimeError("the secret is 4711")

    app = create_app(yard.web)
    app.include_router(router)
    written = io.StringIO()
    logs.configure("web", stream=written)
    answer = TestClient(app).get("/api/broken")
    assert answer.status_code == 500
    assert "4711" not in answer.text
    lines = [orjson.loads(line) for line in written.getvalue().splitlines()]
    failed = [line for line in lines if "4711" in str(line)]
    assert [line["event"] for line in failed] == ["request.failed"]
    assert f"urn:uuid:{failed[0]['request']}" == answer.json()["instance"]


def test_database_that_is_away_is_told_as_such(away: TestClient) -> None:
    answer = away.get("/api/stock", headers={"Authorization": "Bearer hsk_x"})
    assert answer.status_code == 503
    assert answer.headers["retry-after"] == "2"
    ready = away.get("/ready")
    assert (ready.status_code, ready.json()["database"]) == (503, "down")
    assert away.get("/health").json() == {"ok": True}


def test_ready_tells_how_long_the_oldest_event_waits(site: Site) -> None:
    client = site.client()
    assert client.get("/ready").json() == {
        "ready": True,
        "database": "up",
        "taking_in": True,
        "broker": "unknown",
        "waiting": 0,
        "oldest_waiting_s": 0.0,
        "must_rebuild": False,
    }
    post(site.person("NORTH:gate"), report("gate-in"))
    site.depot.change("UPDATE intake SET received_at = received_at - interval '90 seconds'")
    said = client.get("/ready").json()
    assert (said["waiting"], said["oldest_waiting_s"]) == (1, 90.0)


@pytest.mark.parametrize(("answers", "said"), [(True, "up"), (False, "down")])
def test_ready_tells_whether_the_broker_answers(yard: Depot, answers: bool, said: str) -> None:
    app = create_app(yard.web, ping_broker=lambda: answers)
    answer = TestClient(app).get("/ready")
    assert (answer.status_code, answer.json()["broker"]) == (200, said)


def test_description_holds_every_kind_of_event_and_is_open_to_no_one_else(site: Site) -> None:
    assert site.client().get("/api/openapi.json").status_code == 401
    said = site.person("NORTH:gate").get("/api/openapi.json").json()
    schemas = said["components"]["schemas"]
    assert {"AnyEvent", "GateIn", "Correction", "Receipt"} <= set(schemas)
    references = set(re.findall(r'"#/components/schemas/([^"]+)"', orjson.dumps(said).decode()))
    assert references - set(schemas) == set()
    assert "/api/units/{mark}/may-leave" in said["paths"]
    assert "/sign-in" not in said["paths"]


def test_site_runs_and_stops_with_somebody_waiting(yard: Depot) -> None:
    with open_site(yard) as site:
        gate = site.person("NORTH:gate")
        post(gate, report("gate-in"))
        assert gate.get("/api/stock").json() == {"units": [], "next": None}
