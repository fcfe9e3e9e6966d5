"""What happens to a box in the ordinary course of business, one function per step.

Each step holds to the rules: masses are painted anew after a fitting, a box is released before it
leaves. So nothing here gives rise to a question; those are today's.
"""

from __future__ import annotations

from datetime import timedelta
from random import Random
from typing import Any, Final

from deploy.demo import house
from deploy.demo.house import BUYERS, HAULIERS, HOUSE, MANAGER, SALES_DESK
from deploy.demo.life import Life
from shared.months import Month
from shared.plates import next_examination_due

LOCK_BOX_KG: Final = 9
LOUVRE_VENT_KG: Final = 3
LOUVRE_CUT_OUT_KG: Final = 1
"""As the catalogue has them."""
_DAMAGES: Final = (
    {"place": "LB2N", "component": "side-panel", "kind": "dented", "measured_mm": 40},
    {"place": "DB3N", "component": "door-gasket", "kind": "cut", "measured_mm": 300},
    {"place": "UL2N", "component": "cross-member", "kind": "bent", "measured_mm": 20},
)


def announce(life: Life, batch: str, supplier: str) -> None:
    """The supplier says that it comes."""
    box = life.box
    life.fact(
        "pre-advice",
        SALES_DESK,
        batch=batch,
        supplier=supplier,
        size_type=box.size_type,
        manufactured_in=str(box.made),
        colour=box.colour,
        provenance=box.provenance,
        source="file",
    )


def arrive(life: Life, chance: Random, batch: str | None = None) -> None:
    """It comes in at the gate; the masses are sometimes left for the inspector."""
    read = chance.random() < 0.7
    life.fact(
        "gate-in",
        life.depot.gate,
        batch=batch,
        size_type=life.box.size_type,
        masses=life.box.masses() if read else None,
        slot=some_slot(chance),
        haulier=chance.choice(HAULIERS),
        source="phone",
    )


def inspect(life: Life, **found: Any) -> str:  # noqa: ANN401 - fields of an inspection
    """The workshop reads doors and plate, and grades it; return the id of the inspection."""
    box = life.box
    grade = "cargo-worthy" if box.provenance == "one-trip" else "wind-and-watertight"
    plate = box.plate() if life.plate_photo is None else box.plate() | {"photo": life.plate_photo}
    read: dict[str, Any] = {"masses": box.masses(), "plate": plate, "source": "phone"}
    return str(life.fact("inspection", life.depot.workshop, **read | {"condition": grade} | found))


def acquire(life: Life, batch: str) -> None:
    """Title passes to the house."""
    life.decision(
        "acquisition",
        MANAGER,
        owner=HOUSE,
        title_evidence=f"bill of sale, batch {batch}",
        title_passed_on=life.day.isoformat(),
        customs="free-circulation",
        customs_entry=f"ENTRY {batch}",
    )


def examine(life: Life) -> None:
    """An examiner comes, since the last owner's programme did not come along."""
    due = next_examination_due(Month.of(life.day))
    life.fact(
        "examination",
        life.depot.workshop,
        passed=True,
        by="Ottoline Examiners",
        next_examination=str(due),
    )


def find_and_mend(life: Life, chance: Random) -> None:
    """A second look finds damage, and it is mended in time."""
    damage = dict(chance.choice(_DAMAGES))
    mend_by = (life.day + timedelta(days=30)).isoformat()
    found = inspect(life, damages=[damage | {"urgency": "before-release", "mend_by": mend_by}])
    life.wait(chance.randint(3, 9))
    life.fact("repair", life.depot.workshop, damages=[f"{found}/1"])


def hold_for_a_while(life: Life, chance: Random) -> None:
    """Somebody stops it, and lifts the hold again on evidence."""
    workshop = life.depot.workshop
    held = life.decision("hold", workshop, hold="do-not-enter", reason="smells of something inside")
    life.wait(chance.randint(1, 4))
    evidence = "aired with both doors open for a day, gas tested, nothing found"
    life.decision("hold-cleared", workshop, clears=str(held), evidence=evidence)


def restow(life: Life, chance: Random) -> None:
    """The yard moves it."""
    life.fact("restow", life.depot.gate, slot=some_slot(chance), source="phone")


def count(life: Life) -> None:
    """The stock is counted, and it is there."""
    life.fact("sighting", life.depot.gate, source="phone")


def fit_lock_box(life: Life) -> int:
    """A lock box is ordered, fitted, and the doors are painted anew; return the tare in kg."""
    order = order_work(life, {"lock-box": 1})
    tare_kg = life.box.tare_kg + LOCK_BOX_KG
    fitted = {"work": "lock-box", "mass_kg": LOCK_BOX_KG}
    life.fact("modification", life.depot.workshop, fittings=[fitted], order=order)
    _repaint(life, tare_kg)
    return tare_kg


def fit_louvre_vents(life: Life) -> None:
    """Four louvre vents are cut in; the approving body is asked, so it is sold for storage only."""
    order = order_work(life, {"louvre-vent": 4})
    fitted = {
        "work": "louvre-vent",
        "count": 4,
        "mass_kg": LOUVRE_VENT_KG,
        "cut_out_kg": LOUVRE_CUT_OUT_KG,
    }
    tare_kg = life.box.tare_kg + 4 * (LOUVRE_VENT_KG - LOUVRE_CUT_OUT_KG)
    life.fact(
        "modification",
        life.depot.workshop,
        fittings=[fitted],
        order=order,
        approval_effect="ask",
        weighed_tare_kg=tare_kg,
    )
    _repaint(life, tare_kg)


def move_depot(life: Life, chance: Random) -> None:
    """It goes over to the other depot."""
    there = house.other(life.depot)
    send_over(life)
    life.depot = there
    life.wait(1)
    life.fact(
        "gate-in", there.gate, purpose="transfer", slot=some_slot(chance), haulier=HAULIERS[0]
    )


def send_over(life: Life) -> None:
    """It leaves for the other depot."""
    there = house.other(life.depot)
    life.fact(
        "gate-out",
        life.depot.gate,
        purpose="transfer",
        to_depot=there.code,
        haulier=HAULIERS[0],
        source="phone",
    )


def reserve(life: Life, chance: Random) -> str:
    """A buyer asks to have it kept; return who."""
    buyer = chance.choice(BUYERS)
    until = f"{life.day + timedelta(days=21)}T16:00:00+00:00"
    life.decision("reservation", SALES_DESK, buyer=buyer, until=until)
    return buyer


def sell(life: Life, chance: Random, use: str, buyer: str | None = None) -> str:
    """It is sold and paid; return its collection reference."""
    reference = f"C{chance.randrange(10**7):07d}"
    life.decision(
        "sale",
        SALES_DESK,
        buyer=buyer or chance.choice(BUYERS),
        intended_use=use,
        reference=f"S-{reference[1:5]}",
        price=f"{chance.randrange(900, 5200, 25)}.00",
        currency="EUR",
        paid=True,
        journey_ends_on=(life.day + timedelta(days=45)).isoformat() if use == "export" else None,
    )
    return reference


def collect(life: Life, chance: Random, reference: str, proof: str | None = None) -> None:
    """It is released, asked for at the barrier, and leaves; `proof` that it left the country."""
    haulier = chance.choice(HAULIERS)
    expires_at = f"{life.day + timedelta(days=30)}T16:00:00+00:00"
    life.decision(
        "release", SALES_DESK, reference=reference, haulier=haulier, expires_at=expires_at
    )
    life.wait(chance.randint(1, 5))
    life.decision("clearance", life.depot.gate, reference=reference, source="phone")
    life.fact("gate-out", life.depot.gate, reference=reference, haulier=haulier, source="phone")
    life.wait(1)
    life.fact("delivery", SALES_DESK, outcome="delivered", proof_of_export=proof)


def scrap(life: Life) -> None:
    """It is beyond mending."""
    inspect(life, condition="scrap")
    life.wait(5)
    life.fact("disposal", MANAGER, manner="scrapped")


def some_slot(chance: Random) -> str:
    """Return a place on the ground: row, stack and tier."""
    return f"{chance.choice('ABCDEFGH')}{chance.randint(1, 24)}-{chance.randint(1, 3)}"


def order_work(life: Life, lines: dict[str, int]) -> str:
    """Work from the catalogue is ordered, so many pieces of each; return the id of the order."""
    due_on = (life.day + timedelta(days=21)).isoformat()
    told = [{"work": work, "count": pieces} for work, pieces in lines.items()]
    order = life.decision("work-order", SALES_DESK, lines=told, due_on=due_on)
    life.wait(2)
    return str(order)


def _repaint(life: Life, tare_kg: int) -> None:
    painted = life.box.masses(tare_kg=tare_kg)
    life.fact("marking", life.depot.workshop, action="repainted", masses=painted)
