"""Requests made from the API's own description, by schemathesis, and how an answer is judged."""

from __future__ import annotations

import copy
import itertools
import os
import re
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Final

import orjson
import requests
import schemathesis
from hypothesis import HealthCheck, Phase, given
from hypothesis import settings as examples
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import CHECKS, load_all_checks
from schemathesis.core.failures import FailureGroup
from schemathesis.generation.drivers import CoverageGenerator
from schemathesis.generation.feedback import NO_FEEDBACK
from schemathesis.generation.overrides import Override

from tests.support.busy import Known
from tracker.services.actor import Role, Scope
from tracker.web.access import access_of
from tracker.web.api.description import describe
from tracker.web.app import ROUTERS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from tests.support.web import Site

EXAMPLES: Final = int(os.environ.get("HARDSTAND_TEST_EXAMPLES", "6"))  # noqa: TID251 - of the test run, no setting
"""How many requests of a sort are made at random for each operation."""
WITHIN_S: Final = 120 + 20 * EXAMPLES
"""How long a test may take that makes them."""

PROMISES: Final = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_headers_conformance",
    "response_schema_conformance",
)
_PLACE: Final = re.compile(r'"#/components/schemas/([^"]+)"')
ENDS_THE_SESSION: Final = "/sign-out"

Described = dict[str, Any]


@dataclass(slots=True)
class Asked:
    """What was asked of an operation, and what came of it."""

    statuses: dict[int, int] = field(default_factory=dict)
    broken: list[str] = field(default_factory=list)

    def note(self, label: str, case: Any, answer: Any) -> None:  # noqa: ANN401 - schemathesis's, httpx's
        """Hold an answer against what the description promises."""
        self.statuses[answer.status_code] = self.statuses.get(answer.status_code, 0) + 1
        try:
            case.validate_response(answer, checks=CHECKS.get_by_names(PROMISES))
        except FailureGroup as group:
            self.broken.append(f"{label}: {answer.status_code}: {group.exceptions}")


def described(site: Site, known: Known | None = None) -> Described:
    """Return the description of a site; with `known`, asking for what is known there only.

    Texts made at random find no unit: every answer would be that there is none. So each field and
    parameter that `known` names is one of its values, or left out where it may be.
    """
    said = copy.deepcopy(describe(site.app))
    if known is None:
        return said
    operations = [one for path in said["paths"].values() for one in path.values()]
    for parameter in (one for operation in operations for one in operation.get("parameters", ())):
        _tell(parameter, "schema", known.get(parameter["name"]))
    shapes = said["components"]["schemas"]
    for name in _named_in([one.get("requestBody", {}) for one in operations], shapes):
        for field_name in shapes[name].get("properties", {}):
            values = known.get(f"{name}.{field_name}", known.get(field_name))
            _tell(shapes[name]["properties"], field_name, values)
    return said


def operations(said: Described, *, makes_up_keys: bool = False) -> list[Any]:
    """Return schemathesis's view of the operations; unless keys are made up, who asks signs in."""
    schema = schema_of(said, makes_up_keys=makes_up_keys)
    found = [one.ok() for one in schema.get_all_operations()]
    return [one for one in found if one.path != ENDS_THE_SESSION]


def schema_of(said: Described, *, makes_up_keys: bool = False) -> Any:  # noqa: ANN401 - schemathesis's
    """Return schemathesis's view of a description."""
    load_all_checks()
    # Around the days that the site lives through, so that what is said can lie before or after.
    near = st.datetimes(datetime(2026, 1, 1), datetime(2026, 4, 1), timezones=st.just(UTC))  # noqa: DTZ001 - naive bounds are asked for
    schemathesis.openapi.format("date-time", near.map(datetime.isoformat))
    schema = schemathesis.openapi.from_dict(said)
    schema.config.generation.with_security_parameters = makes_up_keys
    return schema


def askers(site: Site) -> Callable[[Any], list[Any]]:
    """Return who may ask an operation: a person with every role, and a machine where one may."""
    person = site.person(*(f"{depot}:{role}" for depot in ("NORTH", "SOUTH") for role in Role))
    machine = site.machine(*Scope)
    for_machines = {
        (method, route.path.replace(":path", ""))  # type: ignore[attr-defined]
        for router in ROUTERS
        for route in router.routes
        for method in route.methods  # type: ignore[attr-defined]
        if access_of(route.endpoint).scope is not None  # type: ignore[attr-defined]
    }
    return lambda operation: (
        [person, machine]
        if (operation.method.upper(), operation.path) in for_machines
        else [person]
    )


def send(client: Any, case: Any) -> Any:  # noqa: ANN401 - as above
    """Send a case as it is, and return the answer."""
    said = case.as_transport_kwargs(base_url="http://testserver")
    known = ("method", "url", "headers", "files", "data", "params", "json")
    made = requests.Request(**{name: said[name] for name in known if name in said}).prepare()
    body = made.body.encode() if isinstance(made.body, str) else made.body
    request = client.build_request(
        made.method, made.url, headers=dict(made.headers), content=body or b""
    )
    return client.send(request)


def at_random(count: int = EXAMPLES) -> examples:
    """Return how hypothesis makes so many requests: the same again in the next run."""
    return examples(
        max_examples=count,
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )


def ask_at_random(operation: Any, mode: Any, clients: list[Any], count: int = EXAMPLES) -> Asked:  # noqa: ANN401 - as above
    """Send requests made at random, by each client in turn."""
    asked = Asked()
    turn = 0

    @at_random(count)
    @given(case=operation.as_strategy(generation_mode=mode))
    def try_one(case: Any) -> None:  # noqa: ANN401 - as above
        nonlocal turn
        turn += 1
        asked.note(operation.label, case, send(clients[turn % len(clients)], case))

    try_one()
    return asked


def ask_at_edges(operation: Any, clients: list[Any], most: int) -> Asked:  # noqa: ANN401 - as above
    """Send a request at every edge that the description draws, up to so many."""
    asked = Asked()
    for turn, case in enumerate(itertools.islice(_edges(operation), most)):
        asked.note(operation.label, case, send(clients[turn % len(clients)], case))
    return asked


def _edges(operation: Any) -> Iterator[Any]:  # noqa: ANN401 - as above
    # Bounds and beyond, what is left out, what is said twice, other methods and media types.
    yield from CoverageGenerator(
        operation=operation,
        generation_modes=list(GenerationMode),
        generation_config=operation.schema.config.generation,
        auth_storage=None,
        override=Override(query={}, headers={}, cookies={}, path_parameters={}, body={}),
        feedback=NO_FEEDBACK,
    )


def _tell(place: dict[str, Any], name: str, values: list[Any] | None) -> None:
    if values and place[name].get("type") != "array":
        optional = {"type": "null"} in place[name].get("anyOf", ())
        place[name] = {"enum": [*values, *([None] if optional else [])]}


def _named_in(said: Any, shapes: dict[str, Any]) -> set[str]:  # noqa: ANN401 - any part of it
    """Return which shapes a part of the description consists of."""
    found: set[str] = set()
    left = set(_PLACE.findall(orjson.dumps(said).decode()))
    while left:
        found |= left
        left = set(_PLACE.findall(orjson.dumps([shapes[one] for one in left]).decode())) - found
    return found
