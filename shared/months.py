"""Plate dates: a month of a year without a day, and whole-month arithmetic."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from typing_extensions import override

from shared.errors import KnowledgeError

# Digits of other scripts are left alone: the published pattern takes none.
_WRITTEN = re.compile(r"([0-9]{4})-([0-9]{2})")


class MonthError(KnowledgeError):
    """A text is no month of a year; carries the text."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(
            f"{text!r} is no month",
            expected="a year and a month such as 2026-09",
            remedy="Write the plate's month and year as YYYY-MM",
        )


@dataclass(frozen=True, slots=True, order=True)
class Month:
    """A month of a year, as a safety plate shows it. Knows no day and no zone."""

    year: int
    number: int

    def __post_init__(self) -> None:
        """Refuse what no plate can show."""
        if not (1900 <= self.year <= 2999 and 1 <= self.number <= 12):
            raise MonthError(f"{self.year:04}-{self.number:02}")

    @classmethod
    def parse(cls, text: str) -> Month:
        """Read `YYYY-MM`; raises `MonthError` for anything else."""
        match = _WRITTEN.fullmatch(text)
        if match is None:
            raise MonthError(text)
        return cls(int(match[1]), int(match[2]))

    @classmethod
    def of(cls, day: date) -> Month:
        """Return the month that `day` lies in."""
        return cls(day.year, day.month)

    def plus(self, months: int) -> Month:
        """Return the month `months` later (earlier when negative), without any day in play."""
        total = self.year * 12 + self.number - 1 + months
        return Month(total // 12, total % 12 + 1)

    def months_until(self, later: Month) -> int:
        """Return the whole months from here to `later`; negative when it lies before."""
        return (later.year - self.year) * 12 + later.number - self.number

    def first_day(self) -> date:
        """Return the first day of the month."""
        return date(self.year, self.number, 1)

    def last_day(self) -> date:
        """Return the last day of the month."""
        return date.fromordinal(self.plus(1).first_day().toordinal() - 1)

    @override
    def __str__(self) -> str:
        """Write `YYYY-MM`."""
        return f"{self.year:04d}-{self.number:02d}"
