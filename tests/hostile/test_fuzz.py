"""The readers under fire: the whole corpus each time, and some thousand texts changed from it.

The long run: `python -m deploy.fuzz --count 1000000`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from deploy import fuzz
from deploy.fuzz_readers import READERS, Reader
from shared.errors import KnowledgeError
from shared.months import Month

CORPUS = Path(__file__).parent / "corpus"


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.name)
def test_reader_reads_or_refuses_whatever_comes(reader: Reader) -> None:
    corpus = fuzz.corpus_of(CORPUS, reader.name)
    assert len(corpus) >= 5
    done = fuzz.fuzz(reader, corpus, len(corpus) + 400, seed=20260302)
    assert done.crashes == ()
    assert done.tried == len(corpus) + 400
    # A corpus that is refused whole would try nothing but the first line of its reader.
    assert done.read > 0


def test_every_corpus_belongs_to_a_reader() -> None:
    kept = {path.stem for path in CORPUS.iterdir()}
    assert kept == {reader.name for reader in READERS}


def broken(text: str) -> None:
    if "\x00" in text:
        raise ZeroDivisionError("by NUL")
    Month.parse(text)


def test_crash_is_found_once_and_kept_as_it_was(tmp_path: Path) -> None:
    reader = Reader("broken", broken, (KnowledgeError,))
    done = fuzz.fuzz(reader, ["2026-09"], 3000, seed=1)
    (crash,) = done.crashes
    assert "\x00" in crash.text
    assert crash.fault == "ZeroDivisionError: by NUL"
    fuzz.keep(tmp_path, done.crashes)
    assert fuzz.corpus_of(tmp_path, "broken") == [crash.text]


def test_same_seed_tries_the_same_texts() -> None:
    tried: list[list[str]] = []
    for seed in (1, 1, 2):
        texts: list[str] = []
        fuzz.fuzz(Reader("listening", texts.append, ()), ["22G1"], 50, seed)
        tried.append(texts)
    assert tried[0] == tried[1] != tried[2]


def test_command_tells_each_reader_and_the_sum(capsys: pytest.CaptureFixture[str]) -> None:
    code = fuzz.main(["--count", "60", "--only", "month", "--only", "day", "--corpus", str(CORPUS)])
    lines = capsys.readouterr().out.splitlines()
    assert code == 0
    assert [line.split()[0] for line in lines] == ["month", "day", "all"]
    assert lines[-1].split()[1:] == ["60", "tried", "0", "crashes"]
