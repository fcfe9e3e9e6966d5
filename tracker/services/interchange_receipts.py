"""Write the interchange receipt of one arrival or departure, whichever way it is told today."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final, Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from schemas.events.gate import OutsideLookedAt
from schemas.records import OpenDamage, Record
from tracker.papers.interchange import DamageSeen, Interchange
from tracker.papers.particulars import Party
from tracker.papers.signing import Signing
from tracker.services import paper_values
from tracker.services import sight as seeing
from tracker.services.context import Context
from tracker.services.report import EventUnknownError
from tracker.services.sight import Sight, may_see_event
from tracker.services.unit_view import UnitUnknownError, UnitView, show_unit
from tracker.store import intake
from tracker.store.engine import one_moment

Row = dict[str, Any]

_DIRECTIONS: Final[dict[str, Literal["in", "out"]]] = {"gate-in": "in", "gate-out": "out"}


def receipt_of(context: Context, sight: Sight, event_id: UUID) -> Interchange:
    """Return the receipt of a gate report: the unit as it was then, signed or refused.

    Damage of an arrival is what the gate and the inspections of that day found on the lorry; of a
    departure what stood open.

    Raises:
        EventUnknownError: no arrival or departure is recorded under the id, or none to be seen.
    """
    today, row = _find_row(context, sight, _find_unit(context, sight, event_id), event_id)
    at = datetime.fromisoformat(row["effective_at"])
    then = seeing.show(context, sight, str(today.unit_id), as_of=at)
    event, record = row["event"], paper_values.record_of(then)
    issue = paper_values.issue_of(context, then, depot=row["depot"], at=at)
    day = [one for one in today.history if _is_same_day(one, row, issue.zone)]
    is_in = row["kind"] == "gate-in"
    damages = _found_on_lorry(day) if is_in else _open(record)
    return Interchange(
        direction=_DIRECTIONS[row["kind"]],
        unit=paper_values.unit_of(record),
        issue=issue,
        purpose=event["purpose"].replace("-", " "),
        reference=event.get("reference"),
        laden=event["laden"],
        seal=event.get("seal"),
        placards=event.get("placards") if is_in else record.placards,
        haulier=event.get("haulier"),
        vehicle=event.get("vehicle"),
        driver=event.get("driver"),
        parties=_parties(record, row),
        outside=_outside(day if is_in else today.history, row),
        damages=damages,
        seen_in_words=event.get("damage_on_lorry"),
        remarks=_remarks(row),
        signings=_signings(context, row),
    )


def _find_unit(context: Context, sight: Sight, event_id: UUID) -> UUID:
    with one_moment(context.engine) as connection:
        known = intake.find_known(connection, [event_id]).get(event_id)
        seen = known is not None and may_see_event(connection, sight, known)
        if known is None or not seen or known.stream_id is None:
            raise EventUnknownError(event_id)
        return known.stream_id


def _find_row(
    context: Context, sight: Sight, unit_id: UUID, event_id: UUID
) -> tuple[UnitView, Row]:
    """Return the gate report with its unit; with the one that its unit turned out to be, if any.

    The paper tells of the unit, too: whoever reports a departure of one that they never had gets
    the verdict on it, and no paper.
    """
    into = show_unit(context, str(unit_id)).record["merged_into"]
    try:
        view = seeing.show(context, sight, into or str(unit_id))
    except UnitUnknownError:
        raise EventUnknownError(event_id) from None
    for row in view.history:
        if row["id"] == str(event_id) and row["kind"] in _DIRECTIONS:
            return view, row
    raise EventUnknownError(event_id)


def _is_same_day(one: Row, row: Row, zone: str) -> bool:
    there = ZoneInfo(zone)
    days = [
        datetime.fromisoformat(each["effective_at"]).astimezone(there).date() for each in (one, row)
    ]
    return days[0] == days[1] and one["depot"] == row["depot"]


def _outside(rows: list[Row], row: Row) -> OutsideLookedAt:
    """Return what the gate said; where it said nothing, whether an inspection was told instead."""
    if said := row["event"].get("outside_looked_at"):
        return OutsideLookedAt(said)
    return OutsideLookedAt.YES if _was_looked_at(rows, row) else OutsideLookedAt.NO


def _was_looked_at(rows: list[Row], row: Row) -> bool:
    """Say whether somebody looked: an inspection of that day, or one since it last came in."""
    if row["kind"] == "gate-in":
        return any(one["kind"] == "inspection" for one in rows)
    earlier = [one for one in rows if one["effective_at"] <= row["effective_at"]]
    arrivals = [one["effective_at"] for one in earlier if one["kind"] == "gate-in"]
    since = max(arrivals, default="")
    return any(one["kind"] == "inspection" and one["effective_at"] >= since for one in earlier)


def _found_on_lorry(day: list[Row]) -> tuple[DamageSeen, ...]:
    return tuple(
        DamageSeen(
            component=one["component"],
            kind=one["kind"],
            place=one.get("place"),
            measured_mm=one.get("measured_mm"),
            on_lorry=True,
        )
        for row in day
        if row["replaced_by"] is None
        for one in row["event"].get("damages") or ()
        if isinstance(one, dict) and one.get("on_lorry")
    )


def _open(record: Record) -> tuple[DamageSeen, ...]:
    return tuple(_seen(damage) for damage in record.damages)


def _seen(damage: OpenDamage) -> DamageSeen:
    return DamageSeen(
        component=damage.component,
        kind=damage.kind,
        place=damage.place,
        measured_mm=damage.measured_mm,
        on_lorry=damage.on_lorry,
    )


def _parties(record: Record, row: Row) -> tuple[Party, ...]:
    if row["kind"] == "gate-out" and record.sale is not None:
        return (Party(role="Buyer", name=record.sale.buyer),)
    return () if record.owner is None else (Party(role="Owner", name=record.owner),)


def _remarks(row: Row) -> str:
    event = row["event"]
    told = (
        event.get("last_cargo") and f"Last cargo: {event['last_cargo']}",
        event.get("note"),
        row["replaced_by"] and f"Told otherwise since, by event {row['replaced_by']}.",
    )
    return "\n".join(one for one in told if one)


def _signings(context: Context, row: Row) -> tuple[Signing, ...]:
    event = row["event"]
    depot = Signing(role="For the depot", name=row["reported_by"])
    return (depot, _driver(context, event))


def _driver(context: Context, event: Row) -> Signing:
    role, name = "For the haulier", event.get("driver") or ""
    if (refusal := event.get("signature_refused")) is not None:
        reason = refusal.strip() or "no reason given"
        return Signing(role=role, name=name, state="refused", reason=reason)
    digest = event.get("signature")
    if digest is None:
        return Signing(role=role, name=name)
    picture = paper_values.find_picture(context, digest)
    if picture is None:
        gone = paper_values.was_forgotten(context, digest)
        why = "was erased on request" if gone else "is not in the store"
        said = f"{name} (signed; the picture {digest[:12]} {why})".strip()
        return Signing(role=role, name=said)
    return Signing(role=role, name=name, state="signed", picture=picture)
