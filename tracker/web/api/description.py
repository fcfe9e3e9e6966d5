"""The description of the API, with the shapes of all events in it."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, FastAPI, Request

from schemas.events.union import EVENT
from tracker.services.actor import Scope
from tracker.web.access import EVERY_ROLE, needs

router = APIRouter(prefix="/api/openapi.json", tags=["description"])

_PLACE = "#/components/schemas/{model}"


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_description(request: Request) -> dict[str, Any]:
    """Return the API's description as OpenAPI."""
    return describe(request.app)


def describe(app: FastAPI) -> dict[str, Any]:
    """Return the description of an application; made once, then the same again."""
    said = app.openapi()
    schemas: dict[str, Any] = said.setdefault("components", {}).setdefault("schemas", {})
    if "AnyEvent" not in schemas:
        events = EVENT.json_schema(ref_template=_PLACE)
        schemas.update(events.pop("$defs"))
        schemas["AnyEvent"] = events
        said["components"]["securitySchemes"] = {
            "session": {"type": "apiKey", "in": "cookie", "name": "hardstand_session"},
            "key": {"type": "http", "scheme": "bearer"},
        }
        said["security"] = [{"session": []}, {"key": []}]
    return said
