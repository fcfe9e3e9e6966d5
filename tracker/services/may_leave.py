"""Say whether a unit may pass the barrier now, and if not, everything that stands against it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from uuid import UUID

from sqlalchemy import Connection

from schemas.findings import Finding, Severity
from schemas.records import Record
from tracker.judge import leaving, order_rules, sale
from tracker.judge.orders import Driver, find_note, judge_collection
from tracker.judge.release_rules import COMMERCIAL
from tracker.judge.subject import reference_subject
from tracker.services.context import Context
from tracker.services.free_stock import promises_at
from tracker.services.unit_view import find_unit
from tracker.store import marks, orders, records


@dataclass(frozen=True, slots=True)
class Leave:
    """Whether a unit may leave. Opens nothing: a clearance at the barrier does."""

    unit_id: UUID
    mark: str | None
    depot: str | None
    findings: tuple[Finding, ...]
    is_cleared: bool = False
    """The barrier has let it pass already, and nothing stands against it since."""
    haulier: str | None = None
    """Who alone may collect it, where somebody is named; once cleared, for whom."""
    left: int | None = None
    """How many units the reference still lets pass, where it is an order's."""

    @property
    def is_given(self) -> bool:
        """It may leave when nothing refuses; a warning does not keep it."""
        return not self.refusals

    @property
    def refusals(self) -> tuple[Finding, ...]:
        """What keeps it here."""
        return tuple(one for one in self.findings if one.severity is Severity.REFUSE)

    @property
    def may_be_let_pass(self) -> bool:
        """Say whether a manager may let it pass all the same: nothing but commercial keeps it."""
        return bool(self.refusals) and all(one.id in COMMERCIAL for one in self.refusals)


def may_leave(
    context: Context, name: str, *, reference: str | None = None, haulier: str | None = None
) -> Leave:
    """Return what stands against the unit leaving now.

    Args:
        context: The process's means.
        name: A mark the unit bears or ever bore, its tag, or its id.
        reference: The collection reference that the driver named, where one was asked for.
        haulier: Whose lorry it is, where that was asked.

    Raises:
        UnitUnknownError: nobody has reported such a unit.
    """
    with context.engine.begin() as connection:
        unit_id = find_unit(connection, name)
        record = records.load(connection, [unit_id])[unit_id]
        driver = None if reference is None else Driver(reference, haulier)
        if driver is not None and not _is_its_own(record, driver):
            return _on_others_reference(context, connection, record, driver)
        now, rules = context.clock.now(), context.rulebook(connection)
        found = sale.hinders_leaving(record, now, rules, reference, haulier)
    release = record.release
    if release is None:
        return _leave(record, found)
    leave = _leave(record, leaving.still_stands(release, found))
    is_cleared = release.cleared and leave.is_given
    let = release.cleared_for if is_cleared else None
    return replace(leave, is_cleared=is_cleared, haulier=let or release.haulier)


def _is_its_own(record: Record, driver: Driver) -> bool:
    """Say whether a reference is, or was, that of the unit's own release."""
    release = record.release
    return release is not None and any(
        sale.is_same_reference(driver.reference, one)
        for one in (release.reference, *release.former)
    )


def _on_others_reference(
    context: Context, connection: Connection, record: Record, driver: Driver
) -> Leave:
    """Judge a reference that is not of the unit's own release: an order's, or one that is wrong."""
    now, rules = context.clock.now(), context.rulebook(connection)
    means = marks.resolve(connection, [subject := reference_subject(driver.reference)])
    order = orders.load(connection, means.values()).get(means[subject]) if means else None
    if order is not None:
        promises = promises_at(connection, record.depot, now)
        note = find_note(order, driver.reference)
        found = judge_collection(driver, record, order, promises, now, rules)
        if note is None:
            return _leave(record, found)
        return replace(_leave(record, found), haulier=note.haulier, left=note.left)
    found = sale.hinders_leaving(record, now, rules, haulier=driver.haulier)
    if means or record.release is not None:
        wrong = sale.WRONG_REFERENCE.finding("reference")
    else:
        wrong = order_rules.REFERENCE_UNKNOWN.finding("reference", seen=driver.reference)
    return _leave(record, [wrong, *found])


def _leave(record: Record, found: list[Finding]) -> Leave:
    return Leave(UUID(record.unit_id), record.mark or record.tag, record.depot, tuple(found))
