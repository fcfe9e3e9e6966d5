"""Who is signed in, and the token that what they send must carry."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request

from tracker.services.actor import Person, Scope
from tracker.web import csrf
from tracker.web.access import COOKIE, EVERY_ROLE, TheActor, needs
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/me", tags=["people"])


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_me(request: Request, means: TheMeans, actor: TheActor) -> dict[str, Any]:
    """Return the name and roles of whoever asks, and the session's token for `X-CSRF-Token`."""
    if not isinstance(actor, Person):
        return {
            "name": actor.name,
            "scopes": sorted(actor.scopes),
            "depots": sorted(actor.depots),
        }
    roles: dict[str, list[str]] = {}
    for grant in sorted(actor.grants, key=lambda grant: (grant.depot, grant.role)):
        roles.setdefault(grant.depot, []).append(grant.role.value)
    session = request.cookies[COOKIE]
    return {
        "name": actor.name,
        "shown_as": actor.shown_as,
        "roles": roles,
        "csrf_token": csrf.token_for(means.context, session),
    }
