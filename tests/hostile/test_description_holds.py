"""Schemathesis: requests made from the API's own description, right and wrong ones, to every route.

No request may end in a 5xx, and every answer must be one that the description promises. How many
are made says HARDSTAND_TEST_EXAMPLES (see tests/README.md).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import settings as examples
from hypothesis.errors import Unsatisfiable
from hypothesis.stateful import run_state_machine_as_test
from schemathesis import GenerationMode
from schemathesis.core.transport import Response
from typing_extensions import override

from tests.support import described
from tests.support.busy import Known, make_busy
from tests.support.depot import BOX, open_up
from tests.support.web import Site, open_site
from tracker.services.actor import Role, Scope
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify
from tracker.web.api.description import describe
from tracker.web.app import create_app

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shared.clock import StandingClock
    from shared.settings import Settings

pytestmark = pytest.mark.timeout(described.WITHIN_S)

# Pictures are no texts: tests/tracker/web/test_photos.py sends real ones.
NEVER_WELL = {"POST /api/photos"}


@pytest.fixture
def site(settings: Settings, clock: StandingClock) -> Iterator[Site]:
    with open_up(settings, clock) as depot, open_site(depot) as site:
        yield site


@pytest.fixture
def known(site: Site) -> Known:
    return make_busy(site)


def ends_judged(site: Site) -> None:
    """Hold that all that was accepted gets its verdict, and that every history stands."""
    site.depot.drain_all()
    assert site.depot.one("SELECT count(*) FROM intake") == 0
    assert set(site.depot.outcomes().values()) <= {"recorded", "refused"}
    assert verify(site.depot.worker).flaws == ()
    assert rebuild(site.depot.worker, check_only=True).differing == []


@pytest.mark.parametrize("finds", [True, False], ids=["of-what-is-known", "of-anything"])
@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
def test_every_answer_is_one_that_the_description_promises(
    site: Site,
    known: Known,
    mode: GenerationMode,
    finds: bool,
) -> None:
    askers = described.askers(site)
    broken: list[str] = []
    statuses: dict[str, dict[int, int]] = {}
    for operation in described.operations(described.described(site, known if finds else None)):
        try:
            asked = described.ask_at_random(operation, mode, askers(operation))
        except Unsatisfiable:
            # There is no wrong request where nothing is asked for.
            assert mode is GenerationMode.NEGATIVE
            assert not list(operation.iter_parameters()), operation.label
            continue
        broken += asked.broken
        statuses[operation.label] = asked.statuses
    assert broken == []
    assert len(statuses) >= 27
    # Who asks is signed in, so that the door is not all that was tried.
    assert [label for label, seen in statuses.items() if 401 in seen] == []
    ends_judged(site)


def test_every_edge_of_the_description_holds_and_every_operation_does_its_work(
    site: Site, known: Known
) -> None:
    askers = described.askers(site)
    broken: list[str] = []
    statuses: dict[str, dict[int, int]] = {}
    for operation in described.operations(described.described(site, known)):
        asked = described.ask_at_edges(operation, askers(operation), 50 * described.EXAMPLES)
        broken += asked.broken
        statuses[operation.label] = asked.statuses
    assert broken == []
    idle = {label for label, seen in statuses.items() if not any(one < 300 for one in seen)}
    assert idle == NEVER_WELL
    ends_judged(site)


def test_keys_and_sessions_that_are_made_up_open_nothing(site: Site) -> None:
    person = site.person(*(f"NORTH:{role}" for role in Role))
    said = described.described(site)
    for operation in described.operations(said, makes_up_keys=True):
        asked = described.ask_at_random(operation, GenerationMode.POSITIVE, [person], 4)
        assert asked.broken == []
    for path in ("/api/stock", "/api/me", f"/api/units/{BOX}"):
        for headers in ({"Authorization": "Bearer 0"}, {"Authorization": b"Bearer \xff"}):
            assert person.get(path, headers=headers).status_code == 401


def test_whatever_one_answer_leads_to_holds_as_well(site: Site, known: Known) -> None:
    askers = described.askers(site)
    asked = described.Asked()
    schema = described.schema_of(described.described(site, known))
    machine: Any = schema.as_state_machine()

    class Walk(machine):  # type: ignore[misc] # made at run time
        """Goes from answer to answer by what they name, as schemathesis infers it."""

        @override
        def call(self, case: Any, **_: Any) -> Response:
            client = askers(case.operation)[0]
            return Response.from_any(described.send(client, case))

        @override
        def validate_response(self, response: Any, case: Any, **_: Any) -> None:
            asked.note(case.operation.label, case, response)

    settings = examples(described.at_random(), stateful_step_count=8)
    run_state_machine_as_test(Walk, settings=settings)
    assert asked.broken == []
    assert sum(asked.statuses.values()) >= described.EXAMPLES
    ends_judged(site)


def test_description_names_every_route_of_the_api(site: Site) -> None:
    operations = described.operations(described.described(site))
    said = {(one.method.upper(), one.path) for one in operations}
    assert ("POST", "/api/events") in said
    assert ("GET", "/api/stock") in said
    assert all(path.startswith("/") for _, path in said)


def test_description_is_the_same_whoever_asks_first(site: Site) -> None:
    once = describe(site.app)
    assert describe(site.app) is once
    assert describe(create_app(site.depot.web)) == once


def test_description_tells_what_becomes_of_an_event_given_back(site: Site) -> None:
    answers = describe(site.app)["paths"]["/api/events"]["post"]["responses"]
    assert set(answers["422"]["content"]) == {"application/json", "application/problem+json"}
    assert len(answers["202"]["content"]["application/json"]["schema"]["anyOf"]) == 2
    sent = site.machine(*Scope).post("/api/events?unreadable=back", content=b"{}")
    assert (sent.status_code, sent.headers["content-type"]) == (422, "application/json")
    # What is not answered so is a problem, and nothing else is said of it.
    assert "422" not in describe(site.app)["paths"]["/api/alerts"]["get"]["responses"]
