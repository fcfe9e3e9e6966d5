"""Whether this process lives, and whether the whole can take events and give verdicts."""

from __future__ import annotations

from typing import Any

import psycopg
import sqlalchemy.exc
from fastapi import APIRouter, Response

from tracker.services import health
from tracker.web.access import open_to_all
from tracker.web.means import TheMeans

router = APIRouter(tags=["health"])


@router.get("/health")
@open_to_all
def get_health() -> dict[str, bool]:
    """Say that this process answers; looks at nothing else."""
    return {"ok": True}


@router.get("/ready")
@open_to_all
def get_ready(response: Response, means: TheMeans) -> dict[str, Any]:
    """Say whether events can be taken in, and how long the oldest one waits for its verdict.

    Without the database nothing can be: 503. Without the broker events are taken in all the same
    and judged when the sweep finds them, so that `broker` only tells.
    """
    broker = "unknown"
    if means.ping_broker is not None:
        broker = "up" if means.ping_broker() else "down"
    try:
        found = health.look(means.context)
    except (sqlalchemy.exc.SQLAlchemyError, psycopg.Error):
        response.status_code = 503
        return {"ready": False, "database": "down", "broker": broker}
    return {
        "ready": True,
        "database": "up",
        "broker": broker,
        "waiting": found.waiting,
        "oldest_waiting_s": found.oldest_waiting_s,
    }
