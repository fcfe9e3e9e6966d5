"""Printing a worksheet: for reading on a screen or on paper, or as JSON for a machine."""

from __future__ import annotations

import json
from collections.abc import Iterator

from rich.console import Console
from rich.padding import Padding

from shared.worksheets import Worksheet, format_value


def print_sheet(sheet: Worksheet, *, as_json: bool) -> None:
    """Print the sheet to standard output, as text or as one JSON object."""
    console = Console(highlight=False, markup=False)
    if as_json:
        # Not `print_json`, which would colour it on a terminal; a machine may still read there.
        text = json.dumps(sheet.to_json(), ensure_ascii=False, indent=2)
        console.print(text, soft_wrap=True)
        return
    for text, indent in _list_paragraphs(sheet):
        # Padding drops an empty text, and with it the empty line.
        console.print(Padding(text, (0, 0, 0, indent), expand=False) if text else "")


def _list_paragraphs(sheet: Worksheet) -> Iterator[tuple[str, int]]:
    """Yield each paragraph of the printed sheet with its indent in characters."""
    yield sheet.title.upper(), 0
    yield "", 0
    yield "Given", 0
    for given in sheet.inputs:
        yield f"{given.name}: {format_value(given.value, given.unit)}", 2
    yield "", 0
    yield "Results", 0
    for line in sheet.lines:
        yield f"{line.name}: {format_value(line.value, line.unit)}", 2
        yield line.formula, 6
        yield f"{line.source} ({line.certainty.value})", 6
    yield "", 0
    yield "Assumptions", 0
    for assumption in sheet.assumptions:
        yield assumption, 2
    yield "", 0
    yield "Caution", 0
    for caution in sheet.cautions:
        yield caution, 2
