"""Marks for tests: random ones, fleets of known units, and single misreads of them."""

from __future__ import annotations

from string import ascii_uppercase

import numpy as np

from shared import marks
from shared.misreads import LOOK_ALIKES


def make_mark(first_ten: str) -> str:
    """Return the mark with its right digit, in normal form."""
    return first_ten + marks.check_digit(first_ten)


def make_rows(count: int, *, seed: int, categories: str = "UJZ") -> np.ndarray:
    """Return `count` random texts of a mark's shape as ASCII codes, shape (count, 11)."""
    rng = np.random.default_rng(seed)
    rows = np.empty((count, 11), dtype=np.uint8)
    rows[:, :3] = rng.integers(65, 91, (count, 3))
    rows[:, 3] = rng.choice(np.frombuffer(categories.encode(), dtype=np.uint8), count)
    rows[:, 4:] = rng.integers(48, 58, (count, 7))
    return rows


def make_texts(rows: np.ndarray) -> list[str]:
    """Return the rows as texts."""
    packed = rows.tobytes().decode()
    return [packed[at : at + 11] for at in range(0, len(packed), 11)]


def make_scattered_fleet(count: int, *, seed: int) -> list[str]:
    """Return right marks of 40 owners whose serials are spread over the whole range."""
    rng = np.random.default_rng(seed)
    owners = ["".join(rng.choice(list(ascii_uppercase), 3)) for _ in range(40)]
    fleet: set[str] = set()
    while len(fleet) < count:
        owner, serial = owners[rng.integers(40)], rng.integers(1_000_000)
        fleet.add(make_mark(f"{owner}U{serial:06d}"))
    return sorted(fleet)


def make_numbered_fleet(count: int, *, seed: int) -> list[str]:
    """Return right marks of 40 owners in runs of 125 serials, as boxes bought in lots have."""
    rng = np.random.default_rng(seed)
    owners = ["".join(rng.choice(list(ascii_uppercase), 3)) for _ in range(40)]
    fleet: list[str] = []
    for owner in owners:
        first = int(rng.integers(999_000))
        fleet += [make_mark(f"{owner}U{serial:06d}") for serial in range(first, first + 125)]
    return fleet[:count]


def list_caught_misreads(mark: str) -> list[str]:
    """Return every single look-alike and adjacent transposition of a mark that cannot be right."""
    texts = {
        mark[:at] + other + mark[at + 1 :]
        for at, character in enumerate(mark)
        for other in LOOK_ALIKES.get(character, "")
    }
    texts |= {mark[:at] + mark[at + 1] + mark[at] + mark[at + 2 :] for at in range(len(mark) - 1)}
    return sorted(text for text in texts if not marks.is_sound(text))
