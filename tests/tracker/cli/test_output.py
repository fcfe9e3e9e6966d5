"""Tables as a narrow terminal shows them."""

from __future__ import annotations

import pytest

from shared.ids import new_id
from tracker.cli.output import write_table


def test_what_names_a_row_is_never_broken_so_that_it_can_be_copied(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    name = str(new_id())
    why = "id is missing, depot is missing, mark is missing, happened_at is missing"
    write_table(("Event", "Received", "Because"), [(name, "2026-03-02 07:00", why)], none="")
    out = capsys.readouterr().out
    assert name in out
    assert max(map(len, out.splitlines())) <= 80
    assert "happened_at" in out
