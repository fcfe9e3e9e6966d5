"""Take a photo in on a full disk: `python -m deploy.faults.full_disk < PHOTO`; prints what it says.

The kernel refuses every file past its first bytes, as a full disk does. A process of its own, since
the limit holds for all that a process writes.
"""

from __future__ import annotations

import resource
import signal
import sys

from shared import logs
from shared.clock import SystemClock
from shared.settings import load
from tracker.services.context import Context
from tracker.services.photos import take_photo
from tracker.store.engine import make_engine
from tracker.store.photo_files import PhotoStoreFullError

_FITS_BYTES = 1024


def main() -> None:
    """Take it in; say `full` when that is what the store says."""
    logs.configure("full-disk", level="ERROR")
    settings = load()
    context = Context(make_engine(settings.databases().web), settings, SystemClock())
    photo = sys.stdin.buffer.read()
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (_FITS_BYTES, _FITS_BYTES))
    try:
        take_photo(context, photo)
    except PhotoStoreFullError:
        sys.stdout.write("full")


if __name__ == "__main__":
    main()
