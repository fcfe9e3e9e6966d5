"""Logs that are turned over under the hands of who writes them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from deploy import log_files

if TYPE_CHECKING:
    from pathlib import Path


def test_large_log_is_emptied_kept_beside_and_written_on(tmp_path: Path) -> None:
    large, small = tmp_path / "slow.log", tmp_path / "web.log"
    small.write_text("few\n")
    with large.open("ab", buffering=0) as writer:
        writer.write(b"first\n" * 20)
        assert log_files.turn_over(tmp_path, most_bytes=100) == [large]
        writer.write(b"next\n")
    assert large.read_text() == "next\n"
    assert (tmp_path / "slow.log.1").read_text() == "first\n" * 20
    assert small.read_text() == "few\n"
    assert log_files.turn_over(tmp_path, most_bytes=100) == []


def test_log_kept_beside_is_replaced_by_the_next(tmp_path: Path) -> None:
    log = tmp_path / "slow.log"
    for words in ("one", "two"):
        log.write_text(words)
        log_files.turn_over(tmp_path, most_bytes=1)
    assert (tmp_path / "slow.log.1").read_text() == "two"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["slow.log", "slow.log.1"]
