"""Run the whole table on servers of its own: `hardstand bench faults`."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Final

from rich.console import Console

from deploy.faults.scene import FaultRunError
from deploy.faults.servers import run_servers
from deploy.faults.table import FAULTS, FaultRow, run_fault, show, write
from shared.settings import Settings

_REDIS_AWAY_S: Final = 30
_SHOWN: Final = 3


def run_faults(settings: Settings, events: int, json: Path | None) -> list[FaultRow]:
    """Inject every fault, print the table, and write the rows to `json` where one is given."""
    say, rows = Console(stderr=True), list[FaultRow]()
    with (
        tempfile.TemporaryDirectory(prefix="hardstand-faults-") as folder,
        run_servers(settings, Path(folder) / "home") as servers,
    ):
        for fault in FAULTS:
            say.print(f"{fault.name} …")
            try:
                row = run_fault(servers, fault, events=events, pause_s=_REDIS_AWAY_S)
            except FaultRunError as failure:
                row = FaultRow(fault.name, events, None, 0, str(failure))
            for difference in row.comparison.differing[:_SHOWN] if row.comparison else ():
                say.print(difference, markup=False)
            rows.append(row)
    show(rows, Console())
    if json is not None:
        write(rows, json)
    return rows
