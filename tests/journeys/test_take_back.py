"""A buyer gives a unit back, and it comes back with damage.

It had left sound. The haulier who brings it back answers for what was dented on his lorry, until
the last day for notice; the depot mends it and sells it again.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING
from uuid import UUID

import pytest

from tests.support.depot import BOX, Depot
from tests.support.forms import form_of
from tests.support.lives import Life, tell
from tests.support.papers import read_text, scan
from tracker.papers.interchange import interchange_pdf
from tracker.services.interchange_receipts import receipt_of
from tracker.services.release_notes import note_of
from tracker.services.sight import Sight

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.testclient import TestClient

MASSES = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
DENT = {
    "component": "door-panel",
    "kind": "dented",
    "place": "DB1N",
    "measured_mm": 60,
    "urgency": "before-release",
    "mend_by": "2026-03-31",
    "on_lorry": True,
    "responsible": "Stonebridge Haulage",
    "notice_by": "2026-04-03",
}


@pytest.fixture
def life(depot: Depot, tmp_path: Path) -> Life:
    depot.open_depot("NORTH", zone="Europe/Lisbon", workshop="shop@north.example")
    life = Life(depot, tmp_path / "mail")
    life.say("2026-03-02 08:00", "gate-in", BOX, size_type="22G1", masses=MASSES)
    life.say("2026-03-02 09:00", "inspection", BOX, condition="wind-and-watertight")
    sell_and_go(life, "2026-03-03", "Ada Quill")
    life.say("2026-03-04 12:00", "delivery", BOX, outcome="delivered", received_by="Ada Quill")
    return life


def sell_and_go(life: Life, day: str, buyer: str) -> None:
    life.say(f"{day} 09:00", "sale", BOX, buyer=buyer, intended_use="storage", paid=True)
    life.say(f"{day} 10:00", "release", BOX, reference=None)
    reference = life.record(BOX)["release"]["reference"]
    life.say(f"{day} 11:00", "clearance", BOX, reference=reference)
    life.say(f"{day} 11:05", "gate-out", BOX, reference=reference)


def come_back(life: Life) -> None:
    with life.at_pages("2026-03-20 15:00", "NORTH:sales") as desk:
        told = {"kind": "complaint", "about": "it is too small for what I have"}
        assert "<h1>Recorded</h1>" in desk.post(f"/reports?unit={BOX}", data=told).text
    with life.at_pages("2026-03-21 09:00", "NORTH:sales") as desk:
        asked = {"kind": "take-back", "reason": "exchanged for a larger one"}
        assert desk.post(f"/sales/deal?unit={BOX}", data=asked).status_code == 303
    life.say(
        "2026-03-24 08:00",
        "gate-in",
        BOX,
        purpose="take-back",
        haulier="Stonebridge Haulage",
        driver="Orin Vale",
        damage_on_lorry="left door dented",
        signature_refused="says that it was there before",
    )
    life.say("2026-03-24 08:30", "inspection", BOX, damages=[DENT])


def test_damage_stands_on_the_receipt_with_the_refusal_and_in_the_claim(life: Life) -> None:
    out = receipt_of(life.depot.web, Sight(None), UUID(life.told["gate-out"]))
    assert (out.damages, out.outside) == ((), "yes")
    come_back(life)
    receipt = receipt_of(life.depot.web, Sight(None), UUID(life.told["gate-in"]))
    pdf = interchange_pdf(receipt)
    text = read_text(pdf)
    assert "One damage was seen" in text
    assert "60 mm on the lorry" in text
    assert "Damage was seen: left door dented." in text
    assert "Refused to sign says that it was there before" in text
    assert "2026-03-24 08:00 (UTC+00:00, Europe/Lisbon)" in text
    assert scan(pdf) == [f"http://127.0.0.1:8600/units/{BOX}"]
    record = life.record(BOX)
    claims = {(one["says"], one["responsible"]) for one in record["claims"]}
    assert claims == {
        ("left door dented", "Stonebridge Haulage"),
        ("dented on door-panel", "Stonebridge Haulage"),
    }
    assert (record["presence"], record["sale"], record["release"]) == ("in-depot", None, None)


def test_it_is_mended_before_it_is_sold_and_released_again(life: Life) -> None:
    come_back(life)
    life.say("2026-03-25 09:00", "sale", BOX, buyer="Bo Thorn", intended_use="storage", paid=True)
    assert life.ask("2026-03-25 09:10", "release", BOX, reference=None) == {
        "release.work-unfinished"
    }
    note = note_of(life.depot.web, life.depot.show(BOX))
    (unmet,) = [one for one in note.conditions if one.says.startswith("Work ")]
    assert (unmet.met, "dented on door-panel" in unmet.why) == (False, True)
    life.say("2026-03-26 10:00", "repair", BOX)
    life.say("2026-03-26 11:00", "release", BOX, reference=None)
    reference = life.record(BOX)["release"]["reference"]
    life.say("2026-03-27 07:00", "clearance", BOX, reference=reference)
    life.say("2026-03-27 07:05", "gate-out", BOX, reference=reference)
    record = life.record(BOX)
    assert (record["damages"], record["breaches"]) == ([], [])
    assert record["sale"]["buyer"] == "Bo Thorn"
    assert len(record["claims"]) == 2
    assert life.kinds(BOX).count("gate-in") == life.kinds(BOX).count("take-back") + 1 == 2
    life.ends_sound()


def test_claim_is_given_notice_of_and_closed_at_the_desk_and_its_alert_goes(life: Life) -> None:
    come_back(life)
    life.mails_of(date(2026, 3, 26))
    assert "claim-notice" in alerts_of(life)
    with life.at_pages("2026-03-26 09:00", "NORTH:sales") as desk:
        send(desk, "give-notice", reference="letter 12")
    assert "claim-notice" not in alerts_of(life)
    at_gate, dent = life.record(BOX)["claims"]
    assert (at_gate["notice_given_on"], dent["notice_given_on"]) == ("2026-03-26", "2026-03-26")
    assert {at_gate["responsible"], dent["responsible"]} == {"Stonebridge Haulage"}
    with life.at_pages("2026-04-20 09:00", "NORTH:manager") as desk:
        send(desk, "close-2", outcome="paid", **{"amount:money": "180.00"})
        reason = "told twice: it is the same dent"
        assert "No claim stands open" in send(desk, "close-1", outcome="withdrawn", reason=reason)
    assert life.record(BOX)["claims"] == []
    paid = {"outcome": "paid", "amount": "180.00", "currency": "EUR"}
    assert life.ask("2026-04-20 09:10", "claim-closed", BOX, closes=dent["id"], **paid) == {
        "decision.no-such-claim"
    }
    life.ends_sound()


def send(desk: TestClient, form: str, **said: str) -> str:
    """Fill in a form of the page of claims and send it; return the page that follows."""
    path = f"/claims?unit={BOX}"
    answer = desk.post(path, data=form_of(desk.get(path).text, form) | said)
    assert answer.status_code == 303, answer.text
    return desk.get(answer.headers["location"]).text


def alerts_of(life: Life) -> list[str]:
    return [alert["kind"] for alert in life.record(BOX)["alerts"]]


def test_mending_that_is_overdue_is_mailed_and_no_more_once_it_is_done(life: Life) -> None:
    come_back(life)
    told = tell(life.mails_of(date(2026, 4, 1)))
    assert [text for text in told.values() if BOX in text and "2026-03-31" in text]
    life.say("2026-04-01 15:00", "repair", BOX)
    assert "repair-overdue" not in [alert["kind"] for alert in life.record(BOX)["alerts"]]
