import pytest

from schemas.events.union import DECISIONS
from schemas.findings import Severity
from schemas.records import LiveHold, LiveRelease, LiveReservation, LiveSale, OpenOrder, Record
from tests.support.events import NAMES_NO_UNIT, START, make_event, make_mark, make_record
from tests.support.model import Model
from tracker.judge.decisions import MAY_COME_FIRST, judge_decision
from tracker.judge.entry import moment_text
from tracker.judge.judgement import Rulebook

MARK, OTHER = make_mark(1), make_mark(300)
NOW = moment_text(START)
TARGET = "00000000-0000-0000-0000-000000000007"
ASKED = sorted(set(DECISIONS) - set(NAMES_NO_UNIT))


def refusals(kind: str, record: Record | None, **changes: object) -> list[str]:
    judgement = judge_decision(make_event(kind, **changes), record, START, Rulebook())
    return [one.id for one in judgement.findings if one.severity is Severity.REFUSE]


@pytest.mark.parametrize("kind", ASKED)
def test_unknown_unit_is_refused_but_to_what_may_come_first(kind: str) -> None:
    first = kind in MAY_COME_FIRST
    assert refusals(kind, None) == ([] if first else ["decision.unknown-unit"])


@pytest.mark.parametrize("kind", ASKED)
def test_decision_on_a_sound_unit_finds_no_doubt(kind: str) -> None:
    judgement = judge_decision(make_event(kind), make_record(), START, Rulebook())
    assert [one for one in judgement.findings if one.severity is Severity.DOUBT] == []
    assert judgement.doubted == []


@pytest.mark.parametrize("kind", ASKED)
def test_other_sound_mark_than_the_units_own_is_refused(kind: str) -> None:
    record = make_record()
    assert refusals(kind, record, mark=OTHER, tag="7") == ["decision.known-otherwise"]


@pytest.mark.parametrize("kind", ASKED)
def test_mark_and_tag_of_two_units_are_refused(kind: str) -> None:
    model = Model()
    model.tell("gate-in", mark=MARK, tag="7")
    model.tell("gate-in", mark=OTHER)
    receipt = model.tell(kind, mark=OTHER, tag="7")
    assert [one["id"] for one in receipt.findings] == ["decision.two-units"]


LIVE = {
    "reservation": LiveReservation(TARGET, "Ada Quill", NOW, "storage"),
    "sale": LiveSale(TARGET, "Ada Quill", "storage", NOW),
    "release": LiveRelease(TARGET, "COLLECT-1", NOW),
    "orders": [OpenOrder(TARGET, {"vent": 1}, NOW)],
}


@pytest.mark.parametrize("live", LIVE)
def test_what_is_live_can_be_cancelled(live: str) -> None:
    assert refusals("cancellation", make_record(**{live: LIVE[live]})) == []


def test_what_is_not_live_cannot_be_cancelled() -> None:
    other = "00000000-0000-0000-0000-000000000008"
    assert refusals("cancellation", make_record()) == ["decision.nothing-to-cancel"]
    assert refusals("cancellation", make_record(**LIVE), cancels=other) == [
        "decision.nothing-to-cancel"
    ]


def test_hold_is_cleared_by_its_id_while_it_stands() -> None:
    held = make_record(holds=[LiveHold(TARGET, "do-not-lift", "bent", NOW)])
    assert refusals("hold-cleared", held) == []
    assert refusals("hold-cleared", make_record()) == ["decision.no-such-hold"]


def test_take_back_needs_a_sale() -> None:
    assert refusals("take-back", make_record(sale=LIVE["sale"])) == []
    assert refusals("take-back", make_record()) == ["decision.not-sold"]


def test_second_release_is_refused() -> None:
    sold = LiveSale(TARGET, "Ada Quill", "storage", NOW, paid=True)
    assert refusals("release", make_record(sale=sold)) == []
    assert refusals("release", make_record(sale=sold, release=LIVE["release"])) == [
        "release.already-released"
    ]


def test_unit_in_question_is_never_promised() -> None:
    record = make_record(mark_state="in-question")
    for kind in ("reservation", "sale", "release", "clearance"):
        assert "sale.mark-in-question" in refusals(kind, record)
