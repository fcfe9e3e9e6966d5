"""A drainer that one event kills: `python -m deploy.faults.mortal_drainer EVENT-ID`.

The killing is real (SIGKILL in mid-batch, as by a kernel short of memory); what is wrapped is the
judging in this process alone, so that nothing of it is in the program itself.
"""

from __future__ import annotations

import math
import os
import signal
import sys
from collections.abc import Sequence
from uuid import UUID

from typing_extensions import override

from deploy.bench import drainer
from tracker.services import drain
from tracker.services.batch import Batch, Outcome
from tracker.store.intake import Waiting


class MortalBatch(Batch):
    """Kills its process when it meets the event."""

    @override
    def judge(self, claimed: Sequence[Waiting], stop_at: float = math.inf) -> Outcome:
        """Judge, unless the deadly one is among them."""
        if any(one.event_id == UUID(sys.argv[1]) for one in claimed):
            os.kill(os.getpid(), signal.SIGKILL)
        return super().judge(claimed, stop_at)


def main() -> None:
    """Drain until nothing waits, or the event is met."""
    vars(drain)["Batch"] = MortalBatch
    drainer.main()


if __name__ == "__main__":
    main()
