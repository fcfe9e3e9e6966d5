import pytest

from schemas.records import OpenDamage, OpenOrder, Record
from tests.support.events import PLATE, START, SUM_MASSES, UNIT, make_entry, make_record
from tracker.judge.entry import Entry, moment_text
from tracker.judge.fold import extend, fold

NOW = moment_text(START)


def folded(record: Record, *entries: Entry) -> Record:
    for entry in entries:
        extend(record, entry)
    return record


def test_permanent_fittings_change_the_tare_and_ask_for_paint() -> None:
    record = make_record(gross_kg=30480, tare_kg=2230)
    fittings = [
        {"work": "louvre-vent", "count": 2, "mass_kg": 7, "cut_out_kg": 2},
        {"work": "lashing-strap", "count": 4, "mass_kg": 3, "permanent": False},
    ]
    folded(record, make_entry("modification", fittings=fittings))
    assert (record.tare_kg, record.payload_kg) == (2240, 28240)
    assert record.fittings == {"louvre-vent": 2, "lashing-strap": 4}
    assert record.repaint == ["masses"]


def test_weighed_tare_counts_instead_of_the_reckoned_one() -> None:
    record = make_record(gross_kg=30480, tare_kg=2230)
    folded(record, make_entry("modification", weighed_tare_kg=2301))
    assert (record.tare_kg, record.payload_kg, record.repaint) == (2301, 28179, ["masses"])


def test_old_paint_read_after_a_fitting_is_no_news_and_new_paint_is() -> None:
    history = [
        make_entry("gate-in", masses=SUM_MASSES),
        make_entry("modification", at=1),
        make_entry("inspection", at=2, masses=SUM_MASSES),
    ]
    record = fold(UNIT, history)
    assert (record.tare_kg, record.painted_tare_kg, record.repaint) == (2242, 2230, ["masses"])
    painted = {"tare_kg": 2242, "payload_kg": 28238}
    record = fold(UNIT, [*history, make_entry("marking", at=3, masses=painted)])
    assert (record.tare_kg, record.painted_tare_kg, record.repaint) == (2242, 2242, [])


@pytest.mark.parametrize(
    ("before", "effect", "after"),
    [
        ("approved", "none", "approved"),
        ("approved", "ask", "ask"),
        ("approved", "void", "void"),
        ("void", "ask", "void"),
        ("ask", "void", "void"),
    ],
)
def test_work_only_ever_lowers_the_approval(before: str, effect: str, after: str) -> None:
    record = make_record(approval=before)
    folded(record, make_entry("modification", approval_effect=effect))
    assert record.approval == after


@pytest.mark.parametrize("approval", ["void", "ask"])
@pytest.mark.parametrize("removal", ["plate-change", "inspection"])
def test_what_voids_an_approval_outlasts_the_plate(approval: str, removal: str) -> None:
    record = make_record(approval=approval, plate=dict(PLATE), next_examination="2029-12")
    said = {"action": "removed", "plate": None} if removal == "plate-change" else {}
    gone = said or {"plate": {"no_plate": True}}
    folded(record, make_entry(removal, **gone))
    assert (record.plate, record.next_examination, record.approval) == (None, None, approval)
    folded(record, make_entry("inspection", at=1, plate=PLATE))
    assert record.approval == approval
    folded(record, make_entry("plate-change", at=2, action="re-approved"))
    assert record.approval == "approved"


def test_lost_plate_leaves_no_approval_and_a_new_reading_brings_it() -> None:
    record = make_record(approval="approved", plate=dict(PLATE))
    folded(record, make_entry("plate-change", action="removed", plate=None))
    assert record.approval == "none"
    folded(record, make_entry("inspection", at=1, plate=PLATE))
    assert (record.approval, record.next_examination) == ("approved", "2029-12")


def test_repair_mends_the_damages_named_or_all() -> None:
    damages = [OpenDamage(name, "door", "dent", "soon", NOW) for name in ("d/1", "d/2")]
    some = folded(make_record(damages=list(damages)), make_entry("repair", damages=["d/1"]))
    every = folded(make_record(damages=list(damages)), make_entry("repair"))
    assert ([one.id for one in some.damages], every.damages) == (["d/2"], [])


def test_work_closes_the_order_it_names_and_no_other() -> None:
    first, second = (f"00000000-0000-0000-0000-00000000000{number}" for number in (1, 2))
    for kind in ("repair", "modification"):
        record = make_record(
            orders=[OpenOrder(one, {"lock-box": 1}, NOW) for one in (first, second)]
        )
        folded(record, make_entry(kind, order=first))
        assert [order.id for order in record.orders] == [second]
        folded(record, make_entry(kind, at=1))
        assert [order.id for order in record.orders] == [second]


def test_order_adds_up_its_lines() -> None:
    lines = [{"work": "lock-box"}, {"work": "vent", "count": 2}, {"work": "vent", "count": 3}]
    record = folded(make_record(), make_entry("work-order", lines=lines, due_on="2026-03-09"))
    (order,) = record.orders
    assert (order.lines, order.due_on) == ({"lock-box": 1, "vent": 5}, "2026-03-09")


@pytest.mark.parametrize(
    ("action", "left"), [("removed", ["mark"]), ("repainted", []), ("re-marked", [])]
)
def test_mark_to_be_painted_is_done_when_it_is_painted(action: str, left: list[str]) -> None:
    record = folded(make_record(repaint=["mark"]), make_entry("marking", action=action))
    assert record.repaint == left
