"""What each of the four people would do next, and on which page; only what is still to be done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from deploy.demo.boxes import Box
from deploy.demo.cast import Cast
from deploy.demo.house import BUYERS, MANAGER, SALES_DESK, TARN
from deploy.demo.trade_cast import NEW_BATCH, TradeCast
from shared.masses import write_kilograms
from tracker.services.context import Context
from tracker.services.orders_view import show_order
from tracker.services.sight import Sight
from tracker.services.unit_view import show_unit
from tracker.store import queries

_EVERYTHING = Sight(None)


@dataclass(frozen=True, slots=True)
class NextStep:
    """One thing to do: who, what in plain words, and the path of the page to do it on."""

    who: str
    says: str
    path: str


def list_next_steps(context: Context, cast: Cast) -> list[NextStep]:
    """Return what is to be done, by person, as the records are now."""
    return [
        *_gate(context, cast.trade),
        *_workshop(context, cast),
        *_sales(context, cast.trade),
        *_manager(context, cast),
    ]


def _gate(context: Context, cast: TradeCast) -> Iterator[NextStep]:
    who, box = f"{TARN.gate}, gate clerk", cast.next_on_order
    if _record(context, box)["presence"] == "in-depot":
        says = f"Report that {box.mark} has left: the manager let it pass, it is at the barrier."
        path = f"/gate/departure?mark={box.mark}&reference={cast.order_reference}"
        yield NextStep(who, says, path)
    if _record(context, cast.short)["presence"] == "expected":
        says = f"Look out for {cast.short.mark}, the one of batch {NEW_BATCH} that did not come."
        yield NextStep(who, says, "/gate")
    if "not-seen" in _alerts(context, cast.not_found):
        says = f"Look for {cast.not_found.mark} again, which the stock check did not find."
        yield NextStep(who, says, "/alerts")


def _workshop(context: Context, cast: Cast) -> Iterator[NextStep]:
    who, box = f"{TARN.workshop}, workshop", cast.trade.fitted
    record = _record(context, box)
    if record["repaint"]:
        says = f"Paint the tare of {box.mark} anew: it is {write_kilograms(record['tare_kg'])} now."
        yield NextStep(who, says, f"/workshop/unit?name={box.mark}")
    for damaged, why in (
        (cast.trade.taken_back, "it came back dented"),
        (cast.to_mend, "that is overdue"),
    ):
        if _record(context, damaged)["damages"]:
            yield NextStep(
                who, f"Mend {damaged.mark}: {why}.", f"/workshop/unit?name={damaged.mark}"
            )


def _sales(context: Context, cast: TradeCast) -> Iterator[NextStep]:
    who, box = f"{SALES_DESK}, sales desk", cast.kept
    if (kept := _record(context, box)["reservation"]) is not None:
        says = f"Ask {BUYERS[6]} about {box.mark}: its reservation ends on {kept['until'][:10]}."
        yield NextStep(who, says, f"/sales/deal?unit={box.mark}")
    order = show_order(context, _EVERYTHING, cast.order).order
    left = order["outstanding"] - sum(note["left"] for note in order["collection"])
    if left > 0:
        says = f"Release the rest of order {order['reference']}: {left} of {order['count']}."
        yield NextStep(who, says, "/orders")


def _manager(context: Context, cast: Cast) -> Iterator[NextStep]:
    who, box = f"{MANAGER}, manager", cast.trade.taken_back
    with context.engine.begin() as connection:
        asked = len(queries.list_questions(connection))
    if asked:
        yield NextStep(who, f"See that the open questions are answered: {asked}.", "/questions")
    open_claims = [one for one in _record(context, box)["claims"] if one["notice_given_on"] is None]
    if open_claims:
        says = f"Give notice of the damage on {box.mark} to {open_claims[0]['responsible']}."
        yield NextStep(who, says, f"/claims?unit={box.mark}")
    if "breach" in _alerts(context, cast.unreleased):
        says = f"Find out how {cast.unreleased.mark} could leave without release."
        yield NextStep(who, says, "/alerts")


def _record(context: Context, box: Box) -> dict[str, Any]:
    return show_unit(context, box.mark).record


def _alerts(context: Context, box: Box) -> set[str]:
    return {alert["kind"] for alert in _record(context, box)["alerts"]}
