"""The logs in the data folder, turned over while their processes go on writing."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Final

MOST_BYTES: Final = 20_000_000


def turn_over(folder: Path, *, most_bytes: int = MOST_BYTES) -> list[Path]:
    """Empty each log that has grown larger, and keep what stood in it as `<name>.log.1`.

    The processes only append, and go on at the new beginning; what one writes between copying and
    emptying is lost. Former pages are not kept: who wants these lets a log shipper read along.

    Raises:
        OSError: There is no room for the copy; then that log stays as it is.
    """
    turned = []
    for log in sorted(folder.glob("*.log")):
        if log.stat().st_size > most_bytes:
            shutil.copy(log, log.with_suffix(".log.1"))
            os.truncate(log, 0)
            turned.append(log)
    return turned
