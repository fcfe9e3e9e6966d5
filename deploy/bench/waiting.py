"""How long one event waits for its verdict, from POST to answer, also while a file is read in."""

from __future__ import annotations

import statistics
import threading
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import httpx2

from deploy.bench.bench_house import House
from deploy.bench.bench_stream import bodies
from deploy.bench.recording import hand_in
from deploy.bench.rows import Row
from deploy.run import serving
from tracker.services import keys
from tracker.services.actor import Scope


def measure(house: House, *, seconds: int, rates: Sequence[int], file_lines: int) -> list[Row]:
    """Return the rows about waiting, with the whole stack running on a private database."""
    rows: list[Row] = []
    with serving(house.settings):
        key = keys.add_key(house.web, "bench", scopes=[Scope.REPORT, Scope.READ], depots=["*"])
        address = f"http://{house.settings.web_host}:{house.settings.web_port}"
        with httpx2.Client(base_url=address, headers={"Authorization": f"Bearer {key}"}) as client:
            for rate in rates:
                waits = _post(client, rate, seconds, seed=rate)
                rows += _rows(f"{rate}/s", waits, bounded=rate == rates[0])
            reader = threading.Thread(target=_read_file, args=(house, file_lines), daemon=True)
            begun = time.perf_counter()
            reader.start()
            told = _post(client, rates[0], seconds, seed=1)
            name = f"{rates[0]}/s while {file_lines:,} lines are read in"
            rows += _rows(name, told, bounded=True)
            reader.join()
            house.wait_until_drained()
            took = time.perf_counter() - begun
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
    sent = bodies(rate * seconds, rate * seconds // 8, seed=seed)
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


def _read_file(house: House, lines: int) -> None:
    hand_in(house.web, bodies(lines, max(1, lines // 10), seed=99))
