from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.events.union import RANKS
from shared.moments import moment_said
from tests.support.events import START, make_entry
from tracker.judge.entry import (
    adopted,
    moment_after,
    moment_read,
    moment_text,
    question_id,
)

MOMENTS = st.integers(0, 4_000_000_000_000).map(
    lambda ms: datetime.fromtimestamp(ms / 1000, timezone(timedelta(hours=ms % 25 - 12)))
)


@settings(derandomize=True, max_examples=60, deadline=None)
@given(MOMENTS, MOMENTS)
def test_comparing_texts_compares_moments(one: datetime, other: datetime) -> None:
    assert (moment_text(one) < moment_text(other)) == (one.astimezone(UTC) < other.astimezone(UTC))
    assert datetime.fromisoformat(moment_text(one)) == one.astimezone(UTC)


def test_moment_is_read_from_any_zone_and_said_in_one() -> None:
    assert moment_read("2026-03-02T10:00:00+02:00") == "2026-03-02T08:00:00.000000+00:00"
    assert moment_read("2026-03-02T08:00:00Z") == moment_text(START)
    assert moment_said("2026-03-02T10:00:59+02:00") == "2026-03-02 08:00 UTC"
    assert moment_text(START.astimezone(timezone(timedelta(hours=9)))) == moment_text(START)


@pytest.mark.parametrize(
    ("doubted", "left"),
    [
        ([], {"slot": "A1", "masses": {"gross_kg": 1, "tare_kg": 2}}),
        (["slot"], {"masses": {"gross_kg": 1, "tare_kg": 2}}),
        (["masses.gross_kg"], {"slot": "A1", "masses": {"tare_kg": 2}}),
        (["masses.gross_kg", "masses.tare_kg"], {"slot": "A1", "masses": {}}),
        (["masses", "masses.tare_kg", "nothing", "plate.gross_kg"], {"slot": "A1"}),
    ],
)
def test_doubted_fields_are_left_out_and_the_payload_stays_whole(
    doubted: list[str], left: dict[str, object]
) -> None:
    said = {"slot": "A1", "masses": {"gross_kg": 1, "tare_kg": 2}}
    assert adopted(said, doubted) == left
    assert said == {"slot": "A1", "masses": {"gross_kg": 1, "tare_kg": 2}}


def test_entries_go_by_moment_then_kind_then_id() -> None:
    late = make_entry("gate-in", at=1)
    fact, decision = make_entry("gate-out"), make_entry("hold")
    second = make_entry("gate-out")
    assert sorted([decision, second, late, fact], key=lambda entry: entry.key) == [
        fact,
        second,
        decision,
        late,
    ]


def test_decision_counts_from_its_receipt_or_after_all_that_stood() -> None:
    one = "00000000-0000-0000-0000-000000000001"
    before = (moment_text(START - timedelta(minutes=1)), RANKS["sale"], one)
    ahead = (moment_text(START + timedelta(minutes=9)), RANKS["sale"], one)
    assert moment_after(START, "hold", one, ("", 0, "")) == moment_text(START)
    assert moment_after(START, "hold", one, before) == moment_text(START)
    moment = moment_after(START, "hold", one, ahead)
    assert moment == moment_text(START + timedelta(minutes=9, microseconds=1))
    same = (moment_text(START), RANKS["sale"], one)
    assert (moment_after(START, "sale", one, same), RANKS["sale"], one) > same


def test_question_id_follows_from_event_finding_and_field() -> None:
    known = question_id("e", "mass.sum", "masses")
    assert known == question_id("e", "mass.sum", "masses")
    others = {question_id(*of) for of in (("f", "mass.sum", "masses"), ("e", "mass.x", "masses"))}
    assert known not in others | {question_id("e", "mass.sum", "plate")}
