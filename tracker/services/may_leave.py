"""Say whether a unit may pass the barrier now, and if not, everything that stands against it."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from sqlalchemy import Connection

from schemas.findings import Finding, Severity
from schemas.orders import OrderRecord
from tracker.judge import sale
from tracker.judge.orders import Driver, judge_collection
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
    findings: tuple[Finding, ...]

    @property
    def is_given(self) -> bool:
        """It may leave when nothing refuses; a warning does not keep it."""
        return not any(finding.severity is Severity.REFUSE for finding in self.findings)


def may_leave(context: Context, name: str, *, reference: str | None = None) -> Leave:
    """Return what stands against the unit leaving now.

    Args:
        context: The process's means.
        name: A mark the unit bears or ever bore, its tag, or its id.
        reference: The collection reference that the driver named, where one was asked for.

    Raises:
        UnitUnknownError: nobody has reported such a unit.
    """
    with context.engine.begin() as connection:
        unit_id = find_unit(connection, name)
        record = records.load(connection, [unit_id])[unit_id]
        rules = context.rulebook(connection)
        order = None if reference is None else _order_of(connection, reference)
        now = context.clock.now()
        if order is not None and reference is not None:
            promises = promises_at(connection, record.depot, now)
            driver = Driver(reference)
            found = judge_collection(driver, record, order, promises, now, rules)
        else:
            found = sale.hinders_leaving(record, now, rules, reference)
    return Leave(unit_id, record.mark or record.tag, tuple(found))


def _order_of(connection: Connection, reference: str) -> OrderRecord | None:
    """Return the order that a collection reference was given on, if it was on one."""
    means = marks.resolve(connection, [subject := reference_subject(reference)])
    return orders.load(connection, means.values()).get(means[subject]) if means else None
