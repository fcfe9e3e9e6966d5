"""Events of every kind, made from the description, reach the judge, and none breaks it."""

from __future__ import annotations

import json
from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from schemathesis import GenerationMode

from schemas.events.union import KINDS
from shared.ids import new_id
from tests.support import described
from tests.support.busy import make_busy
from tests.support.depot import open_up
from tests.support.web import Site, open_site
from tracker.services.actor import Scope
from tracker.services.daily_round import make_rounds
from tracker.services.reading import EventUnreadableError, read_event
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify

if TYPE_CHECKING:
    from collections.abc import Iterator

    from starlette.testclient import TestClient

    from shared.clock import StandingClock
    from shared.settings import Settings

ONLY_BY_A_MANAGER = "override_reason"

pytestmark = pytest.mark.timeout(described.WITHIN_S)


@pytest.fixture
def site(settings: Settings, clock: StandingClock) -> Iterator[Site]:
    with open_up(settings, clock) as depot, open_site(depot) as site:
        yield site


def event_of(case: Any) -> bytes:  # noqa: ANN401 - schemathesis's case
    """Return what a case says, as an event that nobody has sent before and a machine may send."""
    said = {name: value for name, value in case.body.items() if name != ONLY_BY_A_MANAGER}
    # Integers beyond 64 bits come too, which orjson does not write.
    return json.dumps(said | {"id": str(new_id())}).encode()


def is_readable(case: Any) -> bool:  # noqa: ANN401 - as above
    """Say whether it is an event: a description cannot tell all that one asks of another field."""
    try:
        read_event(event_of(case))
    except EventUnreadableError:
        return False
    return True


def send_some(machine: TestClient, said: described.Described) -> list[str]:
    """Send events as a description makes them; return their ids, all of them accepted."""
    (operation,) = (one for one in described.operations(said) if one.label == "POST /api/events")
    cases = operation.as_strategy(generation_mode=GenerationMode.POSITIVE)
    sent: list[str] = []

    @described.at_random()
    @given(case=cases.filter(is_readable))
    def send(case: Any) -> None:  # noqa: ANN401 - as above
        answer = machine.post("/api/events", content=event_of(case))
        assert (answer.status_code, answer.json()["state"]) == (202, "waiting"), answer.text
        sent.append(answer.json()["id"])

    send()
    return sent


@pytest.mark.parametrize("finds", [True, False], ids=["of-what-is-known", "of-anything"])
def test_every_event_that_is_accepted_gets_its_verdict(site: Site, finds: bool) -> None:
    known = make_busy(site)
    machine = site.machine(*Scope)
    before = len(site.depot.outcomes())
    sent: dict[str, str] = {}
    for kind, shape in KINDS.items():
        said = described.described(site, known if finds else None)
        taken = said["paths"]["/api/events"]["post"]["requestBody"]["content"]["application/json"]
        taken["schema"] = {"$ref": f"#/components/schemas/{shape.__name__}"}
        sent |= dict.fromkeys(send_some(machine, said), kind)
    assert Counter(sent.values()) == dict.fromkeys(KINDS, described.EXAMPLES)
    site.depot.drain_all()
    outcomes = site.depot.outcomes()
    assert site.depot.one("SELECT count(*) FROM intake") == 0
    assert {one: outcomes[one] for one in sent if outcomes[one] == "held"} == {}
    assert len(outcomes) == before + len(sent)
    # Whatever they came to can be shown, told of and folded again.
    reader = site.machine(*Scope)
    units = [row["unit_id"] for row in site.depot.rows("SELECT unit_id FROM records")]
    shown = {unit: reader.get(f"/api/units/{unit}").status_code for unit in units}
    assert {unit: status for unit, status in shown.items() if status != 200} == {}
    make_rounds(site.depot.worker)
    assert verify(site.depot.worker).flaws == ()
    assert rebuild(site.depot.worker, check_only=True).differing == []
