"""Whether this process lives, and whether the whole can take events and give verdicts."""

from __future__ import annotations

from typing import Any, Final

import psycopg
import sqlalchemy.exc
from fastapi import APIRouter, Response

from tracker.services import health
from tracker.services.actor import Role, Scope
from tracker.web import exposition
from tracker.web.access import needs, open_to_all
from tracker.web.means import TheMeans, WebMeans

router = APIRouter(tags=["health"])

_BROKER_IN_WORDS: Final = {None: "unknown", True: "up", False: "down"}
_SAYS: Final[dict[int | str, dict[str, Any]]] = {
    200: {"content": {"text/plain": {"schema": {"type": "string"}}}}
}


@router.get("/health")
@open_to_all
def get_health() -> dict[str, bool]:
    """Say that this process answers; looks at nothing else."""
    return {"ok": True}


@router.get("/ready")
@open_to_all
def get_ready(response: Response, means: TheMeans) -> dict[str, Any]:
    """Say whether events can be taken in, and how long the oldest one waits for its verdict.

    Without the database nothing can be, nor where it did not take the last events that this
    process had for it, as on a full disk (`taking_in`): 503. Without the broker events are taken in
    all the same and judged when the sweep finds them, so that `broker` only tells. `must_rebuild`:
    the records were made by a former version of the fold, and `hardstand rebuild` makes them anew
    meanwhile.
    """
    broker = _BROKER_IN_WORDS[_ask_broker(means)]
    try:
        found = health.look(means.context)
    except (sqlalchemy.exc.SQLAlchemyError, psycopg.Error):
        response.status_code = 503
        return {"ready": False, "database": "down", "broker": broker}
    ready = not means.taking_in.is_failing
    if not ready:
        response.status_code = 503
    return {
        "ready": ready,
        "database": "up",
        "taking_in": ready,
        "broker": broker,
        "waiting": found.waiting,
        "oldest_waiting_s": found.oldest_waiting_s,
        "must_rebuild": found.must_rebuild,
    }


@router.get("/metrics", response_class=Response, responses=_SAYS)
@needs(Role.MANAGER, scope=Scope.READ)
def get_metrics(means: TheMeans) -> Response:
    """Return what an operator watches, for Prometheus; a 503 while the database is away."""
    measured, now = health.measure(means.context), means.context.clock.now()
    failing = means.taking_in.is_failing
    text = exposition.expose(measured, now, broker=_ask_broker(means), failing=failing)
    return Response(text, headers={"Content-Type": exposition.MEDIA_TYPE})


def _ask_broker(means: WebMeans) -> bool | None:
    return None if means.ping_broker is None else means.ping_broker()
