"""Orders: which units fit, what stands against collecting, what an order adds up to."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest

from schemas.findings import Severity
from schemas.orders import CollectionNote, OrderRecord, dump_order, load_order
from schemas.records import LiveHold, Record
from tests.support.events import START, make_entry, make_event, make_record
from tracker.judge import catalogue, release_rules
from tracker.judge.descriptions import misfits
from tracker.judge.entry import Entry, moment_text
from tracker.judge.judgement import Rulebook
from tracker.judge.order_fold import fold_order
from tracker.judge.orders import (
    Driver,
    as_if_sold,
    judge_allotment,
    judge_collection,
    judge_release_on_order,
)
from tracker.judge.promises import Promises, count_kinds

ORDER, UNIT = str(UUID(int=5)), str(UUID(int=6))
WANTED = {"length_ft": 20, "types": ["G", "V"]}
RULES = Rulebook()
LATER = moment_text(START + timedelta(hours=1))


def placed(**changes: object) -> OrderRecord:
    said = {"depot": "NORTH", "buyer": "Ada", "description": WANTED, "count": 3, "paid": True}
    return OrderRecord(ORDER, **(said | changes))  # type: ignore[arg-type] # known to the test


def note(**changes: object) -> CollectionNote:
    said = {"id": "n", "reference": "GREY-7", "count": 2}
    return CollectionNote(**(said | changes))  # type: ignore[arg-type] # known to the test


def box(**changes: object) -> Record:
    return make_record(**{"size_type": "22G1", "customs": "free-circulation", **changes})


def refusals(found: list[Any]) -> list[str]:
    return [one.id for one in found if one.severity is Severity.REFUSE]


def collect(record: Record, order: OrderRecord, *driver: str) -> list[str]:
    promises = Promises(count_kinds([record]), [order])
    return refusals(judge_collection(Driver(*driver), record, order, promises, START, RULES))


@pytest.mark.parametrize(
    ("description", "changes", "fits"),
    [
        ({}, {}, True),
        ({}, {"size_type": "42G1"}, False),
        ({}, {"size_type": None}, False),
        ({}, {"size_type": "22R1"}, False),
        ({"types": ["R"]}, {"size_type": "22R1"}, True),
        ({"high": True}, {"size_type": "25G1"}, True),
        ({"high": True}, {}, False),
        ({"high": False}, {}, True),
        ({"high": False}, {"size_type": "25G1"}, False),
        ({"conditions": ["as-is"]}, {"condition": "as-is"}, True),
        ({"conditions": ["as-is"]}, {"condition": "cargo-worthy"}, False),
        ({"conditions": ["as-is"]}, {}, False),
        ({"conditions": []}, {}, True),
        ({"colour": "Red"}, {"colour": "red"}, True),
        ({"colour": "red"}, {"colour": "blue"}, False),
        ({"colour": "red"}, {}, False),
        ({"provenance": "used"}, {"provenance": "used"}, True),
        ({"provenance": "used"}, {"provenance": "one-trip"}, False),
    ],
)
def test_unit_fits_a_description(
    description: dict[str, Any], changes: dict[str, Any], *, fits: bool
) -> None:
    assert (misfits(box(**changes), WANTED | description) == []) is fits


@pytest.mark.parametrize(
    ("order", "driver", "refused"),
    [
        ({}, ("GREY-7",), []),
        ({}, ("grey 7",), []),
        ({}, ("GREY-8",), ["clearance.unknown-reference"]),
        ({"collection": [note(used=2)]}, ("GREY-7",), ["clearance.used-up"]),
        ({"collection": [note(expires_at=LATER)]}, ("GREY-7",), []),
        (
            {"collection": [note(expires_at=moment_text(START))]},
            ("GREY-7",),
            ["clearance.expired"],
        ),
        ({"collection": [note(haulier="Reed")]}, ("GREY-7", "REED"), []),
        ({"collection": [note(haulier="Reed")]}, ("GREY-7",), []),
        ({"collection": [note(haulier="Reed")]}, ("GREY-7", "Vale"), ["clearance.wrong-haulier"]),
        ({"paid": False}, ("GREY-7",), ["order.unpaid"]),
        ({"paid": False, "on_credit": True}, ("GREY-7",), []),
        ({"state": "cancelled"}, ("GREY-7",), ["order.closed"]),
        ({"depot": "SOUTH"}, ("GREY-7",), ["order.unit-does-not-fit"]),
    ],
)
def test_collection_on_an_order_is_hindered_by(
    order: dict[str, object], driver: tuple[str, ...], refused: list[str]
) -> None:
    assert collect(box(), placed(**{"collection": [note()], **order}), *driver) == refused


def test_unit_that_is_not_free_or_may_not_leave_is_not_collected() -> None:
    order = placed(collection=[note()])
    held = box(holds=[LiveHold("h", "do-not-lift", "bent", LATER)])
    assert collect(held, order, "GREY-7") == ["order.unit-does-not-fit", "release.held"]
    away = box(presence="away")
    assert collect(away, order, "GREY-7") == ["order.unit-does-not-fit", "release.not-in-depot"]


def test_export_on_an_order_needs_what_any_export_needs() -> None:
    order = placed(collection=[note()], intended_use="export")
    assert collect(box(), order, "GREY-7") == [
        "release.plate-pack-incomplete",
        "release.no-valid-examination",
    ]


def test_authority_given_with_the_reference_lets_it_travel_under_others_marks() -> None:
    marked = box(previous_owner="Quill Lines", next_examination="2030-01")
    order = placed(collection=[note()], intended_use="transport")
    assert collect(marked, order, "GREY-7") == ["release.previous-marks"]
    order.collection[0].marks_authority = "letter of 1 March"
    assert collect(marked, order, "GREY-7") == []


@pytest.mark.parametrize(
    ("order", "count", "refused"),
    [
        ({}, 3, []),
        ({}, 4, ["order.released-too-many"]),
        ({"collection": [note()]}, 1, []),
        ({"collection": [note()]}, 2, ["order.released-too-many"]),
        ({"collection": [note(used=2)], "allotted": ["u", "v"]}, 1, []),
        ({"collection": [note(used=2)], "allotted": ["u", "v"]}, 2, ["order.released-too-many"]),
        ({"collection": [note(expires_at=moment_text(START))]}, 3, []),
        ({"paid": False}, 1, ["order.unpaid"]),
        ({"state": "filled"}, 1, ["order.closed", "order.released-too-many"]),
    ],
)
def test_reference_on_an_order_is_hindered_by(
    order: dict[str, object], count: int, refused: list[str]
) -> None:
    event = make_event("release", mark=None, order=ORDER, count=count)
    assert refusals(judge_release_on_order(event, placed(**order), START)) == refused


def test_release_on_no_order_is_refused() -> None:
    event = make_event("release", mark=None, order=ORDER)
    assert refusals(judge_release_on_order(event, None, START)) == ["order.unknown"]


def test_judging_as_if_sold_leaves_the_record_alone() -> None:
    record = box()
    assert as_if_sold(record, placed()).sale is not None
    judge_allotment(record, placed(), Promises({}), START, RULES)
    assert record.sale is None


def entry(kind: str, at: float, resolved: dict[str, Any], **said: object) -> Entry:
    mark = None if kind in ("order", "release", "cancellation") else "ZZZU0000010"
    return make_entry(kind, at=at, resolved=resolved, **{"mark": mark, **said})


def history() -> list[Entry]:
    ordered = entry("order", 0, {}, id=ORDER, count=2)
    given = {
        "order": ORDER,
        "count": 2,
        "reference": None,
        "expires_at": "2026-03-09T10:00:00+02:00",
    }
    return [
        ordered,
        entry("release", 1, {"reference": "GREY-7"}, **given),
        entry("clearance", 2, {"reference": "GREY-7", "allots": UNIT}, reference="grey 7"),
    ]


def cancel(target: str, resolved: dict[str, Any] | None = None) -> Entry:
    return entry("cancellation", 9, resolved or {}, cancels=target)


def test_order_adds_up_from_its_history_in_any_order() -> None:
    lines = history()
    order = fold_order(ORDER, lines)
    assert (order.state, order.outstanding, order.allotted, order.events) == ("open", 1, [UNIT], 3)
    (found,) = order.collection
    assert (found.reference, found.count, found.used) == ("GREY-7", 2, 1)
    assert found.expires_at == "2026-03-09T08:00:00.000000+00:00"
    assert order.last_key == lines[-1].key
    assert dump_order(fold_order(ORDER, reversed(lines))) == dump_order(order)
    assert load_order(dump_order(order)) == order


def test_order_is_filled_by_its_last_unit_and_open_again_when_one_returns() -> None:
    allotting = {"reference": "BLUE-1", "allots": "v"}
    whole = [*history(), entry("release", 3, allotting, order=ORDER, reference=None)]
    assert fold_order(ORDER, whole).state == "filled"
    back = cancel(UNIT, {"returns": UNIT, "reference": "GREY-7"})
    order = fold_order(ORDER, [*whole, back])
    assert (order.state, order.allotted, order.collection[0].used) == ("open", ["v"], 0)
    back = cancel(UNIT, {"returns": "v", "reference": "BLUE-1"})
    order = fold_order(ORDER, [*whole, back])
    assert (order.state, order.allotted, order.collection[0].used) == ("open", [UNIT], 1)


def test_cancelled_order_keeps_what_was_collected_and_waits_for_nothing() -> None:
    order = fold_order(ORDER, [*history(), cancel(ORDER)])
    assert (order.state, order.outstanding, order.allotted) == ("cancelled", 0, [UNIT])
    assert (order.collection[0].count, order.collection[0].used) == (1, 1)


def test_cancelled_reference_keeps_what_was_collected_on_it() -> None:
    lines = history()
    order = fold_order(ORDER, [*lines, cancel(lines[1].event_id)])
    assert (order.state, order.outstanding, order.collection[0].count) == ("open", 1, 1)


def test_cancelled_reference_opens_nothing_again_when_a_unit_returns() -> None:
    lines = history()
    returned = entry("cancellation", 10, {"returns": UNIT, "reference": "GREY-7"}, cancels=UNIT)
    order = fold_order(ORDER, [*lines, cancel(lines[1].event_id), returned])
    assert (order.outstanding, order.allotted, order.collection[0].left) == (2, [], 0)


def test_no_other_kind_stands_in_an_orders_history() -> None:
    with pytest.raises(ValueError, match="gate-in"):
        fold_order(ORDER, [entry("gate-in", 0, {})])


def test_only_commercial_refusals_pass_for_a_reason() -> None:
    by_id = {rule.id: rule for rule in catalogue.RULES}
    assert set(by_id) >= release_rules.COMMERCIAL
    refused = [
        rule.finding("mark", seen="x", expected="y", depot="NORTH", severity=Severity.REFUSE)
        for rule in (
            *(by_id[name] for name in sorted(release_rules.COMMERCIAL)),
            release_rules.PACK_INCOMPLETE,
        )
    ]
    assert release_rules.override(refused, None) == refused
    passed = release_rules.override(refused, "the owner said so")
    assert [one.id for one in passed[:-1]] == ["release.overridden"] * len(release_rules.COMMERCIAL)
    assert passed[-1] == refused[-1]
    assert refused[0].message in str(passed[0].message)
    warned = [one.model_copy(update={"severity": Severity.WARN}) for one in refused]
    assert release_rules.override(warned, "the owner said so") == warned


@pytest.mark.parametrize(
    "name",
    [
        "release.approval-void",
        "release.no-valid-examination",
        "release.plate-pack-incomplete",
        "release.held",
        "release.to-weigh",
        "release.masses-to-repaint",
        "release.work-unfinished",
        "sale.already-sold",
        "sale.not-ours",
        "sale.mark-in-question",
        "clearance.used-up",
        "clearance.expired",
        "clearance.unknown-reference",
        "order.released-too-many",
    ],
)
def test_no_word_lifts_what_is_legal_for_safety_or_true(name: str) -> None:
    assert name in {rule.id for rule in catalogue.RULES}
    assert name not in release_rules.COMMERCIAL


@pytest.mark.parametrize(
    ("customs", "use", "weight"),
    [
        ("free-circulation", "storage", None),
        ("free-circulation", "export", None),
        ("temporary-admission", "storage", Severity.REFUSE),
        ("temporary-admission", "export", None),
        ("temporary-admission", "transport", None),
        ("unknown", "storage", Severity.REFUSE),
        ("unknown", "export", Severity.REFUSE),
        (None, "storage", None),
        (None, "transport", None),
        (None, "export", Severity.WARN),
    ],
)
def test_customs_hinder_by_status_and_use(
    customs: str | None, use: str, weight: Severity | None
) -> None:
    found = release_rules.hinders_papers(box(customs=customs), use=use, authority=None)
    weights = [one.severity for one in found if one.id == "release.customs-unknown"]
    assert weights == ([] if weight is None else [weight])


@pytest.mark.parametrize(
    ("use", "authority", "weight"),
    [
        ("storage", None, Severity.WARN),
        ("export", None, Severity.REFUSE),
        ("transport", None, Severity.REFUSE),
        ("export", "letter of 1 March", None),
        ("storage", "letter of 1 March", None),
    ],
)
def test_previous_owners_marks_hinder_by_use(
    use: str, authority: str | None, weight: Severity | None
) -> None:
    record = box(previous_owner="Quill Lines")
    found = release_rules.hinders_papers(record, use=use, authority=authority)
    weights = [one.severity for one in found if one.id == "release.previous-marks"]
    assert weights == ([] if weight is None else [weight])


WHOLE = {
    "plate": {
        "photo": "0" * 64,
        "approval_reference": "QX/77",
        "manufacturer_number": "7",
        "gross_kg": 30480,
        "stacking_kg": 192000,
        "racking_n": 150000,
    },
    "manufactured_in": "2024-01",
    "next_examination": "programme",
    "tare_kg": 2230,
    "payload_kg": 28250,
}


def test_pack_that_lacks_nothing_is_complete() -> None:
    assert release_rules.lacks_of_pack(box(**WHOLE)) == []
    heavy = replace(box(**WHOLE), plate={**WHOLE["plate"], "racking_n": None, "racking_kg": 15240})
    assert release_rules.lacks_of_pack(heavy) == []


@pytest.mark.parametrize(
    ("name", "lacks"),
    [
        ("photo", "the plate's photo"),
        ("approval_reference", "the approval reference"),
        ("manufacturer_number", "the manufacturer's number"),
        ("gross_kg", "the plate's gross mass"),
        ("stacking_kg", "the stacking load"),
        ("racking_n", "the racking force"),
        ("manufactured_in", "the month of manufacture"),
        ("next_examination", "the next examination or programme"),
        ("size_type", "the size-type"),
        ("tare_kg", "the tare"),
        ("payload_kg", "the payload"),
    ],
)
def test_pack_names_the_one_thing_it_lacks(name: str, lacks: str) -> None:
    record = box(**WHOLE)
    if name in WHOLE["plate"]:
        record.plate = {**WHOLE["plate"], name: None}
    else:
        setattr(record, name, None)
    assert release_rules.lacks_of_pack(record) == [lacks]


def test_pack_of_a_box_without_plate_lacks_every_line() -> None:
    assert len(release_rules.lacks_of_pack(box())) == 10
