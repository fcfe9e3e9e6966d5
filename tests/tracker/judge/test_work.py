from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from typing import Any

import orjson
import pytest
from pydantic import ValidationError

from schemas.events.union import EVENT
from schemas.findings import Finding, Severity
from schemas.records import LiveReservation, LiveSale, OpenDamage, Record
from shared.cautions import CUTTING
from shared.work import ApprovalEffect, starting_catalogue
from tests.support.events import START, make_event, make_payload, make_record
from tests.support.model import Model
from tracker.judge import work
from tracker.judge.decisions import judge_decision
from tracker.judge.entry import moment_text
from tracker.judge.facts import judge_fact
from tracker.judge.judgement import Judgement, Rulebook

NOW = moment_text(START)
LATER = moment_text(START + timedelta(days=1))
RULES = Rulebook()
VENT = {"work": "louvre-vent", "count": 4, "mass_kg": 3, "cut_out_kg": 1}
LOCK_BOX = {"work": "lock-box", "mass_kg": 9}
FITTED = "00000000-0000-0000-0000-0000000000aa"


def judged(
    *fittings: dict[str, Any],
    record: Record | None = None,
    rules: Rulebook = RULES,
    **others: object,
) -> Judgement:
    event = make_event("modification", fittings=list(fittings), **others)
    return judge_fact(event, record or make_record(), START, rules)


def ordered(*names: str, record: Record | None = None) -> list[Finding]:
    event = make_event("work-order", lines=[{"work": name} for name in names])
    return judge_decision(event, record or make_record(), START, RULES).findings


def about(findings: list[Finding], rule_id: str) -> Finding:
    (found,) = [one for one in findings if one.id == rule_id]
    return found


def ids(findings: list[Finding]) -> list[str]:
    return [one.id for one in findings]


def test_work_as_the_catalogue_has_it_is_not_remarked_upon() -> None:
    found = judged(LOCK_BOX)
    assert found.findings == []
    assert found.resolved == {"approval_effect": "none", "cuts": False}


def test_work_the_catalogue_does_not_know_is_noted() -> None:
    found = judged({"work": "crow-nest", "mass_kg": 9}, LOCK_BOX, {"work": "crow-nest"})
    note = about(found.findings, "work.not-in-catalogue")
    assert (note.severity, note.seen) == (Severity.NOTE, "crow-nest")
    assert ids(ordered("crow-nest")) == ["work.not-in-catalogue"]


@pytest.mark.parametrize(
    ("fitting", "seen", "expected"),
    [
        (LOCK_BOX | {"mass_kg": 12}, "12 kg", "9 kg"),
        (VENT | {"cut_out_kg": 0}, "3 kg", "3 kg less 1 kg cut out"),
        (VENT | {"mass_kg": 4}, "4 kg less 1 kg cut out", "3 kg less 1 kg cut out"),
    ],
)
def test_other_masses_than_the_catalogue_says_are_noted(
    fitting: dict[str, Any], seen: str, expected: str
) -> None:
    note = about(judged(fitting).findings, "work.mass-differs-from-catalogue")
    assert (note.severity, note.seen, note.expected) == (Severity.NOTE, seen, expected)
    assert note.field == "fittings.1"


def test_mass_that_cannot_be_said_beforehand_is_not_compared() -> None:
    found = judged({"work": "replacement-door", "mass_kg": 110}, approval_effect="ask")
    assert found.findings == []


@pytest.mark.parametrize(
    ("fitting", "said", "effect", "warned"),
    [
        (LOCK_BOX, "none", "none", False),
        (LOCK_BOX, "void", "void", False),
        (LOCK_BOX | {"cut_out_kg": 1}, "none", "ask", True),
        (VENT, "none", "ask", True),
        (VENT, "ask", "ask", False),
        (VENT, "void", "void", False),
        ({"work": "roller-door", "mass_kg": 130, "cut_out_kg": 75}, "ask", "void", True),
        ({"work": "crow-nest", "mass_kg": 20}, "none", "none", False),
        ({"work": "crow-nest", "mass_kg": 20, "cut_out_kg": 5}, "none", "ask", True),
        ({"work": "crow-nest", "mass_kg": 20, "cut_out_kg": 5}, "void", "void", False),
    ],
)
def test_stronger_effect_on_the_approval_is_adopted(
    fitting: dict[str, Any], said: str, effect: str, *, warned: bool
) -> None:
    found = judged(LOCK_BOX, fitting, approval_effect=said)
    assert found.resolved["approval_effect"] == effect
    told = [one for one in found.findings if one.id == "work.approval-effect-understated"]
    assert [(one.severity, one.seen, one.expected) for one in told] == (
        [(Severity.WARN, said, effect)] if warned else []
    )


def test_house_decides_what_its_own_cutting_does() -> None:
    vent = starting_catalogue()["louvre-vent"]
    own = replace(vent, approval_effect=ApprovalEffect.NONE)
    found = judged(VENT, rules=Rulebook(catalogue={"louvre-vent": own}))
    assert found.resolved == {"approval_effect": "none", "cuts": True}
    assert "work.approval-effect-understated" not in ids(found.findings)


@pytest.mark.parametrize(
    ("fitting", "weighed", "cuts", "warned"),
    [
        (LOCK_BOX, None, False, False),
        (VENT | {"cut_out_kg": 0}, None, True, True),
        (LOCK_BOX | {"cut_out_kg": 2}, None, True, True),
        (VENT, 2301, True, False),
    ],
)
def test_cut_shell_is_weighed(
    fitting: dict[str, Any], weighed: int | None, *, cuts: bool, warned: bool
) -> None:
    found = judged(fitting, approval_effect="ask", weighed_tare_kg=weighed)
    assert found.resolved["cuts"] is cuts
    assert ("work.weigh-after-cutting" in ids(found.findings)) is warned


def test_certificate_that_is_missing_is_warned_of() -> None:
    electrics = {"work": "electrics", "mass_kg": 32}
    missing = about(judged(LOCK_BOX, electrics).findings, "work.certificate-missing")
    assert (missing.severity, missing.field) == (Severity.WARN, "fittings.2.certificate")
    assert missing.expected == "certificate of the electrical installation"
    told = judged(electrics | {"certificate": "E-77"}).findings
    assert "work.certificate-missing" not in ids(told)


def test_loose_pieces_are_named() -> None:
    ramp = {"work": "ramp", "mass_kg": 65, "permanent": False}
    note = about(judged(LOCK_BOX, ramp).findings, "work.loose-not-in-tare")
    assert (note.severity, note.seen) == (Severity.NOTE, "ramp")


def sold_for(use: str) -> dict[str, Any]:
    return {"sale": LiveSale("s", "Ada", use, NOW)}


def reserved_for(use: str, until: str) -> dict[str, Any]:
    return {"reservation": LiveReservation("r", "Ada", until, use)}


@pytest.mark.parametrize(
    ("promise", "warned"),
    [
        ({}, False),
        (sold_for("storage"), False),
        (sold_for("export"), True),
        (sold_for("transport"), True),
        (reserved_for("export", LATER), True),
        (reserved_for("export", NOW), False),
        (reserved_for("storage", LATER), False),
    ],
)
def test_work_on_a_unit_that_is_to_travel_is_warned_of(
    promise: Mapping[str, Any], *, warned: bool
) -> None:
    record = make_record(**promise)
    for found in (ordered("louvre-vent", record=record), judged(VENT, record=record).findings):
        assert ("work.on-unit-sold-for-export" in ids(found)) is warned
    assert "work.on-unit-sold-for-export" not in ids(ordered("lock-box", record=record))


def test_told_effect_alone_warns_on_a_unit_that_is_to_travel() -> None:
    record = make_record(**sold_for("export"))
    found = judged(LOCK_BOX, record=record, approval_effect="void")
    said = about(found.findings, "work.on-unit-sold-for-export").message
    assert "ends its safety approval" in said
    assert "sold for export" in said


def test_order_for_cutting_carries_the_caution_and_is_granted() -> None:
    event = make_event("work-order", lines=[{"work": "lock-box"}, {"work": "louvre-vent"}])
    judgement = judge_decision(event, make_record(), START, RULES)
    assert not judgement.is_refused
    (found,) = judgement.findings
    assert (found.id, found.severity, found.seen) == (
        "work.cuts-the-shell",
        Severity.WARN,
        ["louvre-vent"],
    )
    assert found.message.startswith("Louvre vent takes out an opening in the panel")
    assert CUTTING in found.message
    assert ordered("lock-box") == []


def test_repair_of_damage_nobody_knows_is_warned_of() -> None:
    record = make_record(damages=[OpenDamage("d/1", "door", "dent", "soon", NOW)])
    named = judge_fact(make_event("repair", damages=["d/1", "d/9"]), record, START, RULES)
    warned = about(named.findings, "repair.names-unknown-damage")
    assert (warned.severity, warned.seen) == (Severity.WARN, "d/9")
    for damages in (["d/1"], []):
        event = make_event("repair", damages=damages)
        assert judge_fact(event, record, START, RULES).findings == []


@pytest.mark.parametrize(("approval", "warned"), [("void", True), ("ask", False)])
def test_void_approval_cannot_be_confirmed(approval: str, *, warned: bool) -> None:
    event = make_event("plate-change", action="confirmed", plate=None, approved_by="Quill Survey")
    found = judge_fact(event, make_record(approval=approval), START, RULES).findings
    assert ("work.void-is-not-confirmed" in ids(found)) is warned


@pytest.mark.parametrize("weight", [Severity.REFUSE, Severity.WARN])
def test_unit_to_weigh_hinders_with_the_weight_of_the_use(weight: Severity) -> None:
    (found,) = work.hinders_use(make_record(to_weigh=True), weight)
    assert (found.id, found.severity) == ("release.to-weigh", weight)
    assert work.hinders_use(make_record(), weight) == []


@pytest.mark.parametrize(
    ("kind", "changes"),
    [
        ("modification", {"fittings": []}),
        ("plate-change", {"action": "confirmed", "plate": None}),
    ],
)
def test_report_that_tells_nothing_is_not_readable(kind: str, changes: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        EVENT.validate_json(orjson.dumps(make_payload(kind, **changes)))


def test_correction_of_what_was_fitted_is_judged_by_the_catalogue_anew() -> None:
    model = Model()
    model.tell("gate-in", masses={"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250})
    model.tell("modification", fittings=[LOCK_BOX], id=FITTED, at=1)
    (unit,) = model.histories
    assert (model.record(unit).approval, model.record(unit).to_weigh) == ("unknown", False)
    told = model.tell("correction", corrects=FITTED, withdrawn=None, changes={"fittings": [VENT]})
    assert told.outcome == "recorded"
    record = model.record(unit)
    assert (record.approval, record.to_weigh, record.tare_kg) == ("ask", True, 2238)
    back = model.tell(
        "correction", corrects=FITTED, withdrawn=None, changes={"fittings": [LOCK_BOX]}
    )
    assert back.outcome == "recorded"
    record = model.record(unit)
    assert (record.approval, record.to_weigh, record.tare_kg) == ("unknown", False, 2239)
