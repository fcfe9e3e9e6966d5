"""A unit is made into a site office; its approval is void, and no manager can export it.

The windows cut away steel that the approval stood on. Payment a manager may let pass, a safety
approval nobody's word brings back: only a new approval lets it travel. To stand it may be sold, and
its buyer is told.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import pytest

from tests.support.depot import BOX, Depot
from tests.support.lives import Life, tell
from tests.support.papers import read_text
from tracker.papers.acknowledgement import acknowledgement_pdf
from tracker.papers.plate_pack import hindrances, plate_pack_pdf
from tracker.papers.release_note import release_note_pdf
from tracker.services.acknowledgements import NotSoldForStorageError, acknowledgement_of
from tracker.services.may_leave import may_leave
from tracker.services.plate_packs import pack_of
from tracker.services.release_notes import note_of

if TYPE_CHECKING:
    from pathlib import Path

MASSES = {"gross_kg": 30480, "tare_kg": 3700, "payload_kg": 26780}
PLATE = {
    "approval_reference": "GB-QX 1001/01",
    "manufacturer_number": "QX 44871",
    "manufactured_in": "2022-06",
    "next_examination": "2027-06",
    "gross_kg": 30480,
    "stacking_kg": 192000,
    "racking_n": 150000,
}
NOT_PAID = {"intended_use": "export", "paid": False, "journey_ends_on": "2026-06-30"}
A_WORD = {"override_reason": "the buyer is in a hurry"}


@pytest.fixture
def life(depot: Depot, tmp_path: Path) -> Life:
    depot.open_depot("NORTH", manager="manager@north.example")
    life = Life(depot, tmp_path / "mail")
    life.say("2026-03-02 08:00", "gate-in", BOX, size_type="42G1", masses=MASSES)
    life.say(
        "2026-03-02 09:00",
        "acquisition",
        BOX,
        owner="Northquay Boxes",
        title_evidence="sale note 2026-131",
        title_passed_on="2026-03-01",
        customs="free-circulation",
    )
    plate = PLATE | {"photo": life.photograph()}
    life.say("2026-03-02 10:00", "inspection", BOX, plate=plate, condition="cargo-worthy")
    life.say(
        "2026-03-04 10:00",
        "modification",
        BOX,
        fittings=[{"work": "window", "count": 2, "mass_kg": 30, "cut_out_kg": 18}],
        approval_effect="void",
        weighed_tare_kg=3724,
    )
    life.say(
        "2026-03-04 15:00",
        "marking",
        BOX,
        action="repainted",
        masses={"gross_kg": 30480, "tare_kg": 3724, "payload_kg": 26756},
    )
    return life


def test_manager_may_let_payment_pass_and_never_the_void_approval(life: Life) -> None:
    life.say("2026-03-05 09:00", "sale", BOX, **NOT_PAID)
    assert life.ask("2026-03-05 09:10", "release", BOX) == {
        "release.unpaid",
        "release.approval-void",
    }
    assert life.ask("2026-03-05 09:20", "release", BOX, **A_WORD) == {"release.approval-void"}
    assert life.ask("2026-03-05 09:30", "clearance", BOX, reference="X", **A_WORD) >= {
        "release.approval-void",
        "clearance.no-release",
    }
    assert not may_leave(life.depot.web, BOX).is_given
    text = read_text(release_note_pdf(note_of(life.depot.web, life.depot.show(BOX))))
    assert "NOT released" in text
    assert "Only a new approval lets it travel" in text
    pack = pack_of(life.depot.web, life.depot.show(BOX))
    assert (pack.missing, pack.approval) == ((), "void")
    assert hindrances(pack) == ("approval void until re-approved",)
    assert "Against a journey" in read_text(plate_pack_pdf(pack))
    assert life.kinds(BOX)[-1] == "sale"
    life.ends_sound()


def test_only_a_new_approval_lifts_it_and_payment_is_then_a_managers_to_let_pass(
    life: Life,
) -> None:
    life.say("2026-03-05 09:00", "sale", BOX, **NOT_PAID)
    life.say(
        "2026-03-06 09:00", "plate-change", BOX, action="re-approved", approved_by="Quill Approval"
    )
    found = life.say("2026-03-06 10:00", "release", BOX, **A_WORD)
    assert "release.overridden" in found
    note = note_of(life.depot.web, life.depot.show(BOX))
    assert note.may_leave
    (paid,) = [one for one in note.conditions if one.says == "It is paid, or sold on credit"]
    assert (paid.met, paid.why.startswith("A manager let pass: ")) == (True, True)


def test_it_is_sold_to_stand_and_its_buyer_is_told(life: Life) -> None:
    life.say("2026-03-05 09:00", "sale", BOX, intended_use="storage", paid=True)
    paper = acknowledgement_of(life.depot.web, life.depot.show(BOX))
    assert "safety approval is void" in read_text(acknowledgement_pdf(paper))
    released = life.say("2026-03-05 10:00", "release", BOX, reference=None)
    assert released["release.approval-void"].severity.value == "warn"
    reference = life.record(BOX)["release"]["reference"]
    life.say("2026-03-06 07:00", "clearance", BOX, reference=reference)
    life.say("2026-03-06 07:05", "gate-out", BOX, reference=reference)
    record = life.record(BOX)
    assert (record["approval"], record["breaches"], record["tare_kg"]) == ("void", [], 3724)
    life.ends_sound()


def test_it_is_driven_off_for_export_all_the_same_and_the_manager_is_mailed(life: Life) -> None:
    life.say("2026-03-05 09:00", "sale", BOX, **NOT_PAID)
    with pytest.raises(NotSoldForStorageError):
        acknowledgement_of(life.depot.web, life.depot.show(BOX))
    life.say("2026-03-06 23:00", "gate-out", BOX)
    (breach,) = life.record(BOX)["breaches"]
    assert breach["finding"] == "release.left-without-release"
    told = tell(life.mails_of(date(2026, 3, 7)))
    assert "without a release" in told[f"Breach: {BOX}"]
    life.ends_sound()
