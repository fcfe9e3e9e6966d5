"""A general-purpose job queue on PostgreSQL, doing empty jobs: pgqueuer."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from datetime import timedelta

import asyncpg
from pgqueuer.db import AsyncpgDriver
from pgqueuer.models import Job
from pgqueuer.qm import QueueManager
from pgqueuer.queries import Queries
from pgqueuer.types import QueueExecutionMode

from deploy.bench.bench_house import House
from shared import addresses

_BATCH = 500


@dataclass(frozen=True, slots=True)
class QueueSpeed:
    """Jobs per second: put in, run, and both one after the other."""

    enqueue: float
    run: float

    @property
    def both(self) -> float:
        """Return the rate of putting in and running."""
        return 1 / (1 / self.enqueue + 1 / self.run)


def measure(house: House, count: int) -> QueueSpeed:
    """Return how fast the queue takes and runs `count` empty jobs, in one process."""
    return asyncio.run(_measure(addresses.libpq_address(house.databases.owner), count))


async def _measure(address: str, count: int) -> QueueSpeed:
    connection = await asyncpg.connect(address)
    try:
        driver = AsyncpgDriver(connection)
        queries = Queries(driver)
        await queries.install()
        clock = asyncio.get_running_loop().time
        begun = clock()
        for start in range(0, count, 1000):
            size = min(1000, count - start)
            await queries.enqueue(["empty"] * size, [None] * size, [0] * size)
        enqueued_s = clock() - begun
        manager = QueueManager(queries)

        @manager.entrypoint("empty")
        async def empty(_: Job) -> None:
            """Do nothing."""

        begun = clock()
        await manager.run(
            dequeue_timeout=timedelta(seconds=1),
            batch_size=_BATCH,
            mode=QueueExecutionMode.drain,
        )
        ran_s = clock() - begun
        await queries.uninstall()
        return QueueSpeed(count / enqueued_s, count / ran_s)
    finally:
        await connection.close()
