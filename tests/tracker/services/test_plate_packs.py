"""A pack of the record: what the judge finds lacking, the paper finds missing."""

from dataclasses import replace
from typing import Any
from uuid import UUID

import pytest

from schemas.records import Record
from tests.support.depot import BOX, Depot, report
from tests.support.pictures import make_photo
from tracker.judge.release_rules import lacks_of_pack
from tracker.papers.plate_pack import plate_pack_pdf
from tracker.services import paper_values
from tracker.services.photos import take_photo
from tracker.services.plate_packs import pack_of

PLATE: dict[str, Any] = {
    "approval_reference": "GB-QX 1001/01",
    "manufacturer_number": "QX 44871",
    "manufactured_in": "2024-06",
    "next_examination": "2028-11",
    "gross_kg": 30480,
    "stacking_kg": 192000,
    "racking_n": 150000,
}
MASSES = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}


@pytest.fixture
def digest(depot: Depot) -> str:
    return take_photo(depot.web, make_photo()).digest


def take_in(depot: Depot, plate: dict[str, Any] | None, **others: object) -> None:
    said = {"size_type": "22G1", "masses": MASSES} | others
    depot.record(report("gate-in", plate=plate, **said))


def without(record: Record, name: str) -> Record:
    """Return a record that lacks one thing, wherever it stands."""
    plate = {key: value for key, value in (record.plate or {}).items() if key != name}
    return replace(record, **({"plate": plate} | ({name: None} if hasattr(record, name) else {})))


LACKS = (
    "photo",
    "approval_reference",
    "manufactured_in",
    "manufacturer_number",
    "gross_kg",
    "stacking_kg",
    "racking_n",
    "next_examination",
    "size_type",
    "tare_kg",
    "payload_kg",
)


@pytest.mark.parametrize("name", LACKS)
def test_pack_misses_what_the_judge_finds_lacking(depot: Depot, digest: str, name: str) -> None:
    take_in(depot, PLATE | {"photo": digest})
    view = depot.show()
    record = paper_values.record_of(view)
    assert (lacks_of_pack(record), pack_of(depot.web, view).missing) == ([], ())
    poorer = without(record, name)
    shown = replace(view, record=view.record | paper_values_of(poorer))
    assert lacks_of_pack(poorer)
    assert pack_of(depot.web, shown).missing


def paper_values_of(record: Record) -> dict[str, Any]:
    return {name: getattr(record, name) for name in ("plate", *LACKS[1:]) if hasattr(record, name)}


def test_photo_that_is_named_and_not_kept_is_missing_by_its_digest(depot: Depot) -> None:
    take_in(depot, PLATE | {"photo": "ab" * 32})
    pack = pack_of(depot.web, depot.show())
    assert pack.photo is None
    assert pack.missing[0] == "a photo of the plate"
    assert "ab" * 32 in pack.missing[1]
    assert plate_pack_pdf(pack)


def test_photo_shown_is_the_smaller_copy_and_named_as_it_is_kept(depot: Depot, digest: str) -> None:
    take_in(depot, PLATE | {"photo": digest})
    pack = pack_of(depot.web, depot.show())
    assert pack.photo is not None
    assert pack.photo.startswith(b"\xff\xd8\xff")
    assert pack.photo_digest == digest
    assert pack.photo_says == "Handed in with gate-in of 2026-03-02 07:00 UTC at NORTH"


def test_no_plate_is_told_with_who_looked(depot: Depot) -> None:
    take_in(depot, {"no_plate": True, "seen_by": "Ada Quill"})
    pack = pack_of(depot.web, depot.show())
    assert pack.plate is not None
    assert (pack.plate.no_plate, pack.plate.seen_by) == (True, "Ada Quill")
    assert "a safety approval plate: somebody looked, and there is none" in pack.missing


def test_programme_is_named_and_lost_with_its_owner(depot: Depot) -> None:
    plate = {name: value for name, value in PLATE.items() if name != "next_examination"}
    take_in(depot, plate | {"programme": "ACEP QX-12"})
    assert pack_of(depot.web, depot.show()).programme == "ACEP QX-12"
    depot.record(
        report(
            "acquisition",
            owner="Northquay Boxes",
            title_evidence="sale note 7",
            title_passed_on="2026-03-02",
        )
    )
    pack = pack_of(depot.web, depot.show())
    assert pack.programme is None
    assert "the date of the next examination, or its programme" in pack.missing


def test_code_leads_to_the_public_address_by_mark_or_by_id(depot: Depot) -> None:
    far = depot.with_settings(public_address="https://boxes.northquay.example/yard/")
    take_in(far, None)
    far.record(report("gate-in", None, tag="T-12"))
    addresses = [pack_of(far.web, far.show(name)).issue.address for name in (BOX, "#NORTH/T-12")]
    assert addresses[0] == f"https://boxes.northquay.example/yard/units/{BOX}"
    start, _, unit_id = addresses[1].rpartition("/")
    assert start == "https://boxes.northquay.example/yard/units"
    assert UUID(unit_id) == far.show("#NORTH/T-12").unit_id
