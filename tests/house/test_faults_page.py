"""docs/faults.md tells of every fault there is, and of each as it came out: clean."""

from __future__ import annotations

import re
from pathlib import Path

from deploy.faults.table import FAULTS

PAGE = (Path(__file__).parents[2] / "docs" / "faults.md").read_text(encoding="utf-8")
ROWS = re.findall(r"(?m)^\| (.+?) \| [\d,]+ \| (\d+ \| \d+ \| \d+ \| \d+ \| \d+) \|", PAGE)


def test_every_fault_has_its_row_and_no_other() -> None:
    assert [name for name, _ in ROWS] == [fault.name for fault in FAULTS]


def test_rows_that_were_not_clean_are_not_left_standing() -> None:
    assert {counts for _, counts in ROWS} == {"0 | 0 | 0 | 0 | 0"}
