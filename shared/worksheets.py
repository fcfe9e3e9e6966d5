"""A worked calculation as a value: givens, results with formula and source, and the caution.

Pages, papers and the command line print it; nothing in it is rounded before that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from shared.errors import KnowledgeError
from shared.table_files import Certainty

Value = float | int | str
"""A value on a sheet: a number in the unit beside it, or words."""

# From what stands firmest to what stands on nothing but habit.
_WEAKER_LAST = (
    Certainty.READ,
    Certainty.DERIVED,
    Certainty.ONE_TEXT,
    Certainty.DESIGN,
    Certainty.MEMORY,
    Certainty.PRACTICE,
)


class WorksheetError(KnowledgeError):
    """A worksheet has no line of that name; carries the name."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f"The worksheet has no line {name!r}")


@dataclass(frozen=True, slots=True)
class Given:
    """One thing the calculation was told."""

    name: str
    value: Value
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """One result. `formula` is written as a person would write it; the value is not rounded."""

    name: str
    value: float
    unit: str
    formula: str
    source: str
    certainty: Certainty


@dataclass(frozen=True, slots=True)
class Worksheet:
    """A finished calculation. Holds values and words only; does no arithmetic of its own."""

    title: str
    inputs: tuple[Given, ...]
    lines: tuple[Line, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]

    def get_line(self, name: str) -> Line:
        """Return the line called `name`; raises `WorksheetError` when there is none."""
        for line in self.lines:
            if line.name == name:
                return line
        raise WorksheetError(name)

    def to_json(self) -> dict[str, object]:
        """Return plain lists and dicts, fit for JSON; certainties become their words."""
        return asdict(self)


def weakest(certainties: Sequence[Certainty]) -> Certainty:
    """Return the certainty a result has that rests on all of `certainties` (not empty)."""
    return max(certainties, key=_WEAKER_LAST.index)


def format_value(value: Value, unit: str) -> str:
    """Write a value with its unit, to four figures; whole numbers keep all of theirs.

    Thousands are set apart by a thin gap of one blank, as the standards print them.
    """
    if isinstance(value, str):
        text = value
    elif isinstance(value, int) or abs(value) >= 1000:
        text = f"{value:,.0f}".replace(",", " ")
    else:
        text = f"{value:.4g}"
    return f"{text} {unit}".rstrip()
