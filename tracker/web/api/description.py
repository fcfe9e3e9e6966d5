"""The description of the API, with the shapes of all events in it."""

from __future__ import annotations

from typing import Any, Final

from fastapi import APIRouter, FastAPI, Request

from schemas.events.union import EVENT
from tracker.services.actor import Scope
from tracker.web.access import EVERY_ROLE, needs

router = APIRouter(prefix="/api/openapi.json", tags=["description"])

_PLACE: Final = "#/components/schemas/{model}"
_PROBLEM: Final[dict[str, Any]] = {
    "type": "object",
    "required": ["type", "title", "status", "detail", "instance"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": {"type": "string"},
        "instance": {"type": "string", "description": "The id under which it is logged."},
        "wrong": {"type": "string"},
        "expected": {"type": "string"},
        "remedy": {"type": "string"},
        "fields": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["field", "says"],
                "properties": {"field": {"type": "string"}, "says": {"type": "string"}},
            },
        },
    },
}
_NEVER_SENT: Final = {
    "description": "Validation Error",
    "content": {
        "application/json": {"schema": {"$ref": "#/components/schemas/HTTPValidationError"}}
    },
}
"""What FastAPI says of every operation that is asked for something."""
_ANSWERED_WITH_PROBLEM: Final[dict[str, Any]] = {
    "description": "It could not be done; the problem (RFC 9457) says why and what to do",
    "content": {
        "application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}},
    },
}


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
        _describe_problems(said)
    return said


def _describe_problems(said: dict[str, Any]) -> None:
    """Say of every operation that whatever it does not answer itself is a problem."""
    schemas = said["components"]["schemas"]
    schemas["Problem"] = _PROBLEM
    for unused in ("HTTPValidationError", "ValidationError"):
        schemas.pop(unused, None)
    for operation in (one for path in said["paths"].values() for one in path.values()):
        answers = operation["responses"]
        if answers.get("422") == _NEVER_SENT:
            del answers["422"]
        for status, answer in answers.items():
            # A status that an operation answers itself may be a problem's as well.
            if status >= "400":
                answer.setdefault("content", {}).update(_ANSWERED_WITH_PROBLEM["content"])
        answers["default"] = _ANSWERED_WITH_PROBLEM
