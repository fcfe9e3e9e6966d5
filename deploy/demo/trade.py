"""What is traded today: a batch comes in, work is done, boxes are released, one comes back."""

from __future__ import annotations

from typing import Any, Final

from deploy.demo import steps
from deploy.demo.boxes import Box
from deploy.demo.house import HAULIERS, MANAGER, SALES_DESK, TARN
from deploy.demo.incidents import Desk, Incident
from deploy.demo.reports import Report
from deploy.demo.trade_cast import NEW_BATCH, ORDERED, RELEASED, TradeCast
from shared.masses import write_kilograms

_LOUVRES: Final = 4
_GOOD: Final = ("left-side", "right-side", "front-end", "roof", "understructure", "floor", "marks")
_LABEL: Final = "a fumigation label"
_OTHER_HAULIER: Final = HAULIERS[1]


def tell_trade(desk: Desk, cast: TradeCast) -> list[Incident]:
    """Return the incidents in the order in which they are told."""
    return [
        _batch(desk, cast),
        _inspected(desk, cast.arriving[0]),
        _fitted(desk, cast),
        _on_order(desk, cast),
        _exported(desk, cast),
        _taken_back(desk, cast.taken_back),
    ]


def _batch(desk: Desk, cast: TradeCast) -> Incident:
    came = tuple(
        desk.gate_in(
            TARN,
            box,
            160 - 5 * number,
            batch=NEW_BATCH,
            slot=f"H{number + 1}-1",
            outside_looked_at="yes",
            placards=_LABEL if box is cast.arriving[0] else None,
        )
        for number, box in enumerate((*cast.arriving, cast.stranger))
    )
    return Incident(
        "A batch, one short and one unexpected",
        f"Four boxes of batch {NEW_BATCH} were announced to {TARN.name}. Three came; "
        f"{cast.short.mark} did not, and {cast.stranger.mark} came that nobody had announced. All "
        "that arrived is recorded, and the shortage report names both.",
        (f"hardstand batch {NEW_BATCH}",),
        (came,),
    )


def _inspected(desk: Desk, box: Box) -> Incident:
    damage = _on_lorry("RB2N", "side-panel", 45, "when-convenient")
    seen = _inspection(
        desk,
        box,
        110,
        condition="wind-and-watertight",
        answers={item: {"found": "good"} for item in _GOOD} | {"right-side": {"found": "damaged"}},
        gas={
            "ventilated_by": TARN.workshop,
            "tested_by": TARN.workshop,
            "result": "clear",
            "entered": True,
            "labels_off": True,
        },
        light_test={"by": TARN.workshop, "second_person": TARN.gate, "daylight_seen": False},
        damages=[damage],
    )
    return Incident(
        "An inspection, the air first",
        f"{box.mark} had come with {_LABEL}. It was aired and its air tested before anybody went "
        "in, the label came off, and its checklist was answered. A dent had been there on the "
        f"lorry: {HAULIERS[2]} answers for it, and the claim names the last day for notice.",
        (f"hardstand unit {box.mark}",),
        ((), (seen,)),
    )


def _fitted(desk: Desk, cast: TradeCast) -> Incident:
    box = cast.fitted
    louvres = {
        "work": "louvre-vent",
        "count": _LOUVRES,
        "mass_kg": steps.LOUVRE_VENT_KG,
        "cut_out_kg": steps.LOUVRE_CUT_OUT_KG,
    }
    gained = steps.LOCK_BOX_KG + _LOUVRES * (steps.LOUVRE_VENT_KG - steps.LOUVRE_CUT_OUT_KG)
    done = desk.fact(
        TARN,
        box.mark,
        "modification",
        95,
        reported_by=TARN.workshop,
        order=cast.work_order,
        fittings=[{"work": "lock-box", "mass_kg": steps.LOCK_BOX_KG}, louvres],
        approval_effect="ask",
        weighed_tare_kg=box.tare_kg + gained,
    )
    return Incident(
        "Work that changes the tare",
        f"A lock box and {_LOUVRES} louvre vents were ordered from the catalogue for {box.mark} "
        f"and fitted. It weighs {write_kilograms(gained)} more than its doors say, so they are to "
        "be painted anew; and since panels were cut, the approving body is to be asked.",
        (f"hardstand unit {box.mark}",),
        ((done,),),
    )


def _on_order(desk: Desk, cast: TradeCast) -> Incident:
    asked = {"mark": cast.next_on_order.mark, "reference": cast.order_reference}
    asked |= {"haulier": _OTHER_HAULIER}
    turned_away = desk.decision(TARN, TARN.gate, "clearance", **asked)
    reason = f"{HAULIERS[0]} rang: their lorry broke down, {_OTHER_HAULIER} drives for them"
    let_pass = desk.decision(TARN, MANAGER, "clearance", **asked, override_reason=reason)
    return Incident(
        "Six of a kind, and another haulier",
        f"{ORDERED} of 20 ft, cargo-worthy, were sold by description; {RELEASED} were released on "
        f"one collection reference and {len(cast.collected)} of them collected. Today "
        f"{_OTHER_HAULIER} asked for the third on the reference of {HAULIERS[0]}, and was refused; "
        "the manager let it pass with a reason, and both are kept.",
        (f"hardstand order {cast.order}", f"hardstand unit {cast.next_on_order.mark}"),
        ((turned_away,), (let_pass,)),
    )


def _exported(desk: Desk, cast: TradeCast) -> Incident:
    box = cast.exported
    too_soon, at_last = (
        desk.decision(TARN, SALES_DESK, "release", mark=box.mark, haulier=HAULIERS[0])
        for _ in range(2)
    )
    plate = box.plate() | {"photo": cast.plate_photo}
    photographed = _inspection(desk, box, 5, plate=plate)
    return Incident(
        "An export that waits for its plate",
        f"{box.mark} is sold for export, but nobody had photographed its plate: the release was "
        "refused. The workshop took the photo, its plate pack was complete, and it was released.",
        (f"hardstand pack {box.mark}", f"hardstand unit {box.mark}"),
        ((too_soon,), (photographed,), (at_last,)),
    )


def _taken_back(desk: Desk, box: Box) -> Incident:
    back = desk.gate_in(
        TARN,
        box,
        75,
        purpose="take-back",
        haulier=HAULIERS[2],
        damage_on_lorry="left door dented",
        signature_refused="says that it was there before",
    )
    damage = _on_lorry("DB1N", "door-panel", 60, "before-release")
    seen = _inspection(desk, box, 60, condition="as-is", damages=[damage])
    closed = desk.decision(
        TARN,
        MANAGER,
        "claim-closed",
        mark=box.mark,
        closes=str(back.id),
        outcome="withdrawn",
        reason="the inspection told the same dent once more, and measured it",
    )
    return Incident(
        "A box taken back, with damage",
        f"{box.mark} came back from its buyer with a dented door. The driver would not sign; the "
        "refusal stands on the receipt, the claim against his firm is open, and the door is to be "
        "mended before the box is released again. The gate and the inspection had claimed the same "
        "dent; the manager closed the one that nobody had measured.",
        (f"hardstand unit {box.mark}",),
        ((back,), (seen,), (closed,)),
    )


def _inspection(desk: Desk, box: Box, minutes_ago: int, /, **found: Any) -> Report:  # noqa: ANN401 - fields of an inspection
    read = {"plate": box.plate(), "masses": box.masses(), "reported_by": TARN.workshop}
    return desk.fact(TARN, box.mark, "inspection", minutes_ago, **read | found)


def _on_lorry(place: str, component: str, measured_mm: int, urgency: str) -> dict[str, Any]:
    """Return a dent that was there before the box was lifted off."""
    told = {"place": place, "component": component, "kind": "dented", "measured_mm": measured_mm}
    return told | {"urgency": urgency, "on_lorry": True, "responsible": HAULIERS[2]}
