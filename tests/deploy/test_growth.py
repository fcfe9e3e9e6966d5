"""Pictures of growth, drawn from the rows that the benchmark writes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

from deploy.bench.growth import draw
from deploy.bench.rows import Row

if TYPE_CHECKING:
    from pathlib import Path

HISTORY = Row("whole history of a unit, 10,000 units", 2, "ms", 1, "bare SQL", 4, units=10_000)
ROUND = Row("daily round, 10,000 units, 303 due", 0.1, "s", target=30, units=10_000)


def test_what_was_measured_at_several_sizes_is_drawn_with_its_yardstick(tmp_path: Path) -> None:
    larger = replace(HISTORY, what="whole history of a unit, 100,000 units", units=100_000)
    written = draw([row.as_json() for row in (HISTORY, larger, ROUND)], tmp_path)
    assert [path.name for path in written] == ["growth-history.svg"]
    said = "".join(ET.parse(written[0]).getroot().itertext())  # noqa: S314 - our own
    for told in ("Whole history of a unit, ms", "10,000", "100,000", "Hardstand", "bare SQL"):
        assert told in said
