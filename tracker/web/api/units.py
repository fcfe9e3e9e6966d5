"""One unit: its record, its history, and whether it may leave."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query
from fastapi.responses import StreamingResponse

from schemas.base import Moment
from tracker.services import sight, spreadsheets
from tracker.services.actor import Scope
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.api.downloads import csv_answer
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/units", tags=["units"])

UnitName = Annotated[
    str,
    Path(
        max_length=80,
        description="A mark it bears or ever bore, a tag such as `#NORTH/T-12`, or its id.",
    ),
]


@router.get("/{mark:path}/may-leave")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_may_leave(
    mark: UnitName,
    means: TheMeans,
    actor: TheActor,
    reference: Annotated[
        str | None, Query(max_length=200, description="The collection reference the driver names.")
    ] = None,
    haulier: Annotated[str | None, Query(max_length=200, description="Whose lorry it is.")] = None,
) -> dict[str, Any]:
    """Say whether a unit may pass the barrier now, with everything that stands against it.

    `cleared` says that the barrier has let it pass already; until then a clearance does.
    """
    seen = sight.sight_of(actor)
    leave = sight.may_leave(means.context, seen, mark, reference=reference, haulier=haulier)
    return {
        "mark": leave.mark,
        "unit_id": leave.unit_id,
        "may_leave": leave.is_given,
        "cleared": leave.is_cleared,
        "findings": [finding.model_dump(mode="json") for finding in leave.findings],
    }


@router.get("/{mark:path}/history.csv", response_class=StreamingResponse)
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_history_csv(mark: UnitName, means: TheMeans, actor: TheActor) -> StreamingResponse:
    """Return a unit's whole history as CSV, as far as it may be seen; `said` is JSON."""
    view = sight.show(means.context, sight.sight_of(actor), mark)
    return csv_answer(spreadsheets.history_csv(view), f"{mark}-history")


@router.get("/{mark:path}")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_unit(
    mark: UnitName,
    means: TheMeans,
    actor: TheActor,
    as_of: Annotated[Moment | None, Query(description="What was true then.")] = None,
    known_at: Annotated[Moment | None, Query(description="What we knew then.")] = None,
) -> dict[str, Any]:
    """Return a unit's record and whole history, as far as it may be seen.

    `apart` lists what was handed in about it and waits for a verdict, or is held.
    """
    seen = sight.sight_of(actor)
    view = sight.show(means.context, seen, mark, as_of=as_of, known_at=known_at)
    return {
        "unit_id": view.unit_id,
        "record": view.record,
        "history": view.history,
        "apart": view.apart,
    }
