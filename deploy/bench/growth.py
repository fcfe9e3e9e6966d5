"""Draw how reading grows with the stock, from the rows of a benchmark.

`python -m deploy.bench.growth rows.json docs/pictures` writes one picture for each thing measured.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any, Final

import orjson
import pygal
import typer
from pygal.style import CleanStyle

_DRAWN: Final = {
    "growth-history": ("whole history of a unit", "Whole history of a unit, ms"),
    "growth-stock": ("a page of stock", "A page of stock, ms"),
    "growth-round": ("daily round", "The daily round, seconds"),
}

_Row = Mapping[str, Any]


def draw(rows: Sequence[_Row], folder: Path) -> list[Path]:
    """Write the pictures; return where they are. What was measured at one size only is left out."""
    written = []
    for name, (begins, title) in _DRAWN.items():
        of_it = [row for row in rows if row.get("units") and row["what"].startswith(begins)]
        if len(of_it) < 2:
            continue
        path = folder / f"{name}.svg"
        path.write_bytes(_picture(of_it, title))
        written.append(path)
    return written


def _picture(rows: Sequence[_Row], title: str) -> bytes:
    chart = pygal.Line(
        title=title,
        x_title="units",
        style=CleanStyle(font_family="sans-serif", colors=("#1b5e7b", "#9a6a00")),
        width=640,
        height=360,
        include_x_axis=True,
        legend_at_bottom=True,
        js=(),
    )
    chart.x_labels = [f"{row['units']:,}" for row in rows]
    chart.add("Hardstand", [round(row["ours"], 3) for row in rows])
    if all(row["yardstick"] for row in rows):
        chart.add(rows[0]["beside"], [round(row["yardstick"], 3) for row in rows])
    drawn: bytes = chart.render()
    return drawn


def main(
    rows: Annotated[Path, typer.Argument(help="What `hardstand bench --json` wrote.")],
    folder: Annotated[Path, typer.Argument(help="Where the pictures go.")],
) -> None:
    """Draw the pictures of one run."""
    for path in draw(orjson.loads(rows.read_bytes()), folder):
        typer.echo(path)


if __name__ == "__main__":
    typer.run(main)
