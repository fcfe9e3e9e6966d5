"""How much memory the parts of a stack take, looked at again and again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from deploy.bench.process_costs import unshared_mb
from deploy.process import Part


@dataclass(slots=True)
class MemoryWatch:
    """Samples of each part's own memory with its children, in MB, in the order they were taken."""

    samples: list[dict[Part, float]] = field(default_factory=list)

    def look(self, pids: Mapping[Part, int]) -> None:
        """Take one sample; a part that is dead or dying is left out of it."""
        self.samples.append(
            {part: unshared for part, pid in pids.items() if (unshared := unshared_mb(pid))}
        )

    def course(self, part: Part) -> tuple[float, float, float, float]:
        """Return start, middle, end and the most of one part; zeros where it was never seen."""
        seen = [sample[part] for sample in self.samples if part in sample] or [0.0]
        return seen[0], seen[len(seen) // 2], seen[-1], max(seen)
