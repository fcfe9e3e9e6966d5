from datetime import UTC, datetime, timedelta, timezone

import pytest

from schemas.findings import Finding, Severity
from schemas.records import (
    LiveHold,
    LiveRelease,
    LiveReservation,
    LiveSale,
    OpenDamage,
    OpenOrder,
    Question,
    Record,
)
from shared.plates import MonthReading
from tests.support.events import START, make_record
from tests.support.model import Model
from tracker.judge import sale
from tracker.judge.entry import moment_text
from tracker.judge.judgement import Rulebook
from tracker.judge.release_rules import override

NOW = moment_text(START)
RULES = Rulebook()
LATER = moment_text(START + timedelta(days=1))


def sold(use: str = "storage", *, paid: bool = True, **others: object) -> LiveSale:
    return LiveSale("s", "Ada", use, NOW, paid=paid, **others)


def sellable(**changes: object) -> Record:
    return make_record(**changes)


def released(**changes: object) -> Record:
    return make_record(**{"sale": sold(), "release": LiveRelease("r", "COLLECT-1", NOW), **changes})


PACKED = {
    "plate": {
        "photo": "0" * 64,
        "approval_reference": "QX/77",
        "manufacturer_number": "7",
        "gross_kg": 30480,
        "stacking_kg": 192000,
        "racking_n": 150000,
    },
    "manufactured_in": "2024-01",
    "next_examination": "2027-01",
    "size_type": "22G1",
    "tare_kg": 2230,
    "payload_kg": 28250,
    "customs": "free-circulation",
}
"""What a complete plate pack shows, and where the customs have nothing against it."""


def refusals(found: list[Finding]) -> list[str]:
    return [finding.id for finding in found if finding.severity is Severity.REFUSE]


@pytest.mark.parametrize(
    ("changes", "refused"),
    [
        ({}, []),
        ({"presence": "expected"}, []),
        ({"mark_state": "as-painted"}, []),
        ({"mark_state": "in-question"}, ["sale.mark-in-question"]),
        ({"presence": "away"}, ["sale.not-in-stock"]),
        ({"presence": "disposed"}, ["sale.not-in-stock"]),
        ({"purpose": "customer-box"}, ["sale.not-ours"]),
        ({"purpose": "storage-for-others"}, ["sale.not-ours"]),
        ({"sale": sold()}, ["sale.already-sold"]),
        ({"reservation": LiveReservation("r", "Ada", LATER, "storage")}, []),
        ({"reservation": LiveReservation("r", "Tom", NOW, "storage")}, []),
        (
            {"reservation": LiveReservation("r", "Tom", LATER, "storage")},
            ["sale.reserved-for-another"],
        ),
    ],
)
def test_promise_is_hindered_by(changes: dict[str, object], refused: list[str]) -> None:
    assert refusals(sale.hinders_promise(sellable(**changes), "Ada", START)) == refused


@pytest.mark.parametrize("use", ["storage", "export", "transport"])
def test_labels_hold_a_release_for_any_use_and_no_managers_word_lifts_it(use: str) -> None:
    record = released(sale=sold(use), placards="UN 1090", **PACKED)
    for found in (
        sale.hinders_release(record, START, RULES),
        sale.hinders_leaving(record, START, RULES),
    ):
        (labels,) = [one for one in override(found, "in a hurry") if "UN 1090" in one.message]
        assert (labels.id, labels.severity) == ("release.labels-on", Severity.REFUSE)


@pytest.mark.parametrize(
    ("changes", "refused"),
    [
        ({}, []),
        ({"sale": sold(paid=False)}, ["release.unpaid"]),
        ({"sale": sold(paid=False, on_credit=True)}, []),
        ({"sale": None}, ["release.not-sold"]),
        ({"presence": "away"}, ["release.not-in-depot"]),
        ({"presence": "expected"}, ["release.not-in-depot"]),
        ({"mark_state": "in-question"}, ["sale.mark-in-question"]),
        ({"holds": [LiveHold("h", "do-not-lift", "bent", NOW)]}, ["release.held"]),
        ({"orders": [OpenOrder("o", {"vent": 1}, NOW)]}, ["release.work-unfinished"]),
        (
            {"damages": [OpenDamage("d", "door", "hole", "before-release", NOW)]},
            ["release.work-unfinished"],
        ),
        ({"damages": [OpenDamage("d", "door", "dent", "soon", NOW)]}, []),
        ({"repaint": ["masses"]}, []),
        ({"approval": "void"}, []),
        ({"placards": "UN 1090"}, ["release.labels-on"]),
    ],
)
def test_release_for_storage_is_hindered_by(changes: dict[str, object], refused: list[str]) -> None:
    assert refusals(sale.hinders_release(released(**changes), START, RULES)) == refused


@pytest.mark.parametrize("use", ["export", "transport"])
@pytest.mark.parametrize(
    ("changes", "refused"),
    [
        ({}, []),
        ({"next_examination": "programme"}, []),
        ({"next_examination": None}, ["release.no-valid-examination"]),
        ({"next_examination": "2026-03"}, ["release.no-valid-examination"]),
        ({"repaint": ["masses"]}, ["release.masses-to-repaint"]),
        ({"repaint": ["mark"]}, []),
        ({"approval": "void"}, ["release.approval-void"]),
        ({"approval": "ask"}, ["release.approval-void"]),
        ({"approval": "none"}, ["release.approval-void"]),
    ],
)
def test_release_for_travel_is_hindered_by(
    use: str, changes: dict[str, object], refused: list[str]
) -> None:
    record = released(**{"sale": sold(use), **PACKED, **changes})
    if use == "export" and "next_examination" in changes and not changes["next_examination"]:
        refused = ["release.plate-pack-incomplete", *refused]
    assert refusals(sale.hinders_release(record, START, RULES)) == refused


@pytest.mark.parametrize(
    ("ends", "reading", "lasts"),
    [
        ("2026-12-31", MonthReading.STRICT, True),
        ("2027-01-01", MonthReading.STRICT, False),
        ("2027-01-31", MonthReading.LENIENT, True),
        ("2027-02-01", MonthReading.LENIENT, False),
    ],
)
def test_examination_must_last_until_the_journey_ends(
    ends: str, reading: MonthReading, lasts: bool
) -> None:
    record = released(**PACKED, sale=sold("export", journey_ends_on=ends))
    found = sale.hinders_release(record, START, Rulebook(month_reading=reading))
    assert (refusals(found) == []) is lasts


def test_today_is_the_day_at_the_depot() -> None:
    record = released(**{**PACKED, "sale": sold("export"), "next_examination": "2026-04"})
    last_hour = datetime(2026, 3, 31, 23, 30, tzinfo=UTC)
    zones = {"NORTH": timezone(timedelta(hours=1))}
    assert refusals(sale.hinders_release(record, last_hour, RULES)) == []
    at_home = sale.hinders_release(record, last_hour, Rulebook(zones=zones))
    assert refusals(at_home) == ["release.no-valid-examination"]


@pytest.mark.parametrize(
    ("release", "reference", "refused"),
    [
        (LiveRelease("r", "COLLECT-1", NOW), "COLLECT-1", []),
        (LiveRelease("r", "COLLECT-1", NOW), None, []),
        (LiveRelease("r", "COLLECT-1", NOW), "COLLECT-2", ["clearance.wrong-reference"]),
        (LiveRelease("r", "COLLECT-1", NOW, cleared=True), "COLLECT-1", ["clearance.used-up"]),
        (LiveRelease("r", "COLLECT-1", NOW, expires_at=LATER), "COLLECT-1", []),
        (LiveRelease("r", "COLLECT-1", NOW, expires_at=NOW), "COLLECT-1", ["clearance.expired"]),
        (None, "COLLECT-1", ["clearance.no-release"]),
    ],
)
def test_barrier_stays_shut(
    release: LiveRelease | None, reference: str | None, refused: list[str]
) -> None:
    found = sale.hinders_leaving(released(release=release), START, RULES, reference)
    assert refusals(found) == refused


def test_open_questions_are_told_in_words() -> None:
    question = Question("q", "mass.sum", "masses", "e", "Do the masses add up?", NOW)
    (found,) = sale.hinders_promise(sellable(questions=[question]), "Ada", START)
    assert (found.id, found.severity, found.seen) == (
        "sale.open-questions",
        Severity.WARN,
        ["mass.sum"],
    )
    assert "Do the masses add up?" in found.message


@pytest.mark.parametrize("approval", ["void", "ask", "none"])
def test_sentences_speak_to_a_clerk(approval: str) -> None:
    record = released(approval=approval, repaint=["masses"], sale=sold("export"))
    record.purpose = "customer-box"
    found = sale.hinders_release(record, START, RULES)
    found += sale.hinders_promise(record, "Tom", START)
    said = " ".join(finding.message for finding in found)
    assert "None" not in said
    assert " is ask" not in said
    assert "customer-box" not in said
    assert "2026-03-02 08:00 UTC" in said


def test_decision_received_first_and_judged_last_is_not_undone() -> None:
    model = Model()
    model.tell("gate-in")
    model.tell("sale", buyer="Ada Quill", received=10)
    model.tell("take-back", received=30)
    late = model.tell("sale", buyer="Orin Vale", received=20)
    assert late.outcome == "recorded"
    (unit,) = model.histories
    standing = model.record(unit).sale
    assert standing is not None
    assert standing.buyer == "Orin Vale"
    assert model.tell("sale", buyer="Tom Reed", received=40).outcome == "refused"


def test_release_of_a_lane_behind_is_used_up_once() -> None:
    model = Model()
    for kind, received in (("gate-in", 0), ("sale", 10), ("release", 30), ("clearance", 20)):
        assert model.tell(kind, received=received).outcome == "recorded"
    again = model.tell("clearance", received=40)
    assert [one["id"] for one in again.findings] == ["clearance.used-up"]


def test_sale_of_a_box_that_had_left_as_a_late_report_tells_is_asked_about() -> None:
    model = Model()
    model.tell("gate-in")
    model.tell("sale", received=60)
    model.tell("gate-out", at=30, purpose="scrap")
    (unit,) = model.histories
    assert [one.finding for one in model.record(unit).questions] == ["sale.sold-when-gone"]


@pytest.mark.parametrize(
    ("approval", "lifts"),
    [
        ("ask", "Its answer that the approval stands lets it travel"),
        ("void", "Only a new approval lets it travel"),
        ("none", "Only an approval with its plate lets it travel"),
    ],
)
def test_approval_that_keeps_a_unit_is_told_with_what_lifts_it(approval: str, lifts: str) -> None:
    found = sale.hinders_release(released(sale=sold("export"), approval=approval), START, RULES)
    (told,) = [one for one in found if one.id == "release.approval-void"]
    assert lifts in told.message
