"""The clients: each reports the lives of its own boxes in order, and reads in between."""

from __future__ import annotations

import asyncio
import random
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Final
from urllib.parse import quote

import orjson

from deploy.bench.bench_stream import bodies
from deploy.load.tally import Tally
from deploy.load.wire import Wire, WireError

_AWAY_S: Final = 0.5
_READS: Final = 1
_LOTS: Final = (1, 1, 1, 1, 1, 1, 1, 1, 1, 20)
"""How many events at once: gates report one, a buffer that was without signal reports many."""


@dataclass(slots=True)
class Crowd:
    """Clients on a thread of their own, until all they have is sent or they are told to stop.

    A client that is put off comes again when it was told to, and sends again, with the same ids,
    whatever got no answer.
    """

    host: str
    port: int
    key: str
    clients: int
    events: int
    tally: Tally = field(default_factory=Tally)
    is_done: threading.Event = field(default_factory=threading.Event)
    """Nothing more is begun."""
    under_way: int = 0
    """Requests that wait for an answer."""
    fallen: list[BaseException] = field(default_factory=list)
    _thread: threading.Thread | None = None

    def start(self) -> None:
        """Let the clients begin."""
        self._thread = threading.Thread(target=self._run, name="crowd", daemon=True)
        self._thread.start()

    @property
    def is_going(self) -> bool:
        """Say whether any client still has something to do."""
        return self._thread is not None and self._thread.is_alive()

    def finish(self) -> None:
        """Let each client end what it has begun, and return when all have.

        Raises:
            RuntimeError: a client fell over something it did not expect.
        """
        self.is_done.set()
        if self._thread is not None:
            self._thread.join()
        if self.fallen:
            raise RuntimeError("a client fell") from self.fallen[0]

    def _run(self) -> None:
        try:
            asyncio.run(self._go())
        except BaseException as fault:  # noqa: BLE001 - told by the main thread
            self.fallen.append(fault)

    async def _go(self) -> None:
        shares = split_by_box(bodies(self.events, max(1, self.events // 12)), self.clients)
        async with asyncio.TaskGroup() as group:
            for number, share in enumerate(shares):
                group.create_task(self._live(number, share))

    async def _live(self, number: int, share: Sequence[bytes]) -> None:
        chance = random.Random(number)  # noqa: S311 - a made-up load, no secret
        headers = {"Authorization": f"Bearer {self.key}", "Content-Type": "application/json"}
        wire, start = Wire(self.host, self.port, headers), 0
        try:
            while start < len(share) and not self.is_done.is_set():
                lot = share[start : start + chance.choice(_LOTS)]
                start += len(lot)
                if await self._send(wire, lot, chance):
                    verdict, *others = reads_about(orjson.loads(lot[-1]))
                    for path in (verdict, *chance.sample(others, _READS)):
                        await self._ask(wire, "GET", path, chance=chance)
        finally:
            wire.close()

    async def _send(self, wire: Wire, lot: Sequence[bytes], chance: random.Random) -> bool:
        """Send a lot until it is taken; say whether it was before the end."""
        body = lot[0] if len(lot) == 1 else b"[" + b",".join(lot) + b"]"
        while not self.is_done.is_set():
            told = await self._ask(wire, "POST", "/api/events", body, chance=chance)
            if told is not None:
                receipts = told if isinstance(told, list) else [told]
                self.tally.accepted |= {str(one["id"]) for one in receipts if one["accepted"]}
                return True
        return False

    async def _ask(
        self, wire: Wire, method: str, path: str, body: bytes = b"", *, chance: random.Random
    ) -> Any:  # noqa: ANN401 - any JSON
        """Ask once, and wait as long as told before anything else; return what was served."""
        begun = time.perf_counter()
        self.under_way += 1
        try:
            answer = await wire.ask(method, path, body)
        except WireError as fault:
            self.tally.note_fault(fault)
            await asyncio.sleep(_AWAY_S * chance.uniform(0.5, 1.5))
            return None
        finally:
            self.under_way -= 1
        if self.tally.note_answer(method, answer, time.perf_counter() - begun):
            return orjson.loads(answer.body)
        pause = answer.headers.get("retry-after", "")
        await asyncio.sleep((int(pause) if pause.isdigit() else 1) * chance.uniform(1, 1.5))
        return None


def split_by_box(sent: Sequence[bytes], clients: int) -> list[list[bytes]]:
    """Give each client boxes of its own, whose events it sends in their order."""
    shares: list[list[bytes]] = [[] for _ in range(clients)]
    for body in sent:
        shares[int(orjson.loads(body)["mark"][4:10]) % clients].append(body)
    return shares


def reads_about(event: dict[str, str]) -> list[str]:
    """Return what somebody reads who has just reported an event; the first is its verdict."""
    mark, depot = quote(event["mark"]), quote(event["depot"])
    return [
        f"/api/events/{event['id']}?wait=20",
        f"/api/units/{mark}/may-leave",
        f"/api/stock?depot={depot}&size=50",
        f"/api/stock?mark_begins={mark[:8]}",
        f"/api/check?mark={mark}",
    ]
