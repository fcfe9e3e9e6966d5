"""Look at the catalogue of work, change it, and take work out of it."""

from __future__ import annotations

from typing import Final

from schemas.work_items import ListedWork, WorkTerms
from shared.errors import HardstandError
from shared.table_files import Certainty
from shared.work import ApprovalEffect, WorkItem
from tracker.services.context import Context
from tracker.store import work_items

SOURCE: Final = "the house's own figures"


class WorkUnknownError(HardstandError):
    """The catalogue has no such work; carries its name."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(
            f"The catalogue has no work called {name!r}",
            expected="a name as the catalogue lists it",
            remedy="Look it up in the list",
        )


def list_work(context: Context) -> list[ListedWork]:
    """Return all work that the house does: the shipped set first, then what it added, by name."""
    with context.engine.begin() as connection:
        return [_listed(item) for item in work_items.catalogue(connection).values()]


def list_terms(context: Context) -> list[tuple[ListedWork, WorkTerms]]:
    """Return all work as it is listed, each with its terms as they are written down."""
    with context.engine.begin() as connection:
        items = work_items.catalogue(connection).values()
        return [(_listed(item), _terms(item)) for item in items]


def find_terms(context: Context, name: str) -> WorkTerms | None:
    """Return what the house says of one piece of work; None when it does not do it."""
    with context.engine.begin() as connection:
        item = work_items.catalogue(connection).get(name)
    return None if item is None else _terms(item)


def put(context: Context, name: str, terms: WorkTerms) -> ListedWork:
    """Let the catalogue say so of one piece of work, whether or not it has it; return it as listed.

    What is judged from now on goes by it; what was judged stays.
    """
    said = terms.model_dump()
    if said["approval_effect"] is None:
        said["approval_effect"] = ApprovalEffect.ASK if terms.cuts else ApprovalEffect.NONE
    item = WorkItem(name=name, **said, source=SOURCE, certainty=Certainty.PRACTICE)
    with context.engine.begin() as connection:
        work_items.put(connection, item)
    return _listed(item)


def remove(context: Context, name: str) -> None:
    """Take work out of the catalogue; histories that name it stay as they are.

    Raises:
        WorkUnknownError: the catalogue has none of that name.
    """
    with context.engine.begin() as connection:
        item = work_items.catalogue(connection).get(name)
        if item is None:
            raise WorkUnknownError(name)
        work_items.put(connection, item, withdrawn=True)


def _terms(item: WorkItem) -> WorkTerms:
    return WorkTerms(**{name: getattr(item, name) for name in WorkTerms.model_fields})


def _listed(item: WorkItem) -> ListedWork:
    said = {name: getattr(item, name) for name in ListedWork.model_fields}
    return ListedWork(**said | {"caution": item.caution_words})
