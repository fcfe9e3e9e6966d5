"""Nobody goes in before the air was seen to: a breach where something is known of it."""

from typing import Any

import pytest

from schemas.findings import Severity
from schemas.records import LiveHold, Record
from shared.cautions import ENTERING
from tests.support.events import START, UNIT, make_entry, make_event, make_mark, make_record
from tests.support.inspections import AIRED, LIGHT, found_in, judged, make_inspection
from tracker.judge.entry import Entry
from tracker.judge.facts import judge_fact
from tracker.judge.fold import fold, fold_telling
from tracker.judge.judgement import Rulebook

ENTERED = "inspection.entered-before-air"
SUSPECT = {"placards": "UN 1090", "air": "suspect"}


def say(record: Record | None = None, **said: object) -> dict[str, Any]:
    return found_in(judged(make_inspection(**said), record or make_record()))


@pytest.mark.parametrize(
    "said",
    [
        {"gas": {"entered": True}},
        {"light_test": LIGHT},
        {"answers": {"floor": {"found": "good"}}},
        {"answers": {"lashing-points": {"found": "damaged"}}, "damages": [
            {"component": "lashing-point", "kind": "bent"}]},
        {"gas": {"entered": True, "tested_by": "Ada Quill"}},
        {"gas": {"entered": True, "result": "clear"}},
    ],
)  # fmt: skip
def test_going_in_unaired_warns_where_nothing_is_known(said: dict[str, object]) -> None:
    found = say(**said)[ENTERED]
    assert (found.severity, found.field) == (Severity.WARN, "gas")
    assert ENTERING in found.message
    assert judged(make_inspection(**said), make_record()).resolved["entered_unaired"] is True


@pytest.mark.parametrize(
    "said",
    [
        {},
        {"gas": {}},
        {"gas": AIRED},
        {"gas": {"tested_by": "Ada Quill", "result": "clear", "entered": True}},
        {"light_test": LIGHT, "gas": {"ventilated_by": "Ada Quill"}},
        {"answers": {"floor": {"found": "not-looked-at"}, "roof": {"found": "good"}}},
        {"answers": {"floor": {"found": "not-there"}}},
        {"answers": {"sun-deck": {"found": "good"}}},
    ],
)
def test_nobody_inside_or_aired_before_is_no_finding(said: dict[str, object]) -> None:
    assert ENTERED not in say(**said)
    assert "entered_unaired" not in judged(make_inspection(**said), make_record()).resolved


@pytest.mark.parametrize("air", ["ventilated", "tested"])
def test_air_seen_to_before_needs_no_word_again(air: str) -> None:
    assert ENTERED not in say(make_record(air=air), gas={"entered": True})


def test_suspect_air_is_left_to_the_fold_so_that_it_is_told_once() -> None:
    assert ENTERED not in say(make_record(**SUSPECT), gas={"entered": True})
    assert ENTERED not in say(gas={"entered": True, "last_cargo": "hides"})
    assert ENTERED not in say(gas={"entered": True, "result": "not-clear", "tested_by": "A B"})


def test_test_that_was_not_clear_warns_and_proposes_to_hold() -> None:
    found = say(gas={"tested_by": "Ada Quill", "result": "not-clear"})
    assert set(found) == {"gas.not-clear", "gas.hold-proposed"}
    assert found["gas.hold-proposed"].seen == "do-not-enter"
    assert "not clear" in found["gas.hold-proposed"].message
    assert found["gas.not-clear"].severity is Severity.WARN


def test_test_without_result_and_result_without_tester_warn() -> None:
    assert set(say(gas={"tested_by": "Ada Quill"})) == {"gas.test-without-result"}
    assert set(say(gas={"result": "clear"})) == {"gas.result-without-tester"}


def test_suspect_air_proposes_a_hold_until_aired_or_held() -> None:
    record = make_record(**SUSPECT)
    assert "it bore UN 1090" in say(record)["gas.hold-proposed"].message
    assert "gas.hold-proposed" not in say(record, gas=AIRED)
    held = make_record(**SUSPECT, holds=[LiveHold("h", "do-not-enter", "gas", "")])
    assert "gas.hold-proposed" not in say(held)
    other = make_record(**SUSPECT, holds=[LiveHold("h", "do-not-lift", "post", "")])
    assert "gas.hold-proposed" in say(other)
    assert "gas.hold-proposed" not in say(make_record())


def unit(*entries: Entry) -> Record:
    return fold(UNIT, entries)


def looked(at: int = 10, *, unaired: bool = False, **said: object) -> Entry:
    resolved = {"entered_unaired": True} if unaired else {}
    return make_entry("inspection", at=at, resolved=resolved, **said)


@pytest.mark.parametrize(
    ("arrival", "air"),
    [
        ({}, "unknown"),
        ({"placards": "fumigated"}, "suspect"),
        ({"last_cargo": "onions"}, "suspect"),
    ],
)
def test_arrival_says_what_is_known_of_the_air(arrival: dict[str, str], air: str) -> None:
    record = unit(make_entry("gate-in", **arrival))
    assert record.air == air
    assert record.placards == arrival.get("placards")
    assert record.last_cargo == arrival.get("last_cargo")


@pytest.mark.parametrize(
    ("said", "air"),
    [
        ({"ventilated_by": "A B"}, "ventilated"),
        ({"tested_by": "A B", "result": "clear"}, "tested"),
        ({"tested_by": "A B", "result": "clear", "ventilated_by": "C D"}, "tested"),
        ({"tested_by": "A B"}, "suspect"),
        ({"result": "clear"}, "suspect"),
        ({"tested_by": "A B", "result": "not-clear", "ventilated_by": "C D"}, "suspect"),
        ({}, "suspect"),
    ],
)
def test_inspection_clears_the_air_or_does_not(said: dict[str, str], air: str) -> None:
    arrival = make_entry("gate-in", placards="UN 1090")
    assert unit(arrival, looked(gas=said)).air == air


def test_test_that_is_not_clear_makes_aired_air_suspect_again() -> None:
    aired = looked(5, gas={"ventilated_by": "A B"})
    tested = looked(6, gas={"tested_by": "C D", "result": "not-clear"})
    assert unit(make_entry("gate-in"), aired, tested).air == "suspect"


def test_cargo_found_at_the_inspection_makes_unknown_air_suspect_but_not_aired_air() -> None:
    found = unit(make_entry("gate-in"), looked(gas={"last_cargo": "hides"}))
    assert (found.last_cargo, found.air) == ("hides", "suspect")
    aired = looked(5, gas={"ventilated_by": "A B"})
    later = unit(make_entry("gate-in"), aired, looked(6, gas={"last_cargo": "hides"}))
    assert later.air == "ventilated"


def test_next_arrival_begins_anew() -> None:
    first = make_entry("gate-in", placards="UN 1090")
    aired = looked(gas={"ventilated_by": "A B"})
    again = [make_entry("gate-out", at=20), make_entry("gate-in", at=30)]
    record = unit(first, aired, *again)
    assert (record.air, record.placards) == ("unknown", None)


def test_labels_taken_off_are_gone_and_the_cargo_stays_known() -> None:
    arrival = make_entry("gate-in", placards="UN 1090", last_cargo="solvent")
    record = unit(arrival, looked(gas={"ventilated_by": "A B", "labels_off": True}))
    assert (record.placards, record.last_cargo, record.air) == (None, "solvent", "ventilated")
    kept = unit(arrival, looked(gas={"ventilated_by": "A B"}))
    assert kept.placards == "UN 1090"


@pytest.mark.parametrize(
    ("arrival", "gas", "words"),
    [
        ({"placards": "UN 1090"}, {"entered": True}, "it bore UN 1090"),
        ({"last_cargo": "hides"}, None, "its last cargo was hides"),
        ({}, {"entered": True, "last_cargo": "hides"}, "its last cargo was hides"),
        ({}, {"entered": True, "tested_by": "A B", "result": "not-clear"}, "its air is suspect"),
    ],
)
def test_going_into_suspect_air_is_a_breach(
    arrival: dict[str, str], gas: dict[str, object] | None, words: str
) -> None:
    entry = looked(unaired=True, gas=gas)
    record, told = fold_telling(UNIT, [make_entry("gate-in", **arrival), entry], entry.event_id)
    assert [breach.finding for breach in record.breaches] == [ENTERED]
    assert words in record.breaches[0].says
    assert [(finding.id, finding.severity) for finding in told] == [(ENTERED, Severity.BREACH)]


@pytest.mark.parametrize(
    ("arrival", "unaired"), [({"placards": "UN 1090"}, False), ({}, True), ({}, False)]
)
def test_aired_or_unsuspected_is_no_breach(arrival: dict[str, str], unaired: bool) -> None:
    assert unit(make_entry("gate-in", **arrival), looked(unaired=unaired)).breaches == []


def test_air_seen_to_earlier_takes_the_breach_away_also_when_reported_late() -> None:
    arrival = make_entry("gate-in", placards="UN 1090")
    entered = looked(unaired=True)
    assert len(unit(arrival, entered).breaches) == 1
    assert unit(arrival, entered, looked(5, gas={"ventilated_by": "A B"})).breaches == []


def test_labels_are_off_by_a_marking_or_an_inspection_and_the_air_stays_as_it_was() -> None:
    arrival = make_entry("gate-in", placards="UN 1090")
    taken_off = make_entry("marking", at=5, action="labels-removed")
    for entry in (taken_off, looked(gas={"labels_off": True})):
        record = unit(arrival, entry)
        assert (record.placards, record.air) == (None, "suspect")
    repainted = make_entry("marking", at=5, action="repainted")
    owner = make_entry("marking", at=6, action="removed")
    assert unit(arrival, repainted, owner).placards == "UN 1090"


def test_taking_labels_off_leaves_the_previous_owners_marks_and_the_paint_to_do() -> None:
    bought = make_entry("acquisition", at=1, previous_owner="Vale Lines")
    taken_off = make_entry("marking", at=5, action="labels-removed")
    arrival = make_entry("gate-in", resolved={"repaint": ["mark"], "mark": make_mark()})
    record = unit(arrival, bought, taken_off)
    assert (record.previous_owner, record.repaint) == ("Vale Lines", ["mark"])


def test_arrival_after_the_labels_came_off_brings_new_ones() -> None:
    record = unit(
        make_entry("gate-in", placards="UN 1090"),
        make_entry("marking", at=5, action="labels-removed"),
        make_entry("gate-in", at=50, placards="METHYL BROMIDE"),
    )
    assert record.placards == "METHYL BROMIDE"


@pytest.mark.parametrize(
    ("air", "warns"), [("suspect", True), ("ventilated", False), ("tested", False)]
)
def test_labels_taken_off_before_the_box_was_aired_are_warned_of(air: str, warns: bool) -> None:
    record = make_record(placards="UN 1090", air=air)
    marking = make_event("marking", action="labels-removed")
    judgement = judge_fact(marking, record, START, Rulebook())  # type: ignore[arg-type] # a fact
    assert ["gas.labels-off-before-air"] * warns == [one.id for one in judgement.findings]
    off = {"labels_off": True}
    seen = make_event("inspection", gas=off)
    told = judge_fact(seen, record, START, Rulebook())  # type: ignore[arg-type] # a fact
    assert ("gas.labels-off-before-air" in {one.id for one in told.findings}) == warns
    aired = make_event("inspection", gas={**off, "ventilated_by": "Tom Reed"})
    told = judge_fact(aired, record, START, Rulebook())  # type: ignore[arg-type] # a fact
    assert "gas.labels-off-before-air" not in {one.id for one in told.findings}
