"""The boxes of the day's trade: a batch, an order by quantity, work, export, a box taken back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from deploy.demo import steps
from deploy.demo.boxes import Box
from deploy.demo.house import BUYERS, HAULIERS, QUAY, SALES_DESK, TARN
from deploy.demo.life import Life, working_day_before
from deploy.demo.stage import BATCH, Stage

NEW_BATCH: Final = "B-200"
ORDERED: Final = 6
RELEASED: Final = 4
MISSED_SLOT: Final = "E5-1"
SEEN_SLOT: Final = "E7-2"


@dataclass(frozen=True, slots=True)
class TradeCast:
    """The boxes by their part, and the ids that today's reports and tellings refer to."""

    arriving: tuple[Box, ...]
    short: Box
    stranger: Box
    fitted: Box
    work_order: str
    order: str
    order_reference: str
    collected: tuple[Box, ...]
    next_on_order: Box
    kept: Box
    exported: Box
    plate_photo: str
    taken_back: Box
    not_found: Box
    misplaced: Box


def make_trade_cast(stage: Stage) -> TradeCast:
    """Return the boxes of the day's trade, and leave with the stage what was reported of them."""
    fitted = stage.in_stock(TARN, 25)
    fitted.day = working_day_before(stage.today, 5)
    work_order = steps.order_work(fitted, {"lock-box": 1, "louvre-vent": 4})
    order, reference, collected = _six_ordered(stage)
    exported, photo = _sold_for_export(stage)
    return TradeCast(
        arriving=tuple(stage.expected(TARN, 9, NEW_BATCH) for _ in range(3)),
        short=stage.expected(TARN, 9, NEW_BATCH),
        stranger=stage.unheard_of(TARN),
        fitted=stage.done(fitted),
        work_order=work_order,
        order=order,
        order_reference=reference,
        collected=collected,
        next_on_order=stage.done(stage.in_stock(TARN, 60)),
        kept=_kept(stage),
        exported=exported,
        plate_photo=photo,
        taken_back=_taken_back(stage),
        not_found=_in_known_slot(stage),
        misplaced=_in_known_slot(stage),
    )


def _six_ordered(stage: Stage) -> tuple[str, str, tuple[Box, ...]]:
    """Six are ordered by description, four released, and two collected on the same day."""
    lives = [stage.in_stock(TARN, 60) for _ in range(2)]
    for life in lives:
        life.day = working_day_before(stage.today, 8)
    desk, reference = lives[0], f"C{stage.chance.randrange(10**7):07d}"
    order = str(
        desk.decision(
            "order",
            SALES_DESK,
            mark=None,
            buyer=BUYERS[7],
            description={"length_ft": 20, "conditions": ["cargo-worthy"]},
            count=ORDERED,
            reference="CR-6",
            price_each="1450.00",
            currency="EUR",
            paid=True,
        )
    )
    for life in lives:
        life.wait(1)
    released = {"order": order, "count": RELEASED, "reference": reference}
    desk.decision("release", SALES_DESK, mark=None, haulier=HAULIERS[0], **released)
    for life in lives:
        life.wait(1)
        shown = {"reference": reference, "haulier": HAULIERS[0]}
        life.decision("clearance", TARN.gate, **shown)
        life.fact("gate-out", TARN.gate, **shown)
    return order, reference, tuple(map(stage.done, lives))


def _kept(stage: Stage) -> Box:
    """A box that is reserved until tomorrow."""
    life = stage.in_stock(QUAY, 45)
    life.day = working_day_before(stage.today, 10)
    until = f"{stage.today + timedelta(days=1)}T16:00:00+00:00"
    life.decision("reservation", SALES_DESK, buyer=BUYERS[6], until=until)
    return stage.done(life)


def _sold_for_export(stage: Stage) -> tuple[Box, str]:
    """A box that is sold for export, and whose plate was read but never photographed."""
    life = stage.arrived(TARN, 28)
    steps.inspect(life)
    steps.acquire(life, BATCH)
    life.day = working_day_before(stage.today, 1)
    steps.sell(life, stage.chance, "export", BUYERS[3])
    return stage.done(life), stage.camera(life.box)


def _taken_back(stage: Stage) -> Box:
    """A box that was collected, and is taken back from its buyer; it is on its way here."""
    life = stage.in_stock(TARN, 65)
    life.wait(2)
    steps.collect(life, stage.chance, steps.sell(life, stage.chance, "storage", BUYERS[1]))
    life.day = working_day_before(stage.today, 3)
    life.wait(0)
    life.decision("take-back", SALES_DESK, reason="exchanged for a larger one")
    return stage.done(life)


def _in_known_slot(stage: Stage) -> Box:
    life: Life = stage.in_stock(TARN, 55)
    life.wait(2)
    life.fact("restow", TARN.gate, slot=MISSED_SLOT, source="phone")
    return stage.done(life)
