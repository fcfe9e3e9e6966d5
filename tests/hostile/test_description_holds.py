"""Schemathesis: requests made from the API's own description, right and wrong ones, to every route.

No request may end in a 5xx, and every answer must be one that the description promises.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
import requests
import schemathesis
from hypothesis import HealthCheck, Phase, given
from hypothesis import settings as examples
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import CHECKS, load_all_checks
from schemathesis.core.failures import FailureGroup

from tests.support.depot import BOX, OTHER, open_up, report
from tests.support.web import Site, open_site
from tracker.services.actor import Role, Scope
from tracker.web.api.description import describe
from tracker.web.app import create_app

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shared.clock import StandingClock
    from shared.settings import Settings

EXAMPLES = 6
PROMISES = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_headers_conformance",
    "response_schema_conformance",
)
ENDS_THE_SESSION = "/sign-out"


@pytest.fixture
def site(settings: Settings, clock: StandingClock) -> Iterator[Site]:
    with open_up(settings, clock) as depot, open_site(depot) as site:
        depot.record(report("gate-in"), report("gate-in", OTHER), report("sale"))
        yield site


def operations(site: Site) -> list[Any]:
    load_all_checks()
    schema = schemathesis.openapi.from_dict(describe(site.app))
    return [found.ok() for found in schema.get_all_operations()]


def sent(client: Any, case: Any) -> Any:  # noqa: ANN401 - schemathesis's case, httpx's answer
    said = case.as_transport_kwargs(base_url="http://testserver")
    known = ("method", "url", "headers", "files", "data", "params", "json")
    made = requests.Request(**{name: said[name] for name in known if name in said}).prepare()
    body = made.body.encode() if isinstance(made.body, str) else made.body
    request = client.build_request(
        made.method, made.url, headers=dict(made.headers), content=body or b""
    )
    return client.send(request)


def ask(client: Any, operation: Any, mode: Any) -> list[str]:  # noqa: ANN401 - as above
    """Send requests made from the description of one operation; return which promises broke."""
    checks = CHECKS.get_by_names(PROMISES)
    broken: list[str] = []
    asked = 0

    @examples(
        max_examples=EXAMPLES,
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy(generation_mode=mode))
    def try_one(case: Any) -> None:  # noqa: ANN401 - as above
        nonlocal asked
        asked += 1
        answer = sent(client, case)
        try:
            case.validate_response(answer, checks=checks)
        except FailureGroup as group:
            broken.append(f"{operation.label}: {answer.status_code}: {group.exceptions}")

    try_one()
    assert asked > 0
    return broken


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
def test_every_answer_is_one_that_the_description_promises(site: Site, mode: Any) -> None:  # noqa: ANN401
    machine = site.machine(*Scope)
    person = site.person(*(f"NORTH:{role}" for role in Role))
    broken: list[str] = []
    asked = set()
    for operation in operations(site):
        if operation.path == ENDS_THE_SESSION:
            continue
        try:
            # What only people may change is asked by one who may.
            client = machine if operation.method in {"get", "post"} else person
            broken += ask(client, operation, mode)
            asked.add(operation.label)
        except Unsatisfiable:
            # There is no wrong request where nothing is asked for.
            assert mode is GenerationMode.NEGATIVE
            assert not list(operation.iter_parameters()), operation.label
    assert broken == []
    assert len(asked) >= 10
    assert machine.get(f"/api/units/{BOX}").status_code == 200


def test_description_names_every_route_of_the_api(site: Site) -> None:
    described = {(one.method.upper(), one.path) for one in operations(site)}
    assert ("POST", "/api/events") in described
    assert ("GET", "/api/stock") in described
    assert all(path.startswith("/") for _, path in described)


def test_description_is_the_same_whoever_asks_first(site: Site) -> None:
    once = describe(site.app)
    assert describe(site.app) is once
    assert describe(create_app(site.depot.web)) == once
