"""More requests at once than are served in good time: put off at once, and told when to come."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

import pytest
from fastapi import HTTPException
from sqlalchemy import text

from tests.support.depot import id_of, report, wait_until
from tests.support.stories import tell
from tests.support.web import Site, open_site, post
from tracker.services.actor import Scope
from tracker.web.limits import BodyLimit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from tests.support.depot import Depot

MOST = 2


@pytest.fixture
def narrow(yard: Depot) -> Iterator[Site]:
    """A site that serves two requests at once."""
    with open_site(yard.with_settings(web_requests_most=MOST)) as site:
        yield site


def held_posts(site: Site) -> int:
    query = "SELECT count(*) FROM pg_locks JOIN pg_stat_activity USING (pid) WHERE NOT granted"
    return int(site.depot.one(f"{query} AND datname = current_database()"))


def test_request_beyond_the_most_is_put_off_and_served_once_there_is_room(narrow: Site) -> None:
    machine = narrow.machine(Scope.REPORT, Scope.READ)
    page = narrow.person("NORTH:gate")
    with ThreadPoolExecutor(MOST) as pool:
        with narrow.depot.owner.begin() as connection:
            connection.execute(text("LOCK TABLE intake IN EXCLUSIVE MODE"))
            slow = [pool.submit(post, machine, report("gate-in")) for _ in range(MOST)]
            wait_until(lambda: held_posts(narrow) == MOST)
            put_off = post(machine, report("gate-in"))
            shown = page.get("/stock", headers={"Accept": "text/html"})
            watched = [machine.get(path).status_code for path in ("/health", "/ready", "/metrics")]
        answers = [one.result().status_code for one in slow]
    assert (put_off.status_code, put_off.headers["retry-after"]) == (503, "2")
    assert put_off.json()["type"] == "urn:hardstand:problem:crowded"
    assert (shown.status_code, shown.headers["retry-after"]) == (503, "2")
    assert "Ask again in 2 seconds" in shown.text
    assert watched == [200, 200, 200]
    assert answers == [202] * MOST
    assert post(machine, report("gate-in")).status_code == 202
    assert narrow.depot.one("SELECT count(*) FROM intake") == MOST + 1


def test_whoever_only_waits_for_a_verdict_takes_no_place(narrow: Site) -> None:
    machine, body = narrow.machine(Scope.REPORT), report("gate-in")
    post(machine, body)
    path = f"/api/events/{id_of(body)}"
    waiter = narrow.app.state.means.waiter
    with ThreadPoolExecutor(2 * MOST) as pool:
        # One after the other: to find out that it has to wait, each needs a place.
        for number in range(2 * MOST):
            pool.submit(machine.get, path, params={"wait": 60})
            wait_until(lambda number=number: sum(map(len, waiter._waiters.values())) > number)
        assert machine.get(path).status_code == 202
        narrow.depot.drain_all()
    assert machine.get(path).status_code == 200


def test_bodies_of_all_requests_together_are_bounded() -> None:
    async def story() -> tuple[int, str, int]:
        read, go_on, served = asyncio.Event(), asyncio.Event(), 0

        async def app(_scope: Any, receive: Any, _send: Any) -> None:  # noqa: ANN401 - ASGI's
            nonlocal served
            await receive()
            read.set()
            await go_on.wait()
            served += 1

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": b"1234567", "more_body": False}

        async def send(_message: Any) -> None:  # noqa: ANN401 - as above
            """Nothing is sent here."""

        limit, scope = BodyLimit(app, at_once=13), {"type": "http", "path": "/"}
        first = asyncio.create_task(limit(scope, receive, send))
        await read.wait()
        with pytest.raises(HTTPException) as caught:
            await limit(scope, receive, send)
        go_on.set()
        await first
        await limit(scope, receive, send)
        return caught.value.status_code, (caught.value.headers or {})["Retry-After"], served

    assert tell(story()) == (503, "5", 2)
