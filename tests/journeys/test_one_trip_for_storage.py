"""A one-trip unit is sold for storage with two louvre vents.

It came over with its first cargo and was bought in the port. The buyer wants to keep files in it:
two louvre vents of 3 kg go in, whose holes cut into the shell. Nobody asks the approving body and
nobody paints the doors anew; for standing that only warns, and the buyer signs to have been told.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING
from uuid import UUID

import pytest

from tests.support.depot import BOX, Depot
from tests.support.lives import Life, tell
from tests.support.papers import read_text, scan
from tracker.papers.acknowledgement import acknowledgement_pdf, warnings_of
from tracker.papers.interchange import interchange_pdf
from tracker.papers.release_note import release_note_pdf
from tracker.services.acknowledgements import acknowledgement_of
from tracker.services.interchange_receipts import receipt_of
from tracker.services.release_notes import note_of
from tracker.services.sight import Sight

if TYPE_CHECKING:
    from pathlib import Path

MASSES = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
VENTS = [{"work": "louvre-vent", "count": 2, "mass_kg": 3}]
PAGE = f"http://127.0.0.1:8600/units/{BOX}"


@pytest.fixture
def life(depot: Depot, tmp_path: Path) -> Life:
    depot.open_depot("NORTH", zone="Europe/Lisbon", manager="manager@north.example")
    return Life(depot, tmp_path / "mail")


def buy_and_fit(life: Life) -> None:
    """From the lorry to the finished vents."""
    life.say(
        "2026-03-02 08:00",
        "gate-in",
        BOX,
        size_type="22G1",
        masses=MASSES,
        provenance="one-trip",
        plate={"manufactured_in": "2025-11", "next_examination": "2030-11", "gross_kg": 30480},
        haulier="Stonebridge Haulage",
        driver="Orin Vale",
        signature=life.photograph(),
    )
    life.say(
        "2026-03-02 09:00",
        "acquisition",
        BOX,
        owner="Northquay Boxes",
        title_evidence="sale note 2026-114",
        title_passed_on="2026-02-27",
        customs="free-circulation",
    )
    life.say("2026-03-03 08:00", "work-order", BOX, lines=[{"work": "louvre-vent", "count": 2}])
    (order,) = life.record(BOX)["orders"]
    found = life.say(
        "2026-03-04 10:00",
        "modification",
        BOX,
        fittings=VENTS,
        order=order["id"],
        approval_effect="ask",
    )
    assert "= 2 236 kg" in found["work.tare-recomputed"].message


def sell_and_collect(life: Life) -> None:
    """From the sale to the barrier."""
    life.say(
        "2026-03-05 09:00",
        "sale",
        BOX,
        buyer="Ada Quill",
        intended_use="storage",
        reference="S-71",
        price="2450.00",
        currency="EUR",
        paid=True,
    )
    warned = life.say(
        "2026-03-05 09:10", "release", BOX, reference=None, haulier="Stonebridge Haulage"
    )
    assert {"release.masses-to-repaint", "release.approval-void"} <= warned.keys()
    assert {one.severity.value for one in warned.values()} == {"warn"}


def leave(life: Life) -> None:
    reference = life.record(BOX)["release"]["reference"]
    life.say(
        "2026-03-06 07:00", "clearance", BOX, reference=reference, haulier="Stonebridge Haulage"
    )
    life.say(
        "2026-03-06 07:05",
        "gate-out",
        BOX,
        reference=reference,
        haulier="Stonebridge Haulage",
        driver="Orin Vale",
        signature_refused="in a hurry, and gone",
    )
    life.say("2026-03-06 11:00", "delivery", BOX, outcome="delivered", received_by="Ada Quill")


def test_life_ends_at_the_buyer_with_a_record_that_says_so(life: Life) -> None:
    buy_and_fit(life)
    sell_and_collect(life)
    leave(life)
    assert life.kinds(BOX) == [
        "gate-in",
        "acquisition",
        "work-order",
        "modification",
        "sale",
        "release",
        "clearance",
        "gate-out",
        "delivery",
    ]
    record = life.record(BOX)
    assert (record["presence"], record["whereabouts"]) == ("away", "delivered")
    assert (record["tare_kg"], record["payload_kg"], record["gross_kg"]) == (2236, 28244, 30480)
    assert (record["fittings"], record["repaint"]) == ({"louvre-vent": 2}, ["masses"])
    assert (record["approval"], record["owner"]) == ("ask", "Northquay Boxes")
    assert record["breaches"] == []
    life.ends_sound()


def test_buyer_signs_to_have_been_told_and_the_gate_papers_say_who_signed(life: Life) -> None:
    buy_and_fit(life)
    came = life.told["gate-in"]
    sell_and_collect(life)
    released = note_of(life.depot.web, life.depot.show(BOX))
    assert released.may_leave
    text = read_text(release_note_pdf(released))
    assert life.record(BOX)["release"]["reference"] in text
    assert "Warning: Its tare as it now is, 2 236 kg" in text
    leave(life)

    paper = acknowledgement_of(life.depot.web, life.depot.show(BOX))
    warnings = " ".join(warnings_of(paper))
    assert "put its safety approval in question" in warnings
    assert "is not the one painted on its doors, 2 230 kg" in warnings
    pdf = acknowledgement_pdf(paper)
    assert scan(pdf) == [PAGE]
    told = read_text(pdf)
    assert "Ada Quill" in told
    assert "S-71" in told

    into, out = (
        interchange_pdf(receipt_of(life.depot.web, Sight(None), one))
        for one in map(UUID, (came, life.told["gate-out"]))
    )
    assert "Interchange receipt: IN" in read_text(into)
    assert "2 230 kg" in read_text(into)
    assert "Refused to sign in a hurry, and gone" in read_text(out)
    assert "2 236 kg" in read_text(out)
    assert scan(into) == scan(out) == [PAGE]


def test_nobody_is_mailed_about_a_unit_that_was_sold_to_stand_and_is_gone(life: Life) -> None:
    buy_and_fit(life)
    sell_and_collect(life)
    leave(life)
    told = tell(life.mails_of(date(2026, 3, 7), date(2030, 10, 30)))
    assert [subject for subject, text in told.items() if BOX in text] == []
