"""Checking a million marks at a time: those that are right are written without being judged."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import orjson

from shared import marks
from shared.marks import CATEGORIES
from shared.marks_bulk import check_marks
from tracker.judge.identity import REMAINDER_TEN
from tracker.judge.painted import Beside, Painted, judge_painted

_LOT: Final = 50_000
_ALONE: Final = Beside()


def check_many(texts: Sequence[str], beside: Beside = _ALONE) -> Iterator[Painted | bytes]:
    """Check many marks, in their order.

    Those that are right, as nearly all are, come as finished JSON; the others as results.
    """
    if beside.decoded:
        yield from (judge_painted(text, beside) for text in texts)
        return
    for first in range(0, len(texts), _LOT):
        lot = texts[first : first + _LOT]
        checks = check_marks(lot)
        tens = (checks.remainder == 10).tolist()
        for text, ok, ten in zip(lot, checks.ok.tolist(), tens, strict=True):
            yield _write_right(text, ten=ten) if ok else judge_painted(text, beside)


def _write_right(text: str, *, ten: bool) -> bytes:
    mark = marks.find_compact(text) or text
    findings = _TEN if ten else "[]"
    return (
        f'{{"mark":"{mark}","ok":true,"findings":{findings},"suggestions":[],"decoded":'
        f'{{"owner":"{mark[:3]}","category":"{mark[3]}","category_means":{_MEANS[mark[3]]},'
        f'"serial":"{mark[4:10]}","check_digit":"{mark[10]}"}}}}'
    ).encode()


_TEN: Final = (
    b"["
    + orjson.dumps(REMAINDER_TEN.finding("mark", seen=10, expected=0).model_dump(mode="json"))
    + b"]"
).decode()
_MEANS: Final = {
    letter: orjson.dumps(category.means).decode() for letter, category in CATEGORIES.items()
}
