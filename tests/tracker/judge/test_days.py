"""The family `day`: what a decision says of days can be so, by the depot's own calendar."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.support.events import START, make_event
from tracker.judge import days
from tracker.judge.judgement import Rulebook

NOW = START.replace(hour=20)
"""At North it is the next day by then."""
RULES = Rulebook(zones={"NORTH": ZoneInfo("Pacific/Auckland")})
TODAY = NOW.astimezone(ZoneInfo("Pacific/Auckland")).date()
ONE = timedelta(days=1)


def found(kind: str, **said: object) -> dict[str, str]:
    event = make_event(kind, depot="NORTH", **said)
    return {one.id: one.message for one in days.amiss(event, NOW, RULES)}  # type: ignore[arg-type] # decisions only


@pytest.mark.parametrize(
    ("kind", "field"), [("payment", "paid_on"), ("acquisition", "title_passed_on")]
)
def test_what_was_has_been_by_today_where_the_depot_is(kind: str, field: str) -> None:
    assert NOW.date() != TODAY, "else the zone makes no difference"
    assert found(kind, **{field: str(TODAY)}) == {}
    assert found(kind, **{field: str(TODAY - ONE)}) == {}
    said = found(kind, **{field: str(TODAY + ONE)})
    assert list(said) == ["day.not-come-yet"]
    assert f"on {TODAY + ONE}, but today is {TODAY}" in said["day.not-come-yet"]


@pytest.mark.parametrize(("kind", "field"), [("reservation", "until"), ("release", "expires_at")])
def test_what_is_to_last_does_not_end_before_it_is_asked_for(kind: str, field: str) -> None:
    assert found(kind, **{field: (NOW + timedelta(minutes=1)).isoformat()}) == {}
    for moment in (NOW - timedelta(seconds=1), NOW - ONE):
        assert list(found(kind, **{field: moment.isoformat()})) == ["day.over-already"]


def test_work_that_is_late_from_the_start_is_warned_of_and_granted() -> None:
    assert found("work-order", due_on=str(TODAY)) == {}
    assert list(found("work-order", due_on=str(TODAY - ONE))) == ["day.due-already"]
    assert days.DUE_ALREADY.severity == "warn"


@pytest.mark.parametrize("kind", ["payment", "release", "work-order"])
def test_day_that_is_left_out_is_not_asked_about(kind: str) -> None:
    field = {"payment": "paid_on", "release": "expires_at", "work-order": "due_on"}[kind]
    assert found(kind, **{field: None}) == {}
