"""Waiting for verdicts: by notices, and by looking where those are lost."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING
from uuid import UUID

from shared.ids import new_id
from tests.support.depot import OTHER, id_of, report, wait_until
from tests.support.stories import tell
from tracker.web.waiting import VerdictWaiter

if TYPE_CHECKING:
    from tests.support.depot import Depot

LISTENING = "SELECT count(*) FROM pg_stat_activity WHERE application_name = 'hardstand-listener'"
CUT = (
    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
    " WHERE application_name = 'hardstand-listener' AND datname = current_database()"
)


async def until_waited_for(waiter: VerdictWaiter, *event_ids: UUID) -> None:
    while not waiter._waiters.keys() >= set(event_ids):
        await asyncio.sleep(0.01)


def test_everybody_who_waits_is_told_and_nobody_else(yard: Depot) -> None:
    first, second = report("gate-in"), report("gate-in", OTHER)
    waited = [UUID(id_of(first)), UUID(id_of(first)), UUID(id_of(second))]

    async def story() -> tuple[list[bool], bool, int]:
        async with VerdictWaiter(yard.web) as waiter:
            stranger = asyncio.create_task(waiter.wait(new_id(), 0.2))
            tasks = [asyncio.create_task(waiter.wait(one, 60)) for one in waited]
            await until_waited_for(waiter, *waited)
            await asyncio.to_thread(yard.record, first, second)
            told = list(await asyncio.gather(*tasks))
            return told, await stranger, len(waiter._waiters)

    assert tell(story()) == ([True, True, True], False, 0)


def test_verdict_that_stands_already_is_told_at_once(yard: Depot) -> None:
    body = report("gate-in")
    yard.record(body)

    async def story() -> bool:
        async with VerdictWaiter(yard.web) as waiter:
            return await waiter.wait(UUID(id_of(body)), 60)

    assert tell(story())


def test_verdict_is_found_by_looking_when_the_listener_was_cut_off(yard: Depot) -> None:
    body = report("gate-in")

    def cut() -> None:
        with yard.web.engine.begin() as connection:
            assert connection.exec_driver_sql(CUT).scalars().all() == [True]

    def listens() -> bool:
        return bool(yard.one(LISTENING + " AND datname = current_database()"))

    async def story() -> bool:
        async with VerdictWaiter(yard.web) as waiter:
            await asyncio.to_thread(wait_until, listens)
            task = asyncio.create_task(waiter.wait(UUID(id_of(body)), 60))
            await until_waited_for(waiter, UUID(id_of(body)))
            await asyncio.to_thread(cut)
            await asyncio.to_thread(yard.record, body)
            return await task

    assert tell(story())


def test_waiting_takes_no_connection_of_the_pool(yard: Depot) -> None:
    async def story() -> int:
        async with VerdictWaiter(yard.web) as waiter:
            tasks = [asyncio.create_task(waiter.wait(new_id(), 0.3)) for _ in range(100)]
            await asyncio.gather(*tasks)
            return yard.web.engine.pool.checkedout()  # type: ignore[attr-defined]

    assert tell(story()) == 0


def test_let_go_nobody_waits_any_longer(yard: Depot) -> None:
    body = report("gate-in")
    yard.send(body)

    async def story() -> tuple[bool, bool, int]:
        async with VerdictWaiter(yard.web) as waiter:
            task = asyncio.create_task(waiter.wait(UUID(id_of(body)), 3600))
            await until_waited_for(waiter, UUID(id_of(body)))
            waiter.let_go()
            return await task, await waiter.wait(UUID(id_of(body)), 3600), len(waiter._waiters)

    assert tell(story()) == (False, False, 0)
