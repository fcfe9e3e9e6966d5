"""Every parameter of every route says how long or how large it may be: none is read without end."""

from __future__ import annotations

import copy
import re
from typing import TYPE_CHECKING, Any

from fastapi.openapi.utils import get_openapi

from tracker.web.app import ROUTERS

if TYPE_CHECKING:
    from collections.abc import Iterator

# A pattern from end to end that repeats nothing without a count.
BOUND_BY_PATTERN = re.compile(r"\^[^*+]*\$")
BOUND_BY_FORMAT = {"date", "date-time", "uuid"}


def unbound(schema: dict[str, Any], named: dict[str, Any]) -> Iterator[str]:
    """Return what of a schema has no end."""
    if "$ref" in schema:
        schema = named[schema["$ref"].rpartition("/")[2]]
    for one in (*schema.get("anyOf", ()), *schema.get("allOf", ()), *schema.get("oneOf", ())):
        yield from unbound(one, named)
    if "enum" in schema or "const" in schema or schema.get("format") in BOUND_BY_FORMAT:
        return
    kind, has = schema.get("type"), set(schema)
    pattern = schema.get("pattern", "")
    if kind == "string" and "maxLength" not in has and not BOUND_BY_PATTERN.fullmatch(pattern):
        yield "a text without a longest length"
    if kind in ("integer", "number"):
        if not {"maximum", "exclusiveMaximum"} & has:
            yield "a number without a largest value"
        if not {"minimum", "exclusiveMinimum"} & has:
            yield "a number without a smallest value"
    if kind == "array":
        if "maxItems" not in has:
            yield "a list without a longest length"
        yield from unbound(schema["items"], named)


def all_parameters() -> dict[str, tuple[dict[str, Any], dict[str, Any]]]:
    """Return every parameter of every route, those of pages too, by route and name."""
    routes = [copy.copy(route) for router in ROUTERS for route in router.routes]
    for route in routes:
        route.include_in_schema = True  # type: ignore[attr-defined]
    said = get_openapi(title="all", version="1", routes=routes)
    named = said.get("components", {}).get("schemas", {})
    return {
        f"{method.upper()} {path} {parameter['in']} {parameter['name']}": (
            parameter["schema"],
            named,
        )
        for path, methods in said["paths"].items()
        for method, operation in methods.items()
        for parameter in operation.get("parameters", ())
    }


def test_every_parameter_of_every_route_is_bound() -> None:
    parameters = all_parameters()
    assert len(parameters) > 60
    assert any(name.startswith("GET /sign-in query") for name in parameters)
    found = {name: list(unbound(*said)) for name, said in parameters.items()}
    assert {name: wrong for name, wrong in found.items() if wrong} == {}


def test_what_has_no_end_is_found() -> None:
    named = {"Free": {"type": "string"}}
    loose = (
        {"type": "string"},
        {"$ref": "#/components/schemas/Free"},
        {"anyOf": [{"type": "integer", "minimum": 0}, {"type": "null"}]},
        {"type": "array", "items": {"type": "string", "maxLength": 4}},
        {"type": "array", "maxItems": 3, "items": {"type": "string"}},
        {"type": "string", "pattern": "^[a-f]+$"},
    )
    assert [len(list(unbound(one, named))) for one in loose] == [1] * len(loose)
    tight = (
        {"type": "string", "maxLength": 4},
        {"type": "string", "format": "uuid"},
        {"type": "string", "pattern": "^[a-f]{64}$"},
    )
    assert [list(unbound(one, named)) for one in tight] == [[]] * len(tight)
