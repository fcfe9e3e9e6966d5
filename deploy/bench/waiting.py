"""How long one event waits for its verdict, from POST to answer, also while a file is read in."""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx2

from deploy.bench.bench_house import House
from deploy.bench.bench_stream import LiveStream
from deploy.bench.rows import Row
from deploy.environment import environment_of
from deploy.run import serving
from tracker.services import keys
from tracker.services.actor import Scope

_WARMING_S = 2
_OTHERS = 500_000


def measure(house: House, *, seconds: int, rates: Sequence[int], file_lines: int) -> list[Row]:
    """Return the rows about waiting, with the whole stack running on a private database."""
    rows: list[Row] = []
    with serving(house.settings):
        key = keys.add_key(house.web, "bench", scopes=[Scope.REPORT, Scope.READ], depots=["*"])
        address = f"http://{house.settings.web_host}:{house.settings.web_port}"
        with httpx2.Client(
            base_url=address, headers={"Authorization": f"Bearer {key}"}, timeout=60
        ) as client:
            _post(client, rates[0], _WARMING_S, seed=0)  # each worker's first batch is a slow one
            for rate in rates:
                waits = _post(client, rate, seconds, seed=rate)
                rows += _rows(f"{rate}/s", waits, bounded=rate == rates[0])
            with tempfile.TemporaryDirectory() as folder:
                file = Path(folder) / "old-papers.jsonl"
                # Of units of its own: a clerk seldom reports what a file is just telling of.
                stream = LiveStream(max(1, file_lines // 10), seed=99, first=_OTHERS)
                file.write_bytes(b"\n".join(stream.next(file_lines)))
                begun = time.perf_counter()
                with _reading(house, file) as reading:
                    told = _post(client, rates[0], seconds, seed=1)
                    reading.wait()
                took = time.perf_counter() - begun
            name = f"{rates[0]}/s while {file_lines:,} lines are read in"
            rows += _rows(name, told, bounded=True)
            rows.append(
                Row(f"a file of {file_lines:,} lines recorded", file_lines / took, "lines/s")
            )
    return rows


def _rows(name: str, waits: Sequence[float], *, bounded: bool) -> list[Row]:
    told = statistics.quantiles(waits, n=100)
    return [
        Row(f"POST to verdict at {name}, half within", told[49] * 1000, "ms",
            target=60 if bounded else None, most=True),
        Row(f"POST to verdict at {name}, 99 % within", told[98] * 1000, "ms",
            target=250 if bounded else None, most=True),
    ]  # fmt: skip


def _post(client: httpx2.Client, rate: int, seconds: int, seed: int) -> list[float]:
    """Post at a steady rate and wait for each verdict; return how long each took, in seconds."""
    sent = LiveStream(rate * seconds // 8, seed).next(rate * seconds)
    begun = time.perf_counter()

    def one(number: int) -> float:
        pause = begun + number / rate - time.perf_counter()
        if pause > 0:
            time.sleep(pause)
        posted = time.perf_counter()
        receipt = client.post("/api/events", content=sent[number]).raise_for_status().json()
        answer = client.get(f"/api/events/{receipt['id']}", params={"wait": 30}).raise_for_status()
        answer.json()
        return time.perf_counter() - posted

    with ThreadPoolExecutor(max_workers=64) as pool:
        return list(pool.map(one, range(len(sent))))


def _reading(house: House, file: Path) -> subprocess.Popen[bytes]:
    """Begin to read a file in by the command, which waits for the verdicts of each lot."""
    command = [sys.executable, "-m", "deploy.hardstand", "send", str(file), "--wait", "--json"]
    environment = environment_of(house.settings)
    return subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)  # noqa: S603 - our own program
