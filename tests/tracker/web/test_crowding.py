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
from tracker.web.crowding import Crowding
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


@pytest.mark.parametrize("dawdles", ["sending", "reading"])
def test_whoever_dawdles_takes_no_place(dawdles: str) -> None:
    """As many as there are places, whose bodies never come or who never read: others are served."""

    async def story() -> list[int]:
        begun, statuses = 0, []

        async def app(_scope: Any, receive: Any, send: Any) -> None:  # noqa: ANN401 - ASGI's
            nonlocal begun
            begun += 1
            while (await receive())["more_body"]:
                pass
            await send({"type": "http.response.start", "status": 204, "headers": []})

        async def never(*_: Any) -> dict[str, Any]:  # noqa: ANN401 - as above
            await asyncio.Event().wait()
            return {}

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": b"", "more_body": False}

        async def send(message: Any) -> None:  # noqa: ANN401 - as above
            statuses.append(message["status"])

        crowding, scope = Crowding(app, most=MOST), {"type": "http", "path": "/sign-in"}
        network = (never, send) if dawdles == "sending" else (receive, never)
        slow = [asyncio.create_task(crowding(scope, *network)) for _ in range(MOST)]
        while begun < MOST:
            await asyncio.sleep(0)
        await crowding(scope, receive, send)
        for one in slow:
            one.cancel()
        await asyncio.gather(*slow, return_exceptions=True)
        assert crowding._places.taken == 0
        return statuses

    assert tell(story()) == [204]


def test_work_keeps_its_place_while_it_listens_whether_its_sender_has_gone() -> None:
    async def story() -> int:
        async def app(_scope: Any, receive: Any, _send: Any) -> None:  # noqa: ANN401 - ASGI's
            await receive()
            await receive()

        gone = asyncio.Event()
        whole = [{"type": "http.request", "body": b"", "more_body": False}]

        async def receive() -> dict[str, Any]:
            if whole:
                return whole.pop()
            await gone.wait()
            return {"type": "http.disconnect"}

        async def send(_message: Any) -> None:  # noqa: ANN401 - as above
            """Nothing is sent here."""

        crowding = Crowding(app, most=MOST)
        work = asyncio.create_task(crowding({"type": "http", "path": "/"}, receive, send))
        while whole:
            await asyncio.sleep(0)
        await asyncio.sleep(0)
        taken = crowding._places.taken
        gone.set()
        await work
        return taken

    assert tell(story()) == 1


def test_body_that_does_not_come_is_given_up() -> None:
    async def story() -> tuple[int, str]:
        async def app(_scope: Any, receive: Any, _send: Any) -> None:  # noqa: ANN401 - ASGI's
            while (await receive())["more_body"]:
                pass

        pieces = [{"type": "http.request", "body": b"1234567", "more_body": True}]

        async def receive() -> dict[str, Any]:
            if not pieces:
                await asyncio.Event().wait()
            return pieces.pop()

        async def send(_message: Any) -> None:  # noqa: ANN401 - as above
            """Nothing is sent here."""

        limit, scope = BodyLimit(app, at_once=13, patience_s=0.01), {"type": "http", "path": "/"}
        with pytest.raises(HTTPException) as caught:
            await limit(scope, receive, send)
        # What it held is free again: another may hold as much.
        pieces[:] = [{"type": "http.request", "body": b"1234567", "more_body": False}]
        await limit(scope, receive, send)
        return caught.value.status_code, (caught.value.headers or {})["Connection"]

    assert tell(story()) == (408, "close")


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
