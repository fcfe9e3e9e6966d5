"""What an inspection speaks for: never cargo-worthy for being within the control table."""

from __future__ import annotations

from datetime import date

import pytest

from schemas.events.condition import Condition
from schemas.records import LiveHold, OpenDamage, Record
from tests.support.events import make_record
from tests.support.inspections import LIGHT, all_good, all_good_but, make_inspection
from tracker.judge.condition_proposal import Proposal, propose_condition

CARGO, TIGHT, AS_IS = Condition.CARGO_WORTHY, Condition.WIND_AND_WATERTIGHT, Condition.AS_IS


def box(**known: object) -> Record:
    return make_record(**({"size_type": "22G1", "provenance": "used"} | known))


def propose(record: Record | None = None, **said: object) -> Proposal:
    record = record or box()
    return propose_condition(record, all_good(record, **said))


def test_everything_good_speaks_for_cargo_worthy_with_its_reason() -> None:
    proposal = propose()
    assert proposal.condition is CARGO
    assert "light test showed no daylight" in proposal.reasons[0]


@pytest.mark.parametrize(
    ("component", "kind", "mm"),
    [("top-rail", "bent", 5), ("corner-post", "bent", 30), ("corner-fitting", "bent", 1)],
)
def test_structural_damage_within_the_control_table_is_never_cargo_worthy(
    component: str, kind: str, mm: int
) -> None:
    damage = {"component": component, "kind": kind, "measured_mm": mm}
    proposal = propose(damages=[damage])
    assert proposal.condition is TIGHT
    assert "within the limits of the control table does not" in proposal.reasons[0]


def test_measured_within_all_limits_and_nothing_else_looked_at_proposes_nothing() -> None:
    damage = {"component": "top-rail", "kind": "bent", "measured_mm": 1}
    proposal = propose_condition(box(), make_inspection(damages=[damage]))
    assert proposal.condition is None
    assert "Not looked at: roof." in proposal.reasons


@pytest.mark.parametrize("mm", [41, 61])
def test_damage_beyond_a_limit_speaks_for_as_is(mm: int) -> None:
    proposal = propose(damages=[{"component": "top-rail", "kind": "bent", "measured_mm": mm}])
    assert proposal.condition is AS_IS
    assert f"deformation of {mm} mm on the top rail" in proposal.reasons[0]


def test_damage_found_before_and_not_mended_counts() -> None:
    before = OpenDamage("d", "roof-panel", "holed", "soon", "")
    assert propose(box(damages=[before])).condition is AS_IS
    slight = OpenDamage("d", "corner-post", "bent", "soon", "", measured_mm=3)
    assert propose(box(damages=[slight])).condition is TIGHT
    unknown = OpenDamage("d", "door", "dent", "soon", "")
    assert propose(box(damages=[unknown])).condition is TIGHT


@pytest.mark.parametrize(
    ("component", "kind", "condition"),
    [
        ("roof-panel", "holed", AS_IS),
        ("door-gasket", "missing", AS_IS),
        ("side-panel", "dented", CARGO),
        ("small-vent", "leaking", AS_IS),
        ("lock-box", "missing", CARGO),
        ("floor", "rotted", AS_IS),
    ],
)
def test_what_lets_weather_in_speaks_for_as_is(
    component: str, kind: str, condition: Condition
) -> None:
    assert propose(damages=[{"component": component, "kind": kind}]).condition is condition


def test_daylight_speaks_for_as_is() -> None:
    proposal = propose(light_test=LIGHT | {"daylight_seen": True})
    assert proposal == Proposal(AS_IS, ("Daylight was seen in the light test.",))


@pytest.mark.parametrize("test", [None, LIGHT | {"second_person": "Ada Quill"}])
def test_light_test_alone_or_none_shows_nothing(test: dict[str, object] | None) -> None:
    assert propose(light_test=test) == Proposal(None, ("No light test by two people is told.",))


@pytest.mark.parametrize(
    ("item", "found", "condition", "reason"),
    [
        ("roof", None, None, "Not looked at: roof."),
        ("roof", "not-looked-at", None, "Not looked at: roof."),
        ("roof", "damaged", None, "Found damaged: roof."),
        ("gaskets", "damaged", AS_IS, "The item gaskets was found damaged."),
        ("corner-posts", None, TIGHT, "Not looked at: corner-posts."),
        ("corner-posts", "damaged", TIGHT, "Found damaged: corner-posts."),
        ("small-vents", "not-there", CARGO, ""),
        ("marks", "missing", TIGHT, "Found missing: marks."),
        ("residues", None, TIGHT, "Not looked at: residues."),
    ],
)
def test_one_item_that_is_not_good_decides(
    item: str, found: str | None, condition: Condition | None, reason: str
) -> None:
    record = box()
    proposal = propose_condition(record, all_good_but(record, item, found=found))
    assert proposal.condition is condition
    if reason:
        assert proposal.reasons == (reason,)


@pytest.mark.parametrize(
    ("known", "said", "reason"),
    [
        ({}, {"plate": None}, "No safety plate was read."),
        ({}, {"plate": {"no_plate": True}}, "No safety plate was read."),
        ({"plate": {"gross_kg": 1}}, {"plate": {"no_plate": True}}, "No safety plate was found."),
        ({"approval": "void"}, {}, "The safety approval is in question or void."),
        ({"approval": "ask"}, {}, "The safety approval is in question or void."),
        ({}, {"plate": {"gross_kg": 30480}}, "No examination that is still to come"),
        ({}, {"plate": {"next_examination": "2026-03"}}, "No examination that is still to come"),
        ({"next_examination": "2026-02"}, {"plate": {"gross_kg": 1}}, "No examination that is"),
    ],
)
def test_plate_approval_and_examination_are_needed_for_cargo_worthy(
    known: dict[str, object], said: dict[str, object], reason: str
) -> None:
    proposal = propose(box(**known), **said)
    assert proposal.condition is TIGHT
    assert proposal.reasons[0].startswith(reason)
    assert len(proposal.reasons) == 1


@pytest.mark.parametrize(
    ("known", "said"),
    [
        ({"next_examination": "2026-04"}, {"plate": {"gross_kg": 1}}),
        ({"next_examination": "programme"}, {"plate": {"gross_kg": 1}}),
        ({}, {"plate": {"programme": "ACEP-ZZ-1"}}),
        ({}, {"plate": {"next_examination": "2026-04"}}),
        ({"plate": {"gross_kg": 1}, "next_examination": "2026-04"}, {"plate": None}),
    ],
)
def test_examination_to_come_or_a_programme_is_in_order(
    known: dict[str, object], said: dict[str, object]
) -> None:
    assert propose(box(**known), **said).condition is CARGO


def test_day_asked_for_decides_whether_the_examination_holds() -> None:
    record = box()
    event = all_good(record, plate={"next_examination": "2026-05"})
    assert propose_condition(record, event, on=date(2026, 4, 30)).condition is CARGO
    assert propose_condition(record, event, on=date(2026, 5, 1)).condition is TIGHT


@pytest.mark.parametrize(
    ("known", "said", "reason"),
    [
        ({"holds": [LiveHold("h", "do-not-lift", "x", "")]}, {}, "A hold stands: do-not-lift."),
        ({"air": "suspect"}, {"gas": None}, "The air inside is suspect."),
        ({}, {"gas": {"tested_by": "A B", "result": "not-clear"}}, "The air inside is suspect."),
        ({}, {"damages": [{"component": "floor", "kind": "odour"}]}, "Not clean: odour on floor."),
        (
            {},
            {"damages": [{"component": "lock-box", "kind": "bent", "urgency": "before-release"}]},
            "To be mended before release: bent on lock-box.",
        ),
    ],
)
def test_hold_air_dirt_or_urgent_repair_stands_against_cargo(
    known: dict[str, object], said: dict[str, object], reason: str
) -> None:
    assert propose(box(**known), **said) == Proposal(TIGHT, (reason,))


def test_suspect_box_that_was_aired_may_be_cargo_worthy() -> None:
    assert propose(box(air="suspect")).condition is CARGO


@pytest.mark.parametrize("size_type", ["22P3", "22T1"])
def test_box_without_a_roof_is_never_called_wind_and_watertight(size_type: str) -> None:
    record = box(size_type=size_type)
    assert propose_condition(record, all_good(record)).condition is CARGO
    assert propose_condition(record, all_good(record, plate=None)).condition is None


def test_open_top_has_no_light_test_and_its_cover_counts() -> None:
    record = box(size_type="22U1")
    assert propose_condition(record, all_good(record, light_test=None)).condition is CARGO
    torn = all_good_but(record, "roof-cover", found="damaged", light_test=None)
    assert propose_condition(record, torn).condition is AS_IS
