"""Write the release note of a collection reference on an order by quantity."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

import orjson

from schemas.findings import Severity
from schemas.orders import load_order
from shared import marks as marks_of
from shared.errors import HardstandError
from tracker.judge.orders import hinders_note
from tracker.judge.subject import reference_subject
from tracker.papers.collection_note import CollectionPaper, Gone
from tracker.papers.particulars import Issue
from tracker.services import paper_values
from tracker.services.context import Context
from tracker.services.orders_view import OrderView, described, show_order
from tracker.services.sight import Sight
from tracker.store import marks, orders


class ReferenceUnknownError(HardstandError):
    """No order has given this collection reference; carries what it was asked by."""

    def __init__(self, named: str) -> None:
        self.named = named
        super().__init__(
            f"No order has given the collection reference {named!r}",
            expected="a reference that an order by quantity has given",
            remedy="A unit's own release has its note with the unit: ask for that by its mark",
        )


def collection_note_of(
    context: Context, sight: Sight, order_id: str, note_id: str
) -> CollectionPaper:
    """Return the note of a reference, named by the event that gave it.

    Raises:
        OrderUnknownError: there is no such order at a depot of theirs.
        ReferenceUnknownError: the order gave no such reference.
    """
    view = show_order(context, sight, order_id)
    found = next((one for one in view.order["collection"] if one["id"] == note_id), None)
    if found is None:
        raise ReferenceUnknownError(note_id)
    return _paper(context, view, found)


def collection_note_by(context: Context, sight: Sight, reference: str) -> CollectionPaper:
    """Return the note of a reference, however it is written; raises as `collection_note_of`."""
    subject = reference_subject(reference)
    with context.engine.begin() as connection:
        means = marks.resolve(connection, [subject])
        order_id = means.get(subject)
        known = order_id is not None and orders.depots_of(connection, [order_id])
    if order_id is None or not known:
        raise ReferenceUnknownError(reference)
    view = show_order(context, sight, str(order_id))
    wanted = marks_of.normalise(reference)
    for one in view.order["collection"]:
        if marks_of.normalise(one["reference"]) == wanted:
            return _paper(context, view, one)
    raise ReferenceUnknownError(reference)


def _paper(context: Context, view: OrderView, note: dict[str, Any]) -> CollectionPaper:
    order = load_order(orjson.dumps(view.order))
    kept = next(one for one in order.collection if one.id == note["id"])
    found = hinders_note(order, kept, context.clock.now())
    against = tuple(one.message for one in found if one.severity is Severity.REFUSE)
    return CollectionPaper(
        issue=_issue(context, view, None if against else kept.reference),
        reference=kept.reference,
        order=order.reference or order.order_id,
        buyer=order.buyer,
        wanted=described(order.description),
        intended_use=view.order["intended_use"],
        handover=view.order["handover"],
        units=kept.count,
        used=kept.used,
        gone=tuple(_gone(view, kept.reference)),
        haulier=kept.haulier,
        collector=kept.collector,
        expires_at=None if kept.expires_at is None else datetime.fromisoformat(kept.expires_at),
        against=against,
    )


def _gone(view: OrderView, reference: str) -> Iterator[Gone]:
    """Give the units that went on a reference and were not returned, in the order they went."""
    names = {one["unit_id"]: one["mark"] or one["tag"] for one in view.order["units"]}
    went: dict[str, datetime] = {}
    for row in view.history:
        resolved = row["resolved"]
        if resolved.get("reference") != reference:
            continue
        # A unit that was returned may go again, and on another reference.
        if unit := resolved.get("returns"):
            went.pop(unit, None)
        elif row["kind"] == "clearance":
            went[resolved["allots"]] = datetime.fromisoformat(row["effective_at"])
    for unit, at in went.items():
        yield Gone(name=names.get(unit) or unit, at=at)


def _issue(context: Context, view: OrderView, reference: str | None) -> Issue:
    """Return who writes it; its code opens the gate's page with the reference, while it is good."""
    named = paper_values.depot_named(context, view.order["depot"])
    last = view.history[-1]
    asked = urlencode({"reference": reference})
    page = f"/orders/{view.order['order_id']}" if reference is None else f"/gate/departure?{asked}"
    return Issue(
        depot=named["name"],
        at=context.clock.now(),
        zone=named["zone"],
        address=f"{context.settings.public_address.rstrip('/')}{page}",
        history_digest=last["digest"],
        history_seq=last["seq"],
    )
