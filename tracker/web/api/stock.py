"""The stock, searched and read page by page, each page beginning after the last unit before it."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Final, Literal
from uuid import UUID

from fastapi import APIRouter, Depends, Query

from schemas.records import MarkState, Presence
from tracker.services import sight
from tracker.services.actor import Scope
from tracker.store.queries import StockFilter, StockKey
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.means import TheMeans
from tracker.web.request_errors import BadRequestError

router = APIRouter(prefix="/api/stock", tags=["stock"])

_PLAIN: Final = r"^[^\x00]*$"
Word = Annotated[str | None, Query(max_length=40, pattern=_PLAIN)]
After = Annotated[
    str | None, Query(max_length=120, pattern=_PLAIN, description="`next` of the page before.")
]


class PageKeyError(BadRequestError):
    """A text is no place in the stock; carries it."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(
            f"{text!r} is no place in the stock",
            expected="the `next` of the page before, as it was given",
        )


def read_filter(  # noqa: PLR0913 - one argument per field that can be asked for
    *,
    depot: Word = None,
    presence: Presence | None = None,
    size_type: Word = None,
    condition: Word = None,
    stands: Literal["free", "reserved", "sold", "released"] | None = None,
    mark_state: MarkState | None = None,
    with_questions: bool | None = None,
    examination_before: date | None = None,
    mark_begins: Word = None,
    digits: Annotated[str | None, Query(pattern=r"^[0-9]{0,7}$")] = None,
) -> StockFilter:
    """Return what to list, from the query of a request; a field left empty filters nothing."""
    return StockFilter(
        depot=depot or None,
        presence=presence,
        size_type=size_type or None,
        condition=condition or None,
        stands=stands,
        mark_state=mark_state,
        with_questions=with_questions,
        examination_before=examination_before,
        mark_begins=mark_begins or None,
        digits=digits or None,
    )


WantedStock = Annotated[StockFilter, Depends(read_filter)]


def read_key(text: str | None) -> StockKey | None:
    """Read the place where the page before ended; raises `PageKeyError`."""
    if text is None:
        return None
    mark, _, unit_id = text.rpartition("~")
    try:
        return StockKey(mark, UUID(unit_id))
    except ValueError:
        raise PageKeyError(text) from None


def key_after(page: list[dict[str, Any]], size: int) -> str | None:
    """Return where the next page begins, None when this was the last."""
    if len(page) < size:
        return None
    return f"{page[-1]['mark'] or ''}~{page[-1]['unit_id']}"


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_stock(
    means: TheMeans,
    actor: TheActor,
    wanted: WantedStock,
    after: After = None,
    size: Annotated[int, Query(ge=1, le=1000)] = 100,
) -> dict[str, Any]:
    """Return units by mark, and in `next` where the page after this one begins."""
    seen = sight.sight_of(actor)
    page = sight.list_stock(means.context, seen, wanted, after=read_key(after), size=size)
    return {"units": page, "next": key_after(page, size)}
