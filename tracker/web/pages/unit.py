"""One unit: what it is, all that happened to it as a line of time, and any day of its past."""

from __future__ import annotations

from datetime import datetime, time
from typing import Annotated, Any
from urllib.parse import quote
from uuid import UUID

from anyio import to_thread
from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import HTMLResponse

from tracker.judge.fold import SETTLING
from tracker.services import listings, sight
from tracker.services.actor import Person, Role
from tracker.services.standing import standing_events
from tracker.web.access import EVERY_ROLE, ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.changed import settled_by
from tracker.web.pages.claims import may_claim
from tracker.web.pages.corrections import may_correct
from tracker.web.pages.deciding import find_told
from tracker.web.pages.gate import ROLES as GATE
from tracker.web.pages.holds import hold_values
from tracker.web.pages.naming import typed_name
from tracker.web.pages.open_damage import mendings_of
from tracker.web.pages.page import render
from tracker.web.pages.reports import may_report
from tracker.web.pages.work_orders import may_order_work
from tracker.web.pages.workshop import INSPECTORS, may_work
from tracker.web.request_errors import BadRequestError

router = APIRouter(include_in_schema=False)

UnitName = Annotated[str, Path(max_length=80)]
When = Annotated[str, Query(max_length=40, pattern=r"^[^\x00]*$")]


class MomentUnreadError(BadRequestError):
    """A text is no moment; carries it."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(
            f"{text!r} is no moment",
            expected="a day such as 2026-03-02, or a day and a time such as 2026-03-02T14:30",
            remedy="Go back and choose the moment again",
        )


@router.get("/units/{mark:path}")
@needs(*EVERY_ROLE)
async def get_unit(  # noqa: PLR0913 - what may be asked, each an argument
    request: Request,
    mark: UnitName,
    means: TheMeans,
    person: ThePerson,
    *,
    as_of: When = "",
    known_at: When = "",
    told: UUID | None = None,
) -> HTMLResponse:
    """Show a unit as it is, as it was at a moment, or as it was known at one."""
    receipt = await find_told(means, person, told)
    seen = sight.sight_of(person)
    values = await to_thread.run_sync(_look, means, seen, mark, as_of, known_at)
    values["dealt_here"] = not values["is_past"] and seen.reaches(values["record"]["depot"])
    values["reports_here"] = not values["is_past"] and may_report(person, values["record"])
    values["works_here"] = not values["is_past"] and may_work(person, values["record"])
    values["orders_work"] = not values["is_past"] and may_order_work(person, values["record"])
    values["inspects"] = not values["is_past"] and person.has_any(INSPECTORS)
    values["at_gate"] = not values["is_past"] and person.has_any(GATE)
    values["claims_here"] = not values["is_past"] and may_claim(person, values["record"]["depot"])
    values["damages"] = mendings_of(values["record"])
    values |= hold_values(person, values["record"])
    values["leaves_here"] = not values["is_past"] and _leaves_here(person, values["record"])
    values["correctable"] = set() if values["is_past"] else _correctable(person, values)
    return render(request, "unit/unit.html", told=receipt, as_of=as_of, known_at=known_at, **values)


def _look(
    means: WebMeans, seen: sight.Sight, mark: str, as_of: str, known_at: str
) -> dict[str, Any]:
    zones = listings.zone_names(means.context)
    now = sight.show(means.context, seen, mark)
    zone = zones.get(now.record["depot"], "UTC")
    view = now
    if as_of or known_at:
        view = sight.show(
            means.context,
            seen,
            mark,
            as_of=read_moment(means, as_of, now.record["depot"]),
            known_at=read_moment(means, known_at, now.record["depot"]),
        )
    rows = sorted(view.history, key=lambda row: (row["effective_at"], row["seq"]), reverse=True)
    # Before its first event it had no mark: it is shown under the one that it has now.
    named = view.record if view.record["mark"] or view.record["tag"] else now.record
    name = named["mark"] or named["tag"] or str(view.unit_id)
    return {
        "view": view,
        "record": view.record,
        "name": name,
        "typed_name": typed_name(view.record) if named is view.record else name,
        "address": quote(str(now.record["mark"] or now.unit_id)),
        "rows": rows,
        "by_id": {row["id"]: row for row in view.history},
        "zone": zone,
        "settled": settled_by(view.history, zone),
        "standing": standing_events(view.history),
        "is_past": bool(as_of or known_at),
        "papers": papers_of,
    }


def _leaves_here(person: Person, record: dict[str, Any]) -> bool:
    """Say whether the unit is here and somebody works at its gate: its release note leads here."""
    return record["presence"] == "in-depot" and not person.roles_at(
        record["depot"] or ""
    ).isdisjoint({Role.GATE, Role.MANAGER})


def _correctable(person: Person, values: dict[str, Any]) -> set[str]:
    """Return the events that stand here and that somebody's roles let them correct."""
    return {
        row["id"]
        for row in values["rows"]
        if row["id"] in values["standing"]
        and row["kind"] not in SETTLING
        and any(
            may_correct(person, row["kind"], at) for at in (row["depot"], values["record"]["depot"])
        )
    }


def papers_of(row: dict[str, Any], address: str) -> list[tuple[str, str]]:
    """Return the papers of an event in words, each with where it is."""
    match row["kind"]:
        case "gate-in" | "gate-out":
            return [("Interchange receipt", f"/api/events/{row['id']}/interchange.pdf")]
        case "release":
            return [("Release note", f"/api/units/{address}/release.pdf")]
        case _:
            return []


def read_moment(means: WebMeans, text: str, depot: str | None) -> datetime | None:
    """Read a day or a moment; without a zone it is the depot's, and a day is meant to its end.

    Raises:
        MomentUnreadError: the text is neither.
    """
    if not text:
        return None
    try:
        read = datetime.fromisoformat(text)
    except ValueError:
        raise MomentUnreadError(text) from None
    if len(text) == len("2026-03-02"):
        read = datetime.combine(read.date(), time.max)
    if read.tzinfo is None:
        read = read.replace(tzinfo=listings.zone_of(means.context, depot or ""))
    return read
