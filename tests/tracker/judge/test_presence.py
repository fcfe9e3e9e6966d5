"""Comings and goings: where the record has the unit, and what they leave open."""

from __future__ import annotations

from typing import Any

import pytest

from schemas.records import LiveHold, LiveRelease, Record
from tests.support.events import START, UNIT, make_entry, make_mark, make_record
from tests.support.model import Model
from tracker.judge.entry import moment_text
from tracker.judge.fold import extend, fold

NOW = moment_text(START)


def asked(record: Record) -> list[str]:
    return [question.finding for question in record.questions]


def after(kind: str, record: Record, **said: Any) -> Record:  # noqa: ANN401 - fields
    extend(record, make_entry(kind, **said))
    return record


def test_gate_in_brings_the_unit_in() -> None:
    record = after("gate-in", make_record(presence="expected", expected_on="2026-03-02"), slot="A1")
    assert (record.presence, record.depot, record.slot) == ("in-depot", "NORTH", "A1")
    assert (record.arrived_at, record.left_at, record.expected_on) == (NOW, None, None)
    assert asked(record) == []


@pytest.mark.parametrize("depot", ["NORTH", "SOUTH"])
def test_second_gate_in_asks_about_a_missed_departure(depot: str) -> None:
    record = after("gate-in", make_record(arrived_at=NOW), depot=depot, at=1)
    (question,) = record.questions
    assert question.finding == "presence.missed-departure"
    assert "in NORTH since 2026-03-02 08:00 UTC" in question.asks
    assert record.depot == depot


@pytest.mark.parametrize(
    ("presence", "depot"),
    [("away", "NORTH"), ("expected", "NORTH"), ("in-depot", "SOUTH"), ("disposed", "NORTH")],
)
def test_gate_out_of_a_unit_that_was_not_there_asks_about_a_missed_arrival(
    presence: str, depot: str
) -> None:
    record = after("gate-out", make_record(presence=presence, depot=depot), purpose="scrap")
    assert "presence.missed-arrival" in asked(record)
    assert record.presence == "away"


def test_gate_out_that_came_late_answers_for_itself() -> None:
    arrivals = [make_entry("gate-in"), make_entry("gate-in", at=60)]
    assert asked(fold(UNIT, arrivals)) == ["presence.missed-departure"]
    between = make_entry("gate-out", at=30, purpose="outside-repair")
    assert asked(fold(UNIT, [*arrivals, between])) == []


@pytest.mark.parametrize("kind", ["sighting", "restow", "inspection", "modification", "repair"])
def test_unit_seen_where_it_was_not_is_taken_as_there_and_asked_about(kind: str) -> None:
    here = after(kind, make_record())
    away = after(kind, make_record(presence="away"))
    elsewhere = after(kind, make_record(depot="SOUTH"))
    assert (asked(here), asked(away)) == ([], ["presence.seen-but-not-in"])
    assert asked(elsewhere) == ["presence.seen-but-not-in"]
    for record in (here, away, elsewhere):
        assert (record.presence, record.depot, record.last_seen_at) == ("in-depot", "NORTH", NOW)


@pytest.mark.parametrize("purpose", ["sale", "hire"])
def test_leaving_without_release_is_a_breach(purpose: str) -> None:
    record = after("gate-out", make_record(), purpose=purpose)
    assert [breach.finding for breach in record.breaches] == ["release.left-without-release"]
    assert record.breaches[0].at == NOW
    released = make_record(release=LiveRelease("r", "COLLECT-1", NOW))
    assert after("gate-out", released, purpose=purpose).breaches == []
    assert released.release is None, "a release is used up"


@pytest.mark.parametrize("purpose", ["transfer", "outside-repair", "scrap"])
def test_leaving_for_no_buyer_needs_no_release(purpose: str) -> None:
    assert after("gate-out", make_record(), purpose=purpose).breaches == []


def test_leaving_under_hold_is_a_breach_that_names_the_holds() -> None:
    holds = [LiveHold("1", "do-not-lift", "x", NOW), LiveHold("2", "do-not-enter", "y", NOW)]
    record = after("gate-out", make_record(holds=holds), purpose="transfer")
    (breach,) = record.breaches
    assert breach.finding == "hold.left-under-hold"
    assert "do-not-enter, do-not-lift" in breach.says


def test_transfer_is_expected_where_it_goes() -> None:
    record = after("gate-out", make_record(slot="A1"), purpose="transfer", to_depot="SOUTH")
    assert (record.presence, record.depot, record.whereabouts) == (
        "expected",
        "SOUTH",
        "in transit",
    )
    assert (record.slot, record.left_at) == (None, NOW)
    assert asked(after("gate-in", record, depot="SOUTH", at=1)) == []


@pytest.mark.parametrize(
    ("purpose", "whereabouts"),
    [
        ("sale", "on the way to the buyer"),
        ("outside-repair", "outside workshop"),
        ("transfer", "transfer"),
    ],
)
def test_whereabouts_say_what_it_left_for(purpose: str, whereabouts: str) -> None:
    assert after("gate-out", make_record(), purpose=purpose).whereabouts == whereabouts


def test_pre_advice_moves_nothing_that_stands_here() -> None:
    record = after("pre-advice", make_record(), depot="SOUTH", batch="B-2", supplier="Quill")
    assert (record.presence, record.depot, record.whereabouts) == ("in-depot", "NORTH", None)
    assert record.batch == "B-2"
    away = after("pre-advice", make_record(presence="away"), depot="SOUTH", supplier="Quill")
    assert (away.presence, away.depot, away.whereabouts) == ("expected", "SOUTH", "Quill")


def test_disposal_ends_what_was_promised() -> None:
    record = make_record(release=LiveRelease("r", "COLLECT-1", NOW), slot="A1")
    after("disposal", record)
    assert (record.presence, record.whereabouts) == ("disposed", "scrapped")
    assert (record.slot, record.release) == (None, None)


@pytest.mark.parametrize("outcome", ["delivered", "aborted"])
def test_delivery_of_a_box_that_is_still_here_is_asked_about_and_a_late_departure_answers(
    outcome: str,
) -> None:
    model = Model()
    model.tell("gate-in")
    model.tell("delivery", at=60, outcome=outcome)
    record = model.unit_of(make_mark(1))
    assert (record.presence, record.whereabouts) == ("in-depot", None)
    assert [one.finding for one in record.questions] == ["presence.delivered-while-here"]
    model.tell("gate-out", at=30, purpose="scrap")
    record = model.unit_of(make_mark(1))
    assert record.questions == []
    assert record.whereabouts == {"delivered": "delivered", "aborted": "on the lorry"}[outcome]


@pytest.mark.parametrize("kind", ["inspection", "repair", "sighting"])
def test_unit_seen_in_another_depot_leaves_its_slot_behind(kind: str) -> None:
    record = after(kind, make_record(presence="in-depot", depot="SOUTH", slot="B2-1"))
    assert (record.depot, record.slot) == ("NORTH", None)
    record = after(kind, make_record(presence="in-depot", depot="NORTH", slot="B2-1"))
    assert (record.depot, record.slot) == ("NORTH", "B2-1")
