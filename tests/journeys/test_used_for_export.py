"""A used unit comes off hire, is mended and fitted out, examined, and exported with its pack.

It still bears the marks of the lessor; the buyer's own code goes on. Its examination is nearly due
when it is bought, so that it must be examined before a journey of some months; its plate must be
photographed, and whoever asks a year later gets the pack by the mark it once bore.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import pytest

from tests.support.depot import BOX, THIRD, Depot
from tests.support.forms import form_of
from tests.support.lives import Life, as_json, tell
from tests.support.papers import count_pictures, read_text, scan
from tests.support.pictures import make_photo
from tracker.papers.plate_pack import plate_pack_json, plate_pack_pdf
from tracker.services.may_leave import may_leave
from tracker.services.plate_packs import pack_of
from tracker.services.release_notes import note_of

if TYPE_CHECKING:
    from pathlib import Path

MASSES = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
PAINTED_ANEW = {"gross_kg": 30480, "tare_kg": 2239, "payload_kg": 28241}
PLATE = {
    "approval_reference": "GB-QX 1001/01",
    "manufacturer_number": "QX 44871",
    "manufactured_in": "2016-04",
    "next_examination": "2026-04",
    "gross_kg": 30480,
    "stacking_kg": 192000,
    "racking_n": 150000,
}
DENT = {"component": "side-panel", "kind": "holed", "place": "LX2N", "urgency": "before-release"}


@pytest.fixture
def life(depot: Depot, tmp_path: Path) -> Life:
    depot.open_depot("NORTH", manager="manager@north.example", workshop="shop@north.example")
    return Life(depot, tmp_path / "mail")


def come_off_hire(life: Life) -> None:
    life.say("2026-03-02 08:00", "gate-in", BOX, size_type="22G1", masses=MASSES, provenance="used")
    life.say(
        "2026-03-02 09:00",
        "acquisition",
        BOX,
        owner="Northquay Boxes",
        previous_owner="Farline Leasing",
        title_evidence="sale note 2026-120",
        title_passed_on="2026-03-01",
        customs="free-circulation",
        customs_entry="ENTRY 4471",
    )


def grade(life: Life, photo: str | None) -> None:
    plate = PLATE | ({} if photo is None else {"photo": photo})
    life.say(
        "2026-03-03 09:00",
        "inspection",
        BOX,
        plate=plate,
        condition="cargo-worthy",
        damages=[DENT],
    )


def work_on_it(life: Life) -> None:
    life.say("2026-03-04 08:00", "work-order", BOX, lines=[{"work": "lock-box"}])
    (order,) = life.record(BOX)["orders"]
    life.say("2026-03-05 09:00", "repair", BOX)
    life.say(
        "2026-03-05 10:00",
        "modification",
        BOX,
        fittings=[{"work": "lock-box", "mass_kg": 9}],
        order=order["id"],
    )


def sell(life: Life, at: str = "2026-03-06 09:00") -> None:
    life.say(
        at,
        "sale",
        BOX,
        buyer="Ada Quill",
        intended_use="export",
        paid=True,
        journey_ends_on="2026-08-31",
    )


def make_fit_to_travel(life: Life) -> None:
    life.say(
        "2026-03-09 10:00",
        "examination",
        BOX,
        passed=True,
        by="Quill Testing",
        next_examination="2028-09",
    )
    life.say(
        "2026-03-10 10:00",
        "marking",
        BOX,
        action="re-marked",
        new_mark=THIRD,
        masses=PAINTED_ANEW,
        photos=[life.photograph()],
    )


def leave(life: Life) -> None:
    life.say("2026-03-11 08:00", "release", THIRD, reference=None, haulier="Stonebridge Haulage")
    reference = life.record(THIRD)["release"]["reference"]
    life.say("2026-03-12 07:00", "clearance", THIRD, reference=reference)
    life.say("2026-03-12 07:05", "gate-out", THIRD, reference=reference, seal="QX 7781")


def test_each_thing_in_the_way_of_export_refuses_until_it_is_done(life: Life) -> None:
    come_off_hire(life)
    grade(life, photo=None)
    sell(life, "2026-03-03 12:00")
    assert life.ask("2026-03-03 12:10", "release", BOX) == {
        "release.work-unfinished",
        "release.plate-pack-incomplete",
        "release.previous-marks",
        "release.no-valid-examination",
    }
    note = note_of(life.depot.web, life.depot.show(BOX))
    assert not note.may_leave
    unmet = {one.says: one.why for one in note.conditions if not one.met}
    assert "holed on side-panel" in unmet["Work and mending due are done"]
    assert "the plate's photo" in unmet["Its plate pack is complete"]
    assert "Farline Leasing" in unmet["Former owner's marks are off, or allowed"]
    assert set(unmet) >= {"Examined to last the journey"}

    work_on_it(life)
    make_fit_to_travel(life)
    assert life.ask("2026-03-10 11:00", "release", THIRD) == {"release.plate-pack-incomplete"}
    pack = pack_of(life.depot.web, life.depot.show(THIRD))
    assert pack.missing == ("a photo of the plate",)
    photo = life.photograph()
    life.say("2026-03-10 12:00", "inspection", THIRD, plate={"photo": photo})
    assert may_leave(life.depot.web, THIRD).findings[0].id == "clearance.no-release"
    leave(life)
    life.ends_sound()


def test_pack_is_there_by_any_mark_a_year_later_and_as_it_was(life: Life) -> None:
    come_off_hire(life)
    photo = life.photograph()
    grade(life, photo)
    work_on_it(life)
    sell(life)
    make_fit_to_travel(life)
    leave(life)
    later = datetime(2027, 6, 1, tzinfo=UTC)
    life.depot.web.clock.set(later)  # type: ignore[attr-defined]  # a clock that stands
    record = life.record(BOX)
    assert (record["mark"], record["presence"]) == (THIRD, "away")
    assert (record["tare_kg"], record["fittings"]) == (2239, {"lock-box": 1})
    assert (record["repaint"], record["previous_owner"], record["damages"]) == ([], None, [])

    pack = pack_of(life.depot.web, life.depot.show(BOX))
    pdf = plate_pack_pdf(pack)
    text = read_text(pdf)
    assert pack.missing == ()
    assert "Complete Every line" in text
    assert "2028-09, in date to 2028-08-31" in text
    assert "Examination on that day in date" in text
    assert "2 239 kg" in text
    assert BOX in text
    assert count_pictures(pdf) == 1
    assert scan(pdf) == [f"http://127.0.0.1:8600/units/{THIRD}"]
    said = as_json(plate_pack_json(pack))
    assert said["photo"] == {"sha256": photo}
    assert (said["complete"], said["unit"]["mark"]) == (True, THIRD)

    then = datetime(2026, 3, 4, 7, tzinfo=UTC)
    early = pack_of(life.depot.web, life.depot.show(BOX, as_of=then), as_of=then)
    assert early.unit.mark == BOX
    assert "As it was on 2026-03-04 07:00" in read_text(plate_pack_pdf(early))
    assert str(early.next_examination) == "2026-04"


def test_manager_is_mailed_the_examination_that_comes_due_and_not_after_it_took_place(
    life: Life,
) -> None:
    come_off_hire(life)
    grade(life, life.photograph())
    work_on_it(life)
    sell(life)
    before = tell(life.mails_of(date(2026, 3, 7)))
    assert [text for text in before.values() if BOX in text and "2026-03-31" in text]
    make_fit_to_travel(life)
    after = tell(life.mails_of(date(2026, 3, 25)))
    assert [text for text in after.values() if THIRD in text and "xamination" in text] == []


def test_sold_for_storage_instead_its_marks_come_off_in_the_workshop_first(life: Life) -> None:
    come_off_hire(life)
    grade(life, life.photograph())
    life.say("2026-03-06 09:00", "sale", BOX, buyer="Bo Thorn", intended_use="storage", paid=True)
    marks = "Former owner's marks are off, or allowed"
    photo = {"@photos": ("p.jpg", make_photo(), "image/jpeg")}
    with life.at_pages("2026-03-09 09:00", "NORTH:workshop") as shop:
        page = shop.get("/workshop").text
        assert "Marks to take off: <b>Farline Leasing</b>" in page
        page = shop.get(f"/workshop/unit?name={BOX}").text
        for form in ("mend", "marks"):
            done = shop.post("/workshop/unit", data=form_of(page, form), files=photo)
            assert "<h1>Recorded</h1>" in done.text
    record = life.record(BOX)
    assert (record["damages"], record["previous_owner"]) == ([], None)
    assert len(life.depot.show(BOX).history[-1]["event"]["photos"]) == 1
    note = note_of(life.depot.web, life.depot.show(BOX))
    (condition,) = [one for one in note.conditions if one.says == marks]
    assert (condition.met, condition.why) == (True, "")
    found = life.say("2026-03-09 10:00", "release", BOX, reference=None)
    assert "release.previous-marks" not in found
    life.ends_sound()
