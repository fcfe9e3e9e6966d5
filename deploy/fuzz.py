"""Throw texts at everything that reads what strangers write: `python -m deploy.fuzz --count N`.

Each reader gets texts from its corpus, changed at random, and must either read them or refuse them
in its own words; what it reads it must read again the same from its one form. The random numbers
have a seed, so that a run can be had again. What breaks a reader is printed, and with `--keep`
added to its corpus, where the tests try it ever after.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random
from time import monotonic
from typing import Final

from deploy.fuzz_readers import READERS, Reader

WORST: Final = (
    "\x00", "\r\n", "\u202e", "\u200f", "\ufeff", "\u2028", "\ud800", "\udfff", "\xb2",
    "\u0661", "\uff17", "\u0131", "\xdf", "\ufb03", "'", '"', "\\", "\\ud800", "\\u0000", "%00",
    "..", "../", "=1+1", "@", "-", "--", "~", ",", ";", "\t", ":", "[", "]", "{", "}", "null",
    "true", "NaN", "Infinity", "1e999", "-1", "0" * 40, "9" * 19, "9" * 400, "9" * 5000, "A" * 300,
    "[" * 300, '{"a":' * 300, '{"kind":', "+99:99", "0000", "9999", "-00", "T24:00", "\xa0",
)  # fmt: skip
_LONGEST: Final = 200_000
_MOST_CHANGES: Final = 4


@dataclass(frozen=True, slots=True)
class Crash:
    """A text that broke a reader, and how."""

    reader: str
    text: str
    fault: str


@dataclass(frozen=True, slots=True)
class Fuzzed:
    """What fuzzing one reader came to."""

    reader: str
    tried: int
    read: int
    crashes: tuple[Crash, ...]


def corpus_of(folder: Path, reader: str) -> list[str]:
    """Return the texts kept for a reader, one JSON string a line; none when there is no file."""
    path = folder / f"{reader}.jsonl"
    # Python's own reader, since lone surrogates must come through.
    return [json.loads(line) for line in path.read_bytes().splitlines()] if path.exists() else []


def keep(folder: Path, crashes: tuple[Crash, ...]) -> None:
    """Add what broke readers to their corpora."""
    for crash in crashes:
        with (folder / f"{crash.reader}.jsonl").open("a", encoding="ascii") as file:
            file.write(json.dumps(crash.text) + "\n")


def fuzz(reader: Reader, corpus: list[str], count: int, seed: int) -> Fuzzed:
    """Try the corpus as it is, then changed texts, up to `count` in all."""
    read = tried = 0
    crashes: dict[str, Crash] = {}
    for text in _texts(corpus, count, seed):
        tried += 1
        try:
            read += reader.try_text(text)
        except Exception as fault:  # noqa: BLE001 - that nothing else comes is what is tried
            # One of each kind is enough to mend it.
            says = f"{type(fault).__name__}: {str(fault)[:200]}"
            crashes.setdefault(f"{type(fault).__name__}", Crash(reader.name, text, says))
    return Fuzzed(reader.name, tried, read, tuple(crashes.values()))


def main(arguments: list[str] | None = None) -> int:
    """Fuzz every reader and print a line for each; return 1 when one broke."""
    parser = argparse.ArgumentParser(prog="python -m deploy.fuzz", description=__doc__)
    parser.add_argument("--count", type=int, default=100_000, help="texts in all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--corpus", type=Path, default=Path("tests/hostile/corpus"))
    parser.add_argument("--only", choices=[reader.name for reader in READERS], action="append")
    parser.add_argument("--keep", action="store_true", help="add what breaks to the corpus")
    asked = parser.parse_args(arguments)
    chosen = [reader for reader in READERS if not asked.only or reader.name in asked.only]
    shares = sum(reader.share for reader in chosen)
    broken = tried = 0
    for reader in chosen:
        begun = monotonic()
        count = -(-asked.count * reader.share // shares)
        done = fuzz(reader, corpus_of(asked.corpus, reader.name), count, asked.seed)
        tried, broken = tried + done.tried, broken + len(done.crashes)
        _say(
            f"{done.reader:<12} {done.tried:>9,} tried {done.read:>9,} read "
            f"{len(done.crashes):>3} crashes {monotonic() - begun:7.1f} s"
        )
        for crash in done.crashes:
            _say(f"    {crash.fault}\n    {json.dumps(crash.text)[:300]}")
        if asked.keep:
            keep(asked.corpus, done.crashes)
    _say(f"{'all':<12} {tried:>9,} tried {'':>14} {broken:>3} crashes")
    return 1 if broken else 0


def _texts(corpus: list[str], count: int, seed: int) -> Iterator[str]:
    yield from corpus[:count]
    random = Random(seed)  # noqa: S311 - to be had again, not to keep secret
    for _ in range(count - len(corpus)):
        text = random.choice(corpus) if corpus else ""
        for _ in range(random.randint(1, _MOST_CHANGES)):
            text = _changed(random, text, corpus)
        yield text[:_LONGEST]


def _changed(random: Random, text: str, corpus: list[str]) -> str:
    at, to = sorted((random.randint(0, len(text)), random.randint(0, len(text))))
    match random.randrange(7):
        case 0:
            return text[:at] + random.choice(WORST) + text[at:]
        case 1:
            return text[:at] + random.choice(WORST) + text[to:]
        case 2:
            return text[:at] + text[to:]
        case 3:
            return text[:to] + text[at:to] + text[to:]
        case 4 if corpus:
            return text[:at] + random.choice(corpus)[at:]
        case 5:
            return text[:at] + chr(random.randrange(32, 127)) + text[at + 1 :]
        case _:
            return text[:at] + chr(random.randrange(0x11000)) + text[at + 1 :]


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")


if __name__ == "__main__":
    sys.exit(main())
