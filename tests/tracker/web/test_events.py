"""Handing events in by the API, and hearing what became of them."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import orjson
import pytest

from shared.ids import new_id
from tests.support.depot import BOX, OTHER, id_of, report
from tests.support.web import Site, open_site, post
from tracker.services import report as reporting
from tracker.services.actor import Scope
from tracker.services.sight import may_see_event

if TYPE_CHECKING:
    from sqlalchemy import Connection
    from starlette.testclient import TestClient

    from tests.support.depot import Depot
    from tracker.services.sight import Sight
    from tracker.store.intake import KnownEvent


@pytest.fixture
def gate(site: Site) -> TestClient:
    return site.person("NORTH:gate", shown_as="Ada Quill")


def test_single_event_gets_a_receipt_and_then_its_verdict(site: Site, gate: TestClient) -> None:
    body = report("gate-in")
    answer = post(gate, body)
    assert answer.status_code == 202
    assert answer.json() == {
        "id": id_of(body),
        "state": "waiting",
        "accepted": True,
        "again": False,
        "error": None,
        "faults": [],
        "verdict": None,
    }
    waiting = gate.get(f"/api/events/{id_of(body)}")
    assert (waiting.status_code, waiting.json()["state"]) == (202, "waiting")
    site.depot.drain_all()
    verdict = gate.get(f"/api/events/{id_of(body)}")
    assert verdict.status_code == 200
    assert {name: verdict.json()[name] for name in ("id", "verdict", "findings", "seq")} == {
        "id": id_of(body),
        "verdict": "recorded",
        "findings": [],
        "seq": 1,
    }
    again = post(gate, body)
    assert (again.status_code, again.json()["state"], again.json()["again"]) == (
        200,
        "recorded",
        True,
    )


def test_event_judged_while_it_is_asked_for_is_not_unknown(
    site: Site, gate: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    body = report("gate-in")
    post(gate, body)

    def judge_meanwhile(connection: Connection, sight: Sight, known: KnownEvent) -> bool:
        site.depot.drain_all()
        return may_see_event(connection, sight, known)

    monkeypatch.setattr(reporting, "may_see_event", judge_meanwhile)
    answer = gate.get(f"/api/events/{id_of(body)}")
    assert (answer.status_code, answer.json()["state"]) == (202, "waiting")
    assert gate.get(f"/api/events/{id_of(body)}").json()["verdict"] == "recorded"


def test_events_of_a_list_stand_alone(site: Site, gate: TestClient) -> None:
    good, other = report("gate-in"), report("gate-in", OTHER)
    unknown = report("teleport")
    elsewhere = report("gate-in", depot="SOUTH")
    answer = post(gate, good, b"what", unknown, elsewhere, b"", b"7", other)
    assert answer.status_code == 202
    receipts = answer.json()
    assert [one["state"] for one in receipts] == [
        "waiting",
        "held",
        "held",
        "rejected",
        "held",
        "held",
        "waiting",
    ]
    assert "it is no JSON" in receipts[1]["error"]
    assert "teleport" in receipts[2]["error"]
    assert "SOUTH" in receipts[3]["error"]
    assert receipts[3]["accepted"] is False
    site.depot.drain_all()
    assert site.depot.outcomes() == {id_of(good): "recorded", id_of(other): "recorded"}
    kept = gate.get(f"/api/events/{receipts[1]['id']}")
    assert (kept.status_code, kept.json()["verdict"]) == (200, "held")


def test_empty_list_is_answered_by_an_empty_list(gate: TestClient) -> None:
    answer = gate.post("/api/events", content=b" [] ")
    assert (answer.status_code, answer.json()) == (200, [])


def test_event_is_the_same_alone_and_in_a_list(site: Site) -> None:
    machine = site.machine(Scope.REPORT)
    body = report("gate-in", masses={"cube_m3": "33"}).replace(b'"33"', b"33.200")
    assert b"33.200" in body
    first, second = post(machine, body), post(machine, body, report("gate-in", OTHER))
    assert first.json()["state"] == "waiting"
    assert [one["again"] for one in second.json()] == [True, False]
    assert [one["accepted"] for one in second.json()] == [True, True]


def test_same_id_with_other_content_is_a_conflict(gate: TestClient) -> None:
    body = report("gate-in")
    post(gate, body)
    answer = post(gate, body.replace(b"NORTH", b"NORTH").replace(b"07:00", b"07:30"))
    assert (answer.status_code, answer.json()["state"]) == (409, "conflict")


def test_persons_events_carry_the_persons_name_whatever_they_say(
    site: Site, gate: TestClient
) -> None:
    post(gate, report("gate-in", reported_by="Somebody Else", source="file"))
    phone = report("sighting", source="phone", happened_at="2026-03-02T07:30:00+00:00")
    post(gate, orjson.dumps(orjson.loads(phone) | {"reported_by": None}))
    site.depot.drain_all()
    history = gate.get(f"/api/units/{BOX}").json()["history"]
    assert [(one["reported_by"], one["event"]["source"]) for one in history] == [
        ("Ada Quill", "page"),
        ("Ada Quill", "phone"),
    ]


def test_machine_states_who_reported(site: Site) -> None:
    machine = site.machine(Scope.REPORT, Scope.READ, depots=("NORTH",))
    post(machine, report("gate-in", reported_by="Weighbridge 2"))
    site.depot.drain_all()
    (row,) = machine.get(f"/api/units/{BOX}").json()["history"]
    assert (row["reported_by"], row["event"]["source"]) == ("Weighbridge 2", "api")
    elsewhere = post(machine, report("gate-in", depot="SOUTH"))
    assert (elsewhere.status_code, elsewhere.json()["state"]) == (403, "rejected")


def test_verdict_is_heard_as_soon_as_it_stands(site: Site, gate: TestClient) -> None:
    body = report("gate-in")
    post(gate, body)
    with ThreadPoolExecutor(1) as pool:
        asked = pool.submit(gate.get, f"/api/events/{id_of(body)}", params={"wait": 60})
        site.depot.drain_all()
        assert asked.result().json()["verdict"] == "recorded"


def test_verdict_that_does_not_come_is_waited_for_no_longer_than_asked(gate: TestClient) -> None:
    body = report("gate-in")
    post(gate, body)
    answer = gate.get(f"/api/events/{id_of(body)}", params={"wait": 0.05})
    assert (answer.status_code, answer.json()["state"]) == (202, "waiting")
    assert gate.get(f"/api/events/{id_of(body)}", params={"wait": 61}).status_code == 422


def test_unknown_event_is_not_found(gate: TestClient) -> None:
    answer = gate.get(f"/api/events/{new_id()}")
    assert (answer.status_code, answer.json()["type"]) == (
        404,
        "urn:hardstand:problem:event-unknown",
    )


def test_bodies_that_cannot_be_taken_are_refused_whole(site: Site, gate: TestClient) -> None:
    statuses = {
        "unclosed": gate.post("/api/events", content=b"[" + report("gate-in")).status_code,
        "too many": gate.post("/api/events", content=b"[" + b"1," * 1000 + b"1]").status_code,
        "too large": gate.post("/api/events", content=b"[" + b" " * 9_000_000).status_code,
        "too deep": gate.post("/api/events", content=b"[" * 70 + b"]" * 70).status_code,
    }
    assert statuses == {"unclosed": 400, "too many": 413, "too large": 413, "too deep": 400}
    assert site.depot.one("SELECT count(*) FROM intake") == 0


def test_body_that_lies_about_its_length_is_stopped_too(gate: TestClient) -> None:
    def pour() -> object:
        for _ in range(9):
            yield b" " * 1_000_000

    assert gate.post("/api/events", content=pour()).status_code == 413


def test_senders_are_asked_to_come_later_while_too_much_waits(yard: Depot) -> None:
    with open_site(yard.with_settings(web_backlog_most=1)) as site:
        gate = site.person("NORTH:gate")
        # Looked at once a second: the first look finds nothing waiting.
        site.depot.send(report("gate-in"), report("gate-in", OTHER))
        answer = post(gate, report("restow"))
        assert answer.status_code == 503
        assert int(answer.headers["retry-after"]) >= 1
        assert site.depot.one("SELECT count(*) FROM intake") == 2
        assert gate.get("/api/stock").status_code == 200
