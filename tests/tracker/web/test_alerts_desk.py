"""Alerts answered and stock checks made over the API."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from tests.support.depot import BOX, OTHER, report
from tracker.services.daily_round import make_rounds

if TYPE_CHECKING:
    from tests.support.web import Site

ANSWER = {"unit": BOX, "kind": "work-overdue", "reason": "parts come Friday"}


@pytest.fixture
def late(site: Site) -> Site:
    """A site whose box at NORTH has late work, told by the round."""
    order = report("work-order", lines=[{"work": "lock-box"}], due_on="2026-03-01")
    site.depot.record(report("gate-in", slot="A1"), order)
    make_rounds(site.depot.worker)
    return site


def test_answer_stands_with_the_alert_under_the_name_of_who_signed_in(late: Site) -> None:
    client = late.person("NORTH:workshop", shown_as="Tom Reed")
    answered = client.post("/api/alerts/acknowledge", json=ANSWER)
    assert answered.status_code == 200
    assert [one["kind"] for one in answered.json()] == ["work-overdue"]
    (listed,) = client.get("/api/alerts").json()
    assert (listed["answered_by"], listed["reason"]) == ("Tom Reed", "parts come Friday")
    assert listed["put_off_until"] is None


def test_put_off_until_a_day_is_kept_as_that_day(late: Site) -> None:
    client = late.person("NORTH:manager")
    said = ANSWER | {"until": "2026-03-20"}
    assert client.post("/api/alerts/put-off", json=said).status_code == 200
    assert client.get("/api/alerts").json()[0]["put_off_until"] == "2026-03-20"
    made = make_rounds(late.depot.worker, on=date(2026, 3, 9))
    assert [one.reminded for one in made if one.depot == "NORTH"] == [0]


@pytest.mark.parametrize(
    ("role", "said", "status"),
    [
        ("NORTH:sales", ANSWER, 403),
        ("SOUTH:manager", ANSWER, 404),
        ("NORTH:manager", ANSWER | {"kind": "long-stay"}, 404),
        ("NORTH:manager", ANSWER | {"unit": "HQXU9999990"}, 404),
        ("NORTH:manager", ANSWER | {"reason": ""}, 422),
        ("NORTH:manager", {"unit": BOX, "kind": "work-overdue"}, 422),
    ],
)
def test_what_may_not_be_answered_is_refused_and_changes_nothing(
    late: Site, role: str, said: dict[str, str], status: int
) -> None:
    client = late.person(role)
    assert client.post("/api/alerts/acknowledge", json=said).status_code == status
    assert late.depot.rows("SELECT 1 FROM alert_answers") == []


@pytest.mark.parametrize("until", ["2026-03-02", "soon", None])
def test_put_off_needs_a_day_to_come(late: Site, until: str | None) -> None:
    client = late.person("NORTH:manager")
    assert client.post("/api/alerts/put-off", json=ANSWER | {"until": until}).status_code == 422


def test_stock_check_is_begun_compared_and_finished(late: Site) -> None:
    client = late.person("NORTH:gate", shown_as="Ada Quill")
    begun = client.post("/api/stock-checks", json={"depot": "NORTH", "id": "N-1"})
    assert (begun.status_code, begun.json()["begun_by"]) == (201, "Ada Quill")
    seen = report(
        "sighting", OTHER, slot="C3", check="N-1", happened_at="2026-03-02T08:00:00+00:00"
    )
    late.depot.record(seen)
    compared = client.get("/api/stock-checks/N-1").json()
    assert [one["mark"] for one in compared["found_without_arrival"]] == [OTHER]
    assert [one["mark"] for one in compared["not_found"]] == [BOX]
    assert compared["in_wrong_slot"] == []
    finished = client.post("/api/stock-checks/N-1/finish")
    assert finished.json()["not_found"] == compared["not_found"]
    (listed,) = client.get("/api/stock-checks").json()
    assert listed["finished_at"] is not None


def test_stock_check_of_another_depot_is_out_of_sight(late: Site) -> None:
    north = late.person("NORTH:gate", name="ada")
    north.post("/api/stock-checks", json={"depot": "NORTH", "id": "N-1"})
    south = late.person("SOUTH:gate", name="tom")
    assert south.get("/api/stock-checks").json() == []
    assert south.get("/api/stock-checks/N-1").status_code == 404
    assert south.post("/api/stock-checks/N-1/finish").status_code == 404
    assert south.post("/api/stock-checks", json={"depot": "NORTH"}).status_code == 403
    assert south.post("/api/stock-checks", json={"depot": "SOUTH", "id": "N-1"}).status_code == 409
