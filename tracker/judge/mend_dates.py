"""By when damage is to be mended, and a firm given notice, where the inspector names no day."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final

from schemas.events.condition import Damage, Urgency

SOURCE: Final = "Hardstand design, repair due dates"

MEND_WITHIN_DAYS: Final[Mapping[Urgency, int | None]] = MappingProxyType(
    {Urgency.BEFORE_RELEASE: None, Urgency.SOON: 14, Urgency.WHEN_CONVENIENT: 90}
)
"""Days from the inspection; None is no day: the release waits for it, whenever that is."""

NOTICE_WITHIN_DAYS: Final = 3
"""Days to give notice of damage found on the lorry; the carriage contract may allow fewer."""


def urgency_of(damage: Damage, *, is_serious: bool) -> Urgency:
    """Return how soon it is to be mended: as the inspector says, else by its weight."""
    if damage.urgency is not None:
        return damage.urgency
    return Urgency.BEFORE_RELEASE if is_serious else Urgency.WHEN_CONVENIENT


def mend_by(damage: Damage, urgency: Urgency, found_on: date) -> date | None:
    """Return the last day to mend it: the inspector's, else by its urgency; None at release."""
    if damage.mend_by is not None:
        return damage.mend_by
    days = MEND_WITHIN_DAYS[urgency]
    return None if days is None else found_on + timedelta(days=days)


def notice_by(damage: Damage, found_on: date) -> date | None:
    """Return the last day to give notice of a claim; None for damage that makes none."""
    if not damage.on_lorry:
        return None
    return damage.notice_by or notice_after(found_on)


def notice_after(found_on: date) -> date:
    """Return the last day to give notice of damage found on a day, where nobody names one."""
    return found_on + timedelta(days=NOTICE_WITHIN_DAYS)
