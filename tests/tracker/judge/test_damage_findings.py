"""The family `damage`: weight by the control table with its certainty, place, holds, claims."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from schemas.events.condition import Damage, Urgency
from schemas.findings import Finding, Severity
from schemas.records import LiveHold, OpenDamage, Record
from shared.cautions import DEFER
from shared.damage import Component, DamageKind, has_control_limits
from shared.structural_limits import LIMITS, Level, Measure
from tests.support.events import UNIT, make_entry, make_event, make_record
from tracker.judge import control_table, mend_dates
from tracker.judge.control_table import PARTS, Hurt
from tracker.judge.damage import (
    hinders_release,
    holds_open,
    judge_damage,
    propose_holds,
    serious_words,
)
from tracker.judge.facts import judge_fact
from tracker.judge.fold import fold
from tracker.judge.judgement import Rulebook

DAY = date(2026, 3, 2)


def make_damage(**said: object) -> Damage:
    event = make_event("inspection", damages=[{"component": "floor", "kind": "worn"} | said])
    (damage,) = event.damages  # type: ignore[union-attr]
    return damage


def judge(
    record: Record | None = None, *, size_type: str | None = None, **said: object
) -> dict[str, Finding]:
    found = judge_damage(make_damage(**said), "damages.1", record or make_record(), size_type, DAY)
    return {finding.id: finding for finding in found}


def holds(record: Record | None = None, **said: object) -> list[Any]:
    found = propose_holds([make_damage(**said)], record or make_record())
    return [finding.seen for finding in found]


@pytest.mark.parametrize(
    ("component", "kind", "mm", "found", "certainty"),
    [
        ("top-rail", "bent", 40, None, None),
        ("top-rail", "bent", 41, "damage.restricted", "read"),
        ("top-rail", "bent", 60, "damage.restricted", "read"),
        ("top-rail", "bent", 61, "damage.serious-deficiency", "read"),
        ("top-rail", "cracked", 46, "damage.serious-deficiency", "read"),
        ("bottom-rail", "cut", 1, "damage.restricted", "read"),
        ("bottom-rail", "cut", 76, "damage.serious-deficiency", "read"),
        ("header", "dented", 51, "damage.restricted", "read"),
        ("sill", "bowed", 101, "damage.serious-deficiency", "one text"),
        ("sill", "bowed", 61, "damage.restricted", "memory"),
        ("corner-post", "cracked", 1, "damage.restricted", "memory"),
        ("corner-post", "bent", 51, "damage.serious-deficiency", "memory"),
        ("corner-post", "bent", 30, None, None),
        ("corner-fitting", "bent", 6, "damage.serious-deficiency", "memory"),
        ("corner-fitting", "bent", 5, None, None),
        ("intermediate-fitting", "cracked", 1, "damage.serious-deficiency", "memory"),
        ("side-panel", "bent", 500, None, None),
        ("top-rail", "corroded", 500, None, None),
    ],
)
def test_measured_damage_weighs_as_the_control_table_says_and_is_as_sure(
    component: str, kind: str, mm: int, found: str | None, certainty: str | None
) -> None:
    said = judge(component=component, kind=kind, measured_mm=mm)
    assert set(said) == ({found} if found else set())
    if found:
        assert said[found].severity is Severity.WARN
        assert said[found].source == (f"CSC Annex III 4.1, CSC.1/Circ.138/Rev.1 ({certainty})")
        assert said[found].seen == f"{mm} mm"
        assert DEFER in said[found].message


def test_serious_says_limit_and_out_of_service() -> None:
    finding = judge(component="top-rail", kind="bent", measured_mm=61)["damage.serious-deficiency"]
    assert finding.expected == "above 60 mm"
    assert "deformation on the top rail, 61 mm" in finding.message
    assert "Out of service at once." in finding.message


def test_restricted_says_what_is_not_to_be_done() -> None:
    finding = judge(component="top-rail", kind="bent", measured_mm=41)["damage.restricted"]
    assert "lifting loaded: no bottom lifting" in finding.message
    assert "lifting empty" not in finding.message
    sill = judge(component="sill", kind="bent", measured_mm=61)["damage.restricted"]
    assert "stowing loaded: at sea nothing stowed on top" in sill.message


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ({"measure": "aperture width", "measured_mm": 66}, None),
        ({"measure": "aperture width", "measured_mm": 67}, "damage.serious-deficiency"),
        ({"measure": "top plate thickness", "measured_mm": 22}, "damage.serious-deficiency"),
        ({"measure": "top plate thickness", "measured_mm": 24}, "damage.restricted"),
        ({"measure": "top plate thickness", "measured_mm": 25}, None),
        ({"measure": "weld separation", "measured_mm": 50}, "damage.restricted"),
        ({"measure": "does not engage"}, "damage.serious-deficiency"),
        ({"measure": "missing", "kind": "missing"}, "damage.serious-deficiency"),
        ({"kind": "missing"}, "damage.serious-deficiency"),
        ({"kind": "loose", "measured_mm": 3}, "damage.restricted"),
        ({"measure": "crack in web", "measured_mm": 3}, "damage.measure-does-not-fit"),
    ],
)
def test_named_measure_is_the_one_that_is_weighed(
    said: dict[str, object], found: str | None
) -> None:
    assert set(judge(**({"component": "corner-fitting", "kind": "worn"} | said))) == (
        {found} if found else set()
    )


@pytest.mark.parametrize(
    ("component", "said", "found"),
    [
        ("cross-member", {"kind": "missing"}, "damage.restricted"),
        ("cross-member", {"kind": "missing", "count": 0}, None),
        ("understructure", {"kind": "loose", "count": 2}, "damage.serious-deficiency"),
        ("cross-member", {"kind": "missing", "out_of": 5}, "damage.serious-deficiency"),
        ("cross-member", {"kind": "missing", "out_of": 6}, "damage.restricted"),
        ("cross-member", {"kind": "cracked", "count": 2}, None),
        ("cross-member", {"kind": "cracked", "count": 3}, "damage.restricted"),
        ("locking-rod", {"kind": "seized"}, "damage.serious-deficiency"),
        ("locking-rod", {"kind": "seized", "measure": "outer rods not working"},
         "damage.restricted"),
        ("locking-rod", {"kind": "bent", "measured_mm": 90}, None),
    ],
)  # fmt: skip
def test_counted_damage_weighs_by_pieces_and_share(
    component: str, said: dict[str, object], found: str | None
) -> None:
    assert set(judge(component=component, **said)) == ({found} if found else set())


def test_inner_rod_weighs_less_on_a_box_approved_for_one_door_off() -> None:
    approved = make_record(plate={"one_door_off_stacking_kg": 50_000})
    rod = {"component": "locking-rod", "kind": "broken"}
    assert set(judge(approved, **rod)) == {"damage.restricted"}
    assert set(judge(make_record(plate={"gross_kg": 1}), **rod)) == {"damage.serious-deficiency"}


def test_damage_with_limits_but_no_measurement_asks_for_it() -> None:
    found = judge(component="bottom-rail", kind="cracked")["damage.not-measured"]
    assert found.field == "damages.1.measured_mm"
    assert "crack in upper flange, crack in web" in found.message
    assert judge(component="bottom-rail", kind="corroded") == {}
    assert judge(component="side-panel", kind="cracked") == {}


def test_every_limit_can_be_reached_by_a_damage_that_names_its_measure() -> None:
    for limit in LIMITS:
        (component, *_) = [one for one, part in PARTS.items() if part is limit.component]
        value = 1 if limit.unit != "mm" else int(limit.value) + {"below": -1}.get(limit.compare, 1)
        count = {"count": int(limit.value) + 1} if limit.unit == "count" else {}
        mm = value if limit.unit == "mm" else None
        of = 1 if limit.measure is Measure.SHARE_OF_CROSS_MEMBERS_LOST else None
        hurt = Hurt(component, DamageKind.WORN, limit.measure, mm, count.get("count"), of)
        weighed = control_table.weigh(hurt)
        assert weighed is not None, limit
        assert weighed.assessment.level is not Level.NEITHER, limit


def test_parts_are_those_that_the_vocabulary_says_have_limits() -> None:
    limited = {component for component in Component if has_control_limits(component)}
    assert set(PARTS) == limited | {Component.CROSS_MEMBER}


def test_open_damage_in_words_of_no_vocabulary_is_not_weighed() -> None:
    assert control_table.hurt_of(OpenDamage("d", "door", "dent", "soon", "")) is None
    known = control_table.hurt_of(
        OpenDamage("d", "sill", "bent", "soon", "", measured_mm=7, measure="crack", count=2)
    )
    assert known == Hurt(Component.SILL, DamageKind.BENT, Measure.CRACK, 7, 2)


@pytest.mark.parametrize(
    ("place", "size_type", "found"),
    [
        ("lb24", "22G1", None),
        ("LB26", "22G1", "damage.place-beyond-length"),
        ("LB26", "42G1", None),
        ("LB26", None, None),
        ("LB26", "L5G1", None),
        ("left door", "22G1", "damage.place-unreadable"),
        ("LB42", "22G1", "damage.place-unreadable"),
        (None, "22G1", None),
    ],
)
def test_place_is_read_on_the_grid_and_a_wrong_one_only_warns(
    place: str | None, size_type: str | None, found: str | None
) -> None:
    said = judge(size_type=size_type, place=place)
    assert set(said) == ({found} if found else set())
    for finding in said.values():
        assert (finding.severity, finding.field) == (Severity.WARN, "damages.1.place")


def test_place_is_kept_in_capitals_or_as_it_was_said() -> None:
    assert make_damage(place="lb 24").place == "LB24"
    assert make_damage(place="left door").place == "left door"


@pytest.mark.parametrize(
    ("said", "proposed"),
    [
        ({"component": "corner-post", "kind": "bent", "measured_mm": 51},
         ["do-not-lift", "do-not-stack"]),
        ({"component": "corner-post", "kind": "bent", "measured_mm": 31}, []),
        ({"component": "corner-fitting", "kind": "loose", "measured_mm": 3}, ["do-not-lift"]),
        ({"component": "top-rail", "kind": "bent", "measured_mm": 41}, []),
        ({"component": "floor", "kind": "rotted"}, ["do-not-enter"]),
        ({"component": "floor", "kind": "worn"}, []),
        ({"component": "side-panel", "kind": "holed"}, []),
        ({"component": "floor", "kind": "contaminated"}, ["do-not-enter"]),
    ],
)  # fmt: skip
def test_holds_are_proposed_for_what_can_hurt_and_never_put(
    said: dict[str, object], proposed: list[str]
) -> None:
    assert holds(**said) == proposed


def test_hold_is_proposed_once_and_not_where_it_stands() -> None:
    bent = make_damage(component="corner-post", kind="bent", measured_mm=51)
    found = list(propose_holds([bent, bent], make_record()))
    assert [(one.seen, one.field) for one in found] == [
        ("do-not-lift", "damages.1"),
        ("do-not-stack", "damages.1"),
    ]
    held = make_record(holds=[LiveHold("h", "do-not-lift", "post", "")])
    assert [one.seen for one in propose_holds([bent], held)] == ["do-not-stack"]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"responsible": "Quill Haulage", "notice_by": "2026-03-04"}, None),
        ({"responsible": "Quill Haulage", "notice_given_on": "2026-03-02"}, None),
        ({"responsible": "Quill Haulage"}, "names no last day to give notice: 2026-03-05 was set"),
        ({"notice_by": "2026-03-04"}, "names no firm that answers for it"),
        ({}, "names no firm that answers for it and names no last day"),
    ],
)
def test_claim_says_who_answers_and_until_when(said: dict[str, object], words: str | None) -> None:
    found = judge(on_lorry=True, **said)
    assert ("damage.claim-incomplete" in found) is (words is not None)
    if words:
        assert words in found["damage.claim-incomplete"].message
    assert judge(on_lorry=False, **said) == {}


def test_every_urgency_has_its_days_and_release_has_none() -> None:
    assert set(mend_dates.MEND_WITHIN_DAYS) == set(Urgency)
    assert mend_dates.MEND_WITHIN_DAYS[Urgency.BEFORE_RELEASE] is None


def test_record_keeps_damage_with_its_day_and_its_photos() -> None:
    photo, plate_photo = "ab" * 32, "cd" * 32
    said = {"place": "LB24", "component": "corner post", "kind": "bent", "measured_mm": 31,
            "urgency": "soon", "photos": [photo, photo]}  # fmt: skip
    entry = make_entry(
        "inspection",
        at=5,
        damages=[said, said | {"mend_by": "2026-03-03", "photos": []}],
        plate={"gross_kg": 30480, "photo": plate_photo},
        resolved={"mend_by": ["2026-03-16", "2026-03-03"], "notice_by": [None, None]},
    )
    record = fold(UNIT, [make_entry("gate-in"), entry])
    first, second = record.damages
    assert first.id == f"{entry.event_id}/1"
    assert (first.component, first.kind, first.place) == ("corner-post", "bent", "LB24")
    assert (first.mend_by, second.mend_by) == ("2026-03-16", "2026-03-03")
    assert record.photos == [plate_photo, photo]
    assert record.plate is not None
    assert record.plate["photo"] == plate_photo
    assert record.claims == []


def opened(*damages: dict[str, Any]) -> Record:
    """Return the record after an inspection found damages, as judging resolved them."""
    event = make_event("inspection", damages=list(damages))
    judgement = judge_fact(event, make_record(), event.happened_at, Rulebook())
    entry = make_entry("inspection", at=1, damages=list(damages), resolved=judgement.resolved)
    return fold(UNIT, [make_entry("gate-in"), entry])


CRACK = {"component": "corner-fitting", "kind": "cracked", "measured_mm": 12}


@pytest.mark.parametrize(
    ("said", "urgency", "mend_by"),
    [
        (CRACK, "before-release", None),
        (CRACK | {"urgency": "soon"}, "soon", "2026-03-16"),
        (CRACK | {"component": "door-panel"}, "when-convenient", "2026-05-31"),
        (
            {"component": "top-rail", "kind": "bent", "measured_mm": 60},
            "when-convenient",
            "2026-05-31",
        ),
    ],
)
def test_damage_is_as_urgent_as_its_weight_where_nobody_says(
    said: dict[str, Any], urgency: str, mend_by: str | None
) -> None:
    (damage,) = opened(said).damages
    assert (damage.urgency, damage.mend_by) == (urgency, mend_by)


def test_open_damage_says_in_the_record_that_it_is_serious_and_speaks_for_holds() -> None:
    record = opened(CRACK | {"urgency": "when-convenient"}, {"component": "paint", "kind": "worn"})
    assert [serious_words(one, record) for one in record.damages] == [
        "through crack of 12 mm on the fitting",
        "",
    ]
    assert [hold for hold, _ in holds_open(record)] == ["do-not-lift", "do-not-stack"]
    (found,) = hinders_release(record)
    assert (found.severity, found.seen) == (Severity.WARN, "through crack of 12 mm on the fitting")
    record.holds.append(LiveHold("h/1", "do-not-lift", "cracked", "2026-03-02T09:00:00+00:00"))
    assert [hold for hold, _ in holds_open(record)] == ["do-not-stack"]
    record.damages.clear()
    assert (holds_open(record), hinders_release(record)) == ([], [])


def test_words_that_are_in_no_vocabulary_are_weighed_as_nothing() -> None:
    record = make_record(damages=[OpenDamage("d/1", "wing", "torn", "soon", "")])
    assert (holds_open(record), hinders_release(record)) == ([], [])


def test_history_from_before_days_were_resolved_still_folds() -> None:
    damage = {"component": "sill", "kind": "bent"}
    record = fold(UNIT, [make_entry("gate-in"), make_entry("inspection", at=1, damages=[damage])])
    (found,) = record.damages
    assert (found.mend_by, found.urgency) == (None, "when-convenient")


def test_claims_come_from_damage_on_the_lorry_at_gate_and_inspection() -> None:
    arrival = make_entry("gate-in", damage_on_lorry="roof torn", haulier="Quill Haulage")
    damage = {"component": "roof-panel", "kind": "cut", "on_lorry": True,
              "responsible": "Vale Lines"}  # fmt: skip
    entry = make_entry(
        "inspection",
        at=5,
        damages=[{"component": "floor", "kind": "worn"}, damage],
        resolved={"mend_by": [None, None], "notice_by": [None, "2026-03-05"]},
    )
    at_gate, found = fold(UNIT, [arrival, entry]).claims
    assert (at_gate.id, at_gate.says) == (arrival.event_id, "roof torn")
    assert (at_gate.responsible, at_gate.notice_by) == ("Quill Haulage", "2026-03-05")
    assert (found.id, found.says) == (f"{entry.event_id}/2", "cut on roof-panel")
    assert (found.responsible, found.notice_by) == ("Vale Lines", "2026-03-05")
    assert found.found_at == entry.effective_at


def test_day_named_for_the_notice_stands() -> None:
    damage = {"component": "floor", "kind": "cut", "on_lorry": True, "notice_by": "2026-03-03",
              "notice_given_on": "2026-03-02"}  # fmt: skip
    entry = make_entry("inspection", damages=[damage], resolved={"notice_by": ["2026-03-05"]})
    (claim,) = fold(UNIT, [entry]).claims
    assert (claim.notice_by, claim.notice_given_on) == ("2026-03-03", "2026-03-02")


def test_arrival_without_damage_claims_nothing() -> None:
    assert fold(UNIT, [make_entry("gate-in", haulier="Quill Haulage")]).claims == []
