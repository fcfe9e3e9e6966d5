"""What falls due, and breaches."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import Field

from schemas.base import Model, Text
from tracker.services import alerts_desk, sight
from tracker.services.actor import Scope
from tracker.services.alerts_desk import AlertName
from tracker.store.alerts import AlertFilter, as_values
from tracker.web.access import EVERY_ROLE, TheActor, ThePerson, needs
from tracker.web.api.stock import Word
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/alerts", tags=["alerts"])


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_alerts(
    means: TheMeans,
    actor: TheActor,
    depot: Word = None,
    size: Annotated[int, Query(ge=1, le=1000)] = 500,
) -> list[dict[str, Any]]:
    """Return open alerts with the mark of their unit, the soonest due first."""
    return sight.list_alerts(means.context, sight.sight_of(actor), AlertFilter(depot), size=size)


class Acknowledgement(Model):
    """Which alerts are being seen to, and what is done about them."""

    unit: Text
    """Any mark it ever bore, its tag, or its id."""
    kind: Text
    cause: Text | None = None
    """Which of several; left out, all of the kind about the unit."""
    reason: Text


class PuttingOff(Acknowledgement):
    """Which alerts are to be told of again on a day, and why not before."""

    until: Annotated[date, Field(strict=False)]


@router.post("/acknowledge")
@needs(*EVERY_ROLE)
def post_acknowledge(
    said: Acknowledgement, means: TheMeans, person: ThePerson
) -> list[dict[str, Any]]:
    """Let alerts stand without further reminders; for whose they are, or a manager."""
    answered = alerts_desk.acknowledge(
        means.context,
        AlertName(said.unit, said.kind, said.cause),
        by=person.shown_as,
        reason=said.reason,
        actor=person,
    )
    return [as_values(row) for row in answered]


@router.post("/put-off")
@needs(*EVERY_ROLE)
def post_put_off(said: PuttingOff, means: TheMeans, person: ThePerson) -> list[dict[str, Any]]:
    """Tell no more of alerts until a day; for whose they are, or a manager."""
    answered = alerts_desk.put_off(
        means.context,
        AlertName(said.unit, said.kind, said.cause),
        until=said.until,
        by=person.shown_as,
        reason=said.reason,
        actor=person,
    )
    return [as_values(row) for row in answered]
