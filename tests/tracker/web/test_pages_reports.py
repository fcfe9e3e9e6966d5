"""Plate, approval, examination, survey, complaint and disposal by the forms of a unit."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from shared.clock import StandingClock
from shared.ids import new_id
from tests.support.depot import BOX, report
from tests.support.draining import draining

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

VENT = {"work": "louvre-vent", "mass_kg": 3, "cut_out_kg": 1}
PAGE = f"/reports?unit={BOX}"


def send(client: TestClient, **fields: str) -> tuple[int, str]:
    answer = client.post(PAGE, data={"form": str(new_id()), **fields})
    return answer.status_code, answer.text


@pytest.fixture
def cut(site: Site, clock: StandingClock) -> Site:
    """A box whose approval is open, since a vent was let into its panel an hour ago."""
    fitted = report("modification", fittings=[VENT], weighed_tare_kg=2232)
    site.depot.record(report("gate-in"), fitted)
    clock.move(timedelta(hours=1))
    return site


def test_open_approval_is_confirmed_by_the_answer_of_the_body(cut: Site) -> None:
    client = cut.person("NORTH:sales")
    cut.depot.record(report("sale", intended_use="transport"))
    deal = client.get(f"/sales/deal?unit={BOX}").text
    assert f'href="/reports?unit={cut.depot.unit_id()}#approval"' in deal
    assert f'href="/reports?unit={cut.depot.unit_id()}"' in client.get(f"/units/{BOX}").text
    page = client.get(PAGE).text
    assert "It is open until the approving body has answered" in page
    said = {"kind": "plate-change", "action": "confirmed", "approved_by": "Quill Approvals"}
    with draining(cut):
        status, page = send(client, **said, note="letter 12")
    assert (status, "<h1>Recorded</h1>" in page) == (200, True)
    assert cut.depot.show().record["approval"] == "approved"
    told = cut.depot.show().history[-1]["event"]
    assert (told["approved_by"], told["note"], told["mark"]) == (
        "Quill Approvals",
        "letter 12",
        BOX,
    )


def test_void_approval_offers_only_a_new_one(cut: Site) -> None:
    door = {"work": "added-door", "mass_kg": 260, "cut_out_kg": 110}
    cut.depot.record(report("modification", fittings=[door], approval_effect="void"))
    page = cut.person("NORTH:workshop").get(PAGE).text
    assert 'value="confirmed"' not in page
    assert 'value="re-approved"' in page


def test_plate_is_replaced_line_by_line(cut: Site) -> None:
    plate = {"plate.approval_reference": "QX/77", "plate.gross_kg:int": "30,480"}
    with draining(cut):
        status, _ = send(
            cut.person("NORTH:workshop"), kind="plate-change", action="replaced", **plate
        )
    assert status == 200
    kept = cut.depot.show().record["plate"]
    assert (kept["approval_reference"], kept["gross_kg"]) == ("QX/77", 30480)


def test_examination_of_a_day_before_counts_from_that_day(cut: Site) -> None:
    cut.depot.record(report("gate-in", happened_at="2026-02-20T08:00:00+00:00"))
    said = {"kind": "examination", "passed:bool": "yes", "by": "Quill Testing"}
    said |= {"next_examination": "2028-09", "happened_at": "2026-02-27"}
    with draining(cut):
        assert send(cut.person("NORTH:manager"), **said)[0] == 200
    assert cut.depot.show().record["next_examination"] == "2028-09"
    (row,) = [one for one in cut.depot.show().history if one["kind"] == "examination"]
    assert row["effective_at"].startswith("2026-02-27T12:00")


@pytest.mark.parametrize(
    "said",
    [
        {"kind": "survey", "by": "Quill Survey", "certificate": "C-1", "happened_at": "2026-03-02"},
        {"kind": "complaint", "about": "it is too small"},
    ],
)
def test_survey_and_complaint_stand_in_the_history(cut: Site, said: dict[str, str]) -> None:
    client = cut.person("NORTH:sales")
    with draining(cut):
        status, page = send(client, **said)
    assert (status, "<h1>Recorded</h1>" in page) == (200, True)
    row = cut.depot.show().history[-1]
    assert (row["kind"], row["reported_by"]) == (said["kind"], "Ada")


def test_disposal_is_a_managers_to_report(cut: Site) -> None:
    seller = cut.person("NORTH:sales", name="sel")
    assert 'value="disposal"' not in seller.get(PAGE).text
    assert send(seller, kind="disposal", manner="scrapped")[0] == 400
    manager = cut.person("NORTH:manager", name="man")
    with draining(cut):
        assert send(manager, kind="disposal", manner="scrapped")[0] == 200
    assert cut.depot.show().record["presence"] == "disposed"
    assert "/reports" not in manager.get(f"/units/{BOX}").text
    assert manager.get(PAGE).status_code == 403


def test_forms_are_for_the_unit_s_own_depot(cut: Site) -> None:
    assert cut.person("SOUTH:manager", name="sam").get(PAGE).status_code == 404
    both = cut.person("NORTH:gate", "SOUTH:sales", name="bo")
    assert both.get(PAGE).status_code == 403
    assert "/reports" not in both.get(f"/units/{BOX}").text
