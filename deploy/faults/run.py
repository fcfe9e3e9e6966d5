"""Run the whole table on servers of its own: `hardstand bench faults`."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from rich.console import Console

from deploy.faults.scene import FaultRunError
from deploy.faults.servers import run_servers
from deploy.faults.table import FAULTS, Fault, FaultRow, run_fault, show, write
from shared.settings import Settings

_REDIS_AWAY_S: Final = 30
_SHOWN: Final = 3
_WIDE: Final = 150
"""Characters of a line where nobody says how many there are."""


def choose(parts: Sequence[str]) -> list[Fault]:
    """Return the faults whose names have one of the parts in them; all where none is given."""
    return [
        fault
        for fault in FAULTS
        if not parts or any(part.casefold() in fault.name.casefold() for part in parts)
    ]


def run_faults(
    settings: Settings, faults: Sequence[Fault], *, events: int, json: Path | None
) -> list[FaultRow]:
    """Inject each fault, print the table, and write the rows to `json` where one is given."""
    say, rows = Console(stderr=True), list[FaultRow]()
    with (
        tempfile.TemporaryDirectory(prefix="hardstand-faults-") as folder,
        run_servers(settings, Path(folder) / "home") as servers,
    ):
        for fault in faults:
            say.print(f"{fault.name} …")
            try:
                row = run_fault(servers, fault, events=events, pause_s=_REDIS_AWAY_S)
            except FaultRunError as failure:
                row = FaultRow(fault.name, events, None, 0, str(failure))
            for difference in row.comparison.differing[:_SHOWN] if row.comparison else ():
                say.print(difference, markup=False)
            rows.append(row)
    console = Console()
    show(rows, console if console.is_terminal else Console(width=_WIDE))
    if json is not None:
        write(rows, json)
    return rows
