"""A box belongs to the eyes of the depot that has it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tests.support.depot import BOX, OTHER, THIRD, id_of, report
from tests.support.web import Site, post
from tracker.services.actor import Scope

if TYPE_CHECKING:
    from starlette.testclient import TestClient

ARRIVED = report("gate-in", happened_at="2026-03-01T07:00:00+00:00")
LEFT = report(
    "gate-out", purpose="transfer", to_depot="SOUTH", happened_at="2026-03-01T09:00:00+00:00"
)
ARRIVED_THERE = report(
    "gate-in", depot="SOUTH", purpose="transfer", happened_at="2026-03-01T12:00:00+00:00"
)
SOLD_THERE = report(
    "sale", depot="SOUTH", buyer="Tamsin Roe", happened_at="2026-03-01T13:00:00+00:00"
)
DOUBTED_THERE = report(
    "inspection",
    depot="SOUTH",
    happened_at="2026-03-01T12:30:00+00:00",
    masses={"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28000},
)


@pytest.fixture
def moved(site: Site) -> Site:
    """BOX was in NORTH and is in SOUTH, sold there; OTHER is in NORTH, THIRD in SOUTH."""
    site.depot.record(
        ARRIVED,
        report("gate-in", OTHER),
        report("gate-in", THIRD, depot="SOUTH"),
    )
    site.depot.record(LEFT)
    site.depot.record(ARRIVED_THERE)
    site.depot.record(DOUBTED_THERE)
    site.depot.record(SOLD_THERE)
    return site


def marks_in(client: TestClient, path: str = "/api/stock") -> set[str]:
    said: Any = client.get(path).json()
    listed = said["units"] if isinstance(said, dict) else said
    return {one["mark"] for one in listed}


def test_depot_that_has_a_unit_sees_its_whole_history(moved: Site) -> None:
    south = moved.person("SOUTH:sales")
    unit = south.get(f"/api/units/{BOX}").json()
    assert [one["kind"] for one in unit["history"]][:3] == ["gate-in", "gate-out", "gate-in"]
    assert unit["record"]["depot"] == "SOUTH"
    assert unit["record"]["questions"] != []


def test_depot_that_a_unit_left_sees_it_as_it_left(moved: Site) -> None:
    north = moved.person("NORTH:manager")
    answer = north.get(f"/api/units/{BOX}")
    unit = answer.json()
    assert [one["kind"] for one in unit["history"]] == ["gate-in", "gate-out"]
    assert (unit["record"]["presence"], unit["record"]["depot"]) == ("expected", "SOUTH")
    assert unit["record"]["sale"] is None
    assert unit["record"]["questions"] == []
    assert unit["record"]["events"] == 2
    assert "Tamsin Roe" not in answer.text
    later = {"as_of": "2026-03-02T00:00:00Z"}
    assert north.get(f"/api/units/{BOX}", params=later).json() == unit
    before = {"as_of": "2026-03-01T08:00:00Z"}
    inside = north.get(f"/api/units/{BOX}", params=before).json()
    assert inside["record"]["presence"] == "in-depot"


def test_what_the_next_depot_settled_is_not_shown_to_the_one_before(moved: Site) -> None:
    settled = report(
        "correction", None, depot="SOUTH", corrects=id_of(ARRIVED_THERE), changes={"slot": "S1-1"}
    )
    moved.depot.record(settled)
    kinds = {
        depot: [one["kind"] for one in client.get(f"/api/units/{BOX}").json()["history"]]
        for depot, client in (
            ("NORTH", moved.person("NORTH:manager")),
            ("SOUTH", moved.person("SOUTH:manager", name="bea")),
        )
    }
    assert "correction" in kinds["SOUTH"]
    assert kinds["NORTH"] == ["gate-in", "gate-out"]


def test_reporting_from_afar_shows_no_more_of_a_unit_that_left(moved: Site) -> None:
    north = moved.person("NORTH:manager")
    before = north.get(f"/api/units/{BOX}").json()
    moved.depot.record(
        report("delivery", outcome="delivered", happened_at="2026-03-01T18:00:00+00:00")
    )
    assert north.get(f"/api/units/{BOX}").json() == before


NOT_HERE = {
    "survey": {"by": "Quill Survey", "certificate": "C-1"},
    "examination": {"passed": True, "by": "Quill Testing", "next_examination": "2030-06"},
    "plate-change": {"action": "removed"},
    "pre-advice": {},
    "disposal": {"manner": "scrapped"},
    "gate-out": {"purpose": "sale"},
    "delivery": {"outcome": "delivered"},
    "complaint": {"about": "a dent"},
    "claim-notice": {"given_on": "2026-03-01"},
}


@pytest.mark.parametrize("kind", NOT_HERE)
def test_reporting_of_a_unit_that_stands_elsewhere_opens_nothing_of_it(
    moved: Site, kind: str
) -> None:
    north = moved.person("NORTH:manager")
    about = report(kind, THIRD, happened_at="2026-03-02T07:30:00+00:00", **NOT_HERE[kind])
    assert post(north, about).json()["state"] == "waiting"
    moved.depot.drain_all()
    event = f"/api/events/{id_of(about)}"
    assert north.get(event).json()["verdict"] == "recorded"
    assert north.get(f"/api/units/{THIRD}").status_code == 404
    assert north.get(f"{event}/interchange.pdf").status_code == 404


def test_batch_tells_of_a_unit_elsewhere_what_was_announced_and_no_more(moved: Site) -> None:
    south = moved.person("SOUTH:sales")
    early = "2026-02-28T08:00:00+00:00"
    post(south, report("pre-advice", OTHER, depot="SOUTH", batch="B-9", happened_at=early))
    moved.depot.drain_all()
    moved.depot.record(
        report("inspection", OTHER, condition="as-is", masses={"gross_kg": 30480, "tare_kg": 9}),
    )
    everywhere = moved.person("*:manager", name="dora")
    (whole,) = everywhere.get("/api/deliveries/B-9").json()["units"]
    assert (whole["state"], whole["presence"]) == ("arrived", "in-depot")
    assert (whole["condition"], len(whole["differs"])) == ("as-is", 1)
    answer = south.get("/api/deliveries/B-9")
    (told,) = answer.json()["units"]
    assert (told["mark"], told["state"], told["presence"]) == (OTHER, "missing", "expected")
    assert (told["condition"], told["questions"], told["differs"]) == (None, [], [])
    assert "NORTH" not in answer.text


def test_what_was_taken_back_opens_nothing_of_a_unit_elsewhere(moved: Site) -> None:
    north = moved.person("NORTH:gate")
    misread = report("sighting", THIRD)
    post(north, misread)
    moved.depot.drain_all()
    assert north.get(f"/api/units/{THIRD}").status_code == 200
    post(north, report("correction", None, corrects=id_of(misread), withdrawn=True))
    moved.depot.drain_all()
    assert north.get(f"/api/units/{THIRD}").status_code == 404


def test_events_about_a_unit_that_left_and_wait_are_not_shown(moved: Site) -> None:
    moved.depot.send(report("restow", depot="SOUTH"))
    assert moved.person("NORTH:manager").get(f"/api/units/{BOX}").json()["apart"] == []
    south = moved.person("SOUTH:gate", name="bea")
    assert [one["kind"] for one in south.get(f"/api/units/{BOX}").json()["apart"]] == ["restow"]


def test_unit_that_was_never_here_is_as_if_it_were_nowhere(moved: Site) -> None:
    north = moved.person("NORTH:manager")
    hidden, unknown = north.get(f"/api/units/{THIRD}"), north.get("/api/units/ZZZU3999996")
    assert (hidden.status_code, unknown.status_code) == (404, 404)
    assert hidden.json()["type"] == unknown.json()["type"]
    unit_id = moved.depot.unit_id(THIRD)
    assert north.get(f"/api/units/{unit_id}").status_code == 404


def test_whether_it_may_leave_is_told_to_the_depot_that_has_it_only(moved: Site) -> None:
    north, south = moved.person("NORTH:gate"), moved.person("SOUTH:gate", name="bea")
    assert north.get(f"/api/units/{BOX}/may-leave").status_code == 404
    said = south.get(f"/api/units/{BOX}/may-leave").json()
    assert said["may_leave"] is False
    assert "clearance.no-release" in [one["id"] for one in said["findings"]]


def test_lists_hold_ones_own_depots_only(moved: Site) -> None:
    north, south = moved.person("NORTH:gate"), moved.person("SOUTH:gate", name="bea")
    both = moved.person("NORTH:gate", "SOUTH:sales", name="cleo")
    everywhere = moved.person("*:manager", name="dora")
    assert marks_in(north) == {OTHER}
    assert marks_in(south) == {BOX, THIRD}
    assert marks_in(both) == marks_in(everywhere) == {BOX, OTHER, THIRD}
    assert marks_in(north, "/api/stock?depot=SOUTH") == set()
    assert marks_in(north, "/api/questions") == set()
    assert marks_in(south, "/api/questions") == {BOX}
    assert marks_in(north, "/api/questions?depot=SOUTH") == set()
    assert marks_in(moved.machine(Scope.READ, depots=("NORTH",))) == {OTHER}
    page = north.get("/stock").text
    assert OTHER in page
    assert BOX not in page


def test_suggestions_tell_nobody_what_stands_at_another_depot(moved: Site) -> None:
    south, machine = moved.person("SOUTH:gate"), moved.machine(Scope.READ, depots=("SOUTH",))
    for client in (south, machine):
        asked = {
            depot: client.get("/api/check", params={"mark": BOX, "depot": depot, "leaves": True})
            for depot in ("NORTH", "SOUTH")
        }
        assert [asked[one].status_code for one in ("NORTH", "SOUTH")] == [403, 200]
        assert client.get("/api/check", params={"mark": BOX}).status_code == 200


def test_alerts_are_told_to_their_depot_only(moved: Site) -> None:
    moved.depot.record(report("gate-out", OTHER, purpose="sale"))
    raised = moved.depot.rows("SELECT depot FROM alerts")
    assert [one["depot"] for one in raised] == ["NORTH"]
    assert marks_in(moved.person("NORTH:manager"), "/api/alerts") == {OTHER}
    south = moved.person("SOUTH:manager", name="bea")
    assert marks_in(south, "/api/alerts") == marks_in(south, "/api/alerts?depot=NORTH") == set()


def test_verdict_is_told_to_the_depot_that_reported_and_to_the_one_that_has_the_unit(
    moved: Site,
) -> None:
    north, south = moved.person("NORTH:gate"), moved.person("SOUTH:gate", name="bea")
    third = moved.depot.one(
        "SELECT event_id FROM receipts WHERE stream_id = :unit", unit=moved.depot.unit_id(THIRD)
    )
    waiting = report("restow", THIRD, depot="SOUTH")
    moved.depot.send(waiting)
    asked = (id_of(LEFT), id_of(SOLD_THERE), third, id_of(waiting))
    assert [north.get(f"/api/events/{one}").status_code for one in asked] == [200, 404, 404, 404]
    assert [south.get(f"/api/events/{one}").status_code for one in asked] == [200, 200, 200, 202]


def test_decision_about_a_unit_elsewhere_is_turned_away_and_a_fact_is_not(moved: Site) -> None:
    north = moved.person("NORTH:manager", "NORTH:sales")
    question = moved.depot.one("SELECT id FROM questions")
    answers = post(
        north,
        report("hold", BOX, hold="do-not-lift", reason="sagging floor"),
        report("answer", None, question=str(question), settlement="withdrawn"),
        report("correction", None, corrects=id_of(SOLD_THERE), withdrawn=True),
        report("correction", None, corrects=id_of(ARRIVED), changes={"colour": "RAL 5010"}),
        report("sighting", BOX),
        report("hold", "ZZZU3999996", hold="do-not-lift", reason="sagging floor"),
    ).json()
    assert [one["state"] for one in answers] == [
        "rejected",
        "rejected",
        "rejected",
        "waiting",
        "waiting",
        "waiting",
    ]


def test_decisions_are_for_those_whose_they_are(moved: Site) -> None:
    sold = report("sale", OTHER)
    moved.depot.record(sold)
    undone = report("correction", None, corrects=id_of(sold), withdrawn=True)
    unseen = report("correction", None, corrects=id_of(undone), withdrawn=True)
    wanted = {
        "gate": {"sale": 403, "clearance": 202, "undone": 403, "unseen": 403},
        "workshop": {"sale": 403, "clearance": 403, "undone": 403, "unseen": 403},
        "sales": {"sale": 202, "clearance": 202, "undone": 202, "unseen": 403},
        "manager": {"sale": 202, "clearance": 202, "undone": 409, "unseen": 202},
    }
    found = {}
    for role in wanted:
        client = moved.person(f"NORTH:{role}", "SOUTH:manager", name=role)
        found[role] = {
            "sale": post(client, report("sale", OTHER)).status_code,
            "clearance": post(client, report("clearance", OTHER, reference="C-1")).status_code,
            "undone": post(client, undone).status_code,
            "unseen": post(client, unseen).status_code,
        }
    assert found == wanted


def test_no_key_overrides_what_only_a_manager_may(site: Site) -> None:
    site.depot.record(report("gate-in"))
    let_pass = report("release", override_reason="the money is on its way")
    machine = site.machine(Scope.REPORT)
    answer = post(machine, let_pass)
    assert (answer.status_code, answer.json()["state"]) == (403, "rejected")
    assert "Only a manager" in answer.json()["error"]
    assert post(site.person("NORTH:sales"), let_pass).status_code == 403
    assert post(site.person("NORTH:manager", name="bea"), let_pass).status_code == 202
    assert post(machine, report("release")).status_code == 202


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"depot": "NORTH"}, "no role at NORTH"),
        ({"depot": "NORTH", "mark": OTHER}, "no role at NORTH"),
        ({"reported_by": "Orin Vale"}, "Who reported it"),
        ({"reported_by": "Orin Vale", "mark": OTHER}, "Who reported it"),
        ({"source": "round"}, "Who reported it"),
    ],
)
def test_correction_puts_no_word_into_anothers_mouth(
    moved: Site, changes: dict[str, str], says: str
) -> None:
    south = moved.person("SOUTH:gate")
    seen = report("inspection", THIRD, depot="SOUTH")
    post(south, seen)
    moved.depot.drain_all()
    answer = post(
        south, report("correction", None, depot="SOUTH", corrects=id_of(seen), changes=changes)
    )
    assert (answer.status_code, answer.json()["state"]) == (403, "rejected")
    assert says in answer.json()["error"]
    machine = moved.machine(Scope.REPORT, depots=("SOUTH",))
    told = post(
        machine, report("correction", None, depot="SOUTH", corrects=id_of(seen), changes=changes)
    )
    assert told.status_code == (403 if "depot" in changes else 202)


def test_notice_given_from_afar_opens_nobodys_history(moved: Site) -> None:
    notice = report("claim-notice", given_on="2026-03-01", happened_at="2026-03-01T15:00:00+00:00")
    moved.depot.record(notice)
    seen = moved.person("NORTH:manager").get(f"/api/units/{BOX}").json()["history"]
    assert "sale" not in {one["kind"] for one in seen}


def test_clerk_puts_right_what_still_waits_and_sends_both_at_once(site: Site) -> None:
    gate = site.person("NORTH:gate")
    there, here = report("gate-in", slot="A1-1"), report("gate-in", OTHER, slot="A1-2")
    post(gate, there)
    rights = [
        report("correction", None, corrects=id_of(one), changes={"slot": "B1-1"})
        for one in (there, here)
    ]
    answers = post(gate, here, *rights).json()
    assert [one["state"] for one in answers] == ["waiting"] * 3
    site.depot.drain_all()
    assert {site.depot.show(mark).record["slot"] for mark in (BOX, OTHER)} == {"B1-1"}


def test_correction_of_what_waits_is_for_those_whose_it_is(site: Site) -> None:
    site.depot.record(report("gate-in"))
    sold = report("sale")
    site.depot.send(sold)
    gate = site.person("NORTH:gate")
    fake = report("gate-in", OTHER, id=id_of(sold))
    undone = report("correction", None, corrects=id_of(sold), withdrawn=True)
    answers = post(gate, fake, undone).json()
    assert [one["state"] for one in answers] == ["conflict", "rejected"]
    stranger = site.person("SOUTH:gate", name="bea")
    arrived = report("gate-in", OTHER)
    site.depot.send(arrived)
    abroad = report(
        "correction", None, depot="SOUTH", corrects=id_of(arrived), changes={"slot": "B1-1"}
    )
    assert post(stranger, abroad).status_code == 403
