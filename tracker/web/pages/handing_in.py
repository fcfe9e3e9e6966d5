"""Hand in what a form says, and wait a moment for what becomes of it."""

from __future__ import annotations

from typing import Any, Final
from uuid import UUID, uuid5

import orjson
from anyio import to_thread

from schemas.verdicts import Receipt
from shared.ids import new_id
from tracker.services import report
from tracker.services.actor import Person
from tracker.web.means import WebMeans

_WAIT_S: Final = 8.0


def sign(means: WebMeans, person: Person, event: dict[str, Any], form: object) -> None:
    """Give an event its id, its reporter, and the moment, where it names none.

    The id is of what the form says: the same for the same said twice, as by two taps. A form that
    comes back from the browser's memory and says something else is another event.
    """
    try:
        said = orjson.dumps(event, option=orjson.OPT_SORT_KEYS).decode()
        event["id"] = str(uuid5(UUID(str(form)), said))
    except ValueError:
        event["id"] = str(new_id())
    event.setdefault("happened_at", means.context.clock.now().isoformat())
    event |= {"reported_by": person.shown_as, "source": "page"}


async def hand_in(means: WebMeans, person: Person, body: bytes) -> Receipt:
    """Hand in an event; the receipt has its verdict if there is one within some seconds."""
    await to_thread.run_sync(means.backlog.check)
    (receipt,) = await to_thread.run_sync(means.taking_in.take, person, [body])
    if receipt.id is None or receipt.state not in ("waiting", "conflict"):
        return receipt
    # The id tells of the content, so that a conflict is the same said again, at a later moment.
    if receipt.state == "waiting" and not await means.waiter.wait(receipt.id, _WAIT_S):
        return receipt
    return await to_thread.run_sync(report.find_receipt, means.context, person, receipt.id)
