"""Answer alerts: acknowledge them, or put them off until a day, with a reason.

An alert stands until its cause is gone, whatever is answered; the answer only ends its reminders.
That is work of the day and no history: when the alert goes, the answer goes with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date
from uuid import UUID

from sqlalchemy import Connection

from shared.errors import HardstandError
from tracker.services.actor import Machine, Person, Role
from tracker.services.context import Context
from tracker.services.sight import sight_of
from tracker.services.unit_view import find_unit
from tracker.store import alert_answers, house, orders
from tracker.store.alert_answers import AlertAnswer
from tracker.store.alerts import AlertRow


class AlertUnknownError(HardstandError):
    """No such alert stands about the unit; carries its kind."""

    def __init__(self, name: str, kind: str) -> None:
        self.kind = kind
        super().__init__(
            f"No alert {kind!r} stands about {name}",
            expected="a kind that the list of alerts shows for this unit",
            remedy="Look at the list: its cause may be gone by now",
        )


class AlertNotYoursError(HardstandError):
    """The alert is for others to answer; carries whose it is."""

    def __init__(self, role: str) -> None:
        self.role = role
        super().__init__(
            f"This alert is for {role} to answer",
            expected=f"the role {role} or manager, at the depot of the alert",
            remedy="Ask one of them",
        )


class PutOffError(HardstandError):
    """An alert cannot be put off until a day that has come already; carries the day."""

    def __init__(self, until: date) -> None:
        self.until = until
        super().__init__(
            f"{until} has come already",
            expected="a day after today",
            remedy="Name a later day, or acknowledge the alert",
        )


@dataclass(frozen=True, slots=True)
class AlertName:
    """What names alerts: a unit by any of its names, a kind, and the cause where there are two.

    An alert about an order is named by the order's id.
    """

    unit: str
    kind: str
    cause: str | None = None


def acknowledge(
    context: Context, name: AlertName, *, by: str, reason: str, actor: Person | Machine | None
) -> list[AlertRow]:
    """Let alerts stand without further reminders; return which.

    Args:
        context: The means of the web role.
        name: Which; all of the kind about the unit where no cause is named.
        by: Who answers, as shown.
        reason: What is being done about it.
        actor: Who is signed in, None for somebody at the machine itself.

    Raises:
        UnitUnknownError, AlertUnknownError: there is no such unit or alert for them to see.
        AlertNotYoursError: it is for another role to answer.
    """
    return _answer(context, name, by, reason, actor, None)


def put_off(
    context: Context,
    name: AlertName,
    *,
    until: date,
    by: str,
    reason: str,
    actor: Person | Machine | None,
) -> list[AlertRow]:
    """Tell no more of alerts until a day, and then again; see `acknowledge`.

    Raises:
        PutOffError: the day is not after today at the alert's depot.
    """
    return _answer(context, name, by, reason, actor, until)


def _answer(
    context: Context,
    name: AlertName,
    by: str,
    reason: str,
    actor: Person | Machine | None,
    until: date | None,
) -> list[AlertRow]:
    now = context.clock.now()
    with context.engine.begin() as connection:
        unit_id = _find_subject(connection, name.unit)
        found = alert_answers.find_open(connection, unit_id, name.kind, name.cause)
        rows = _theirs(found, name, actor)
        zones = house.zones(connection)
        for row in rows:
            if until is not None and until <= now.astimezone(zones.get(row.depot, UTC)).date():
                raise PutOffError(until)
        alert_answers.put(connection, rows, AlertAnswer(by, now, reason, until))
    return rows


def _find_subject(connection: Connection, name: str) -> UUID:
    """Return the order of an id, or the unit of any of its names."""
    try:
        order_id = UUID(name)
    except ValueError:
        return find_unit(connection, name)
    return order_id if orders.depots_of(connection, [order_id]) else find_unit(connection, name)


def _theirs(
    found: Sequence[AlertRow], name: AlertName, actor: Person | Machine | None
) -> list[AlertRow]:
    """Return the alerts that are the actor's to answer."""
    if actor is not None:
        found = [row for row in found if sight_of(actor).reaches(row.depot)]
    if not found:
        raise AlertUnknownError(name.unit, name.kind)
    rows = [row for row in found if may_answer(actor, row.depot, row.role)]
    if not rows:
        raise AlertNotYoursError(found[0].role)
    return rows


def may_answer(actor: Person | Machine | None, depot: str, role: str) -> bool:
    """Say whether an alert of a depot, for a role, is somebody's to answer; None is anybody."""
    if actor is None:
        return True
    if isinstance(actor, Machine):
        return False
    return not actor.roles_at(depot).isdisjoint({Role.MANAGER.value, role})
