"""What all papers of a unit share: which unit, who wrote the paper, when, and about whom."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from pydantic import AwareDatetime

from schemas.base import Model
from schemas.readings import Masses
from shared import marks
from shared.errors import KnowledgeError
from shared.masses import write_kilograms, write_pounds
from shared.size_type_description import describe
from shared.size_types import read_size_type
from tracker.papers import typesetting

UNKNOWN: Final = "not known"
_MASSES: Final = (("gross", "Maximum gross"), ("tare", "Tare"), ("payload", "Payload"))


class Unit(Model):
    """The unit a paper is about. Its masses are those the doors should show today."""

    mark: str | None
    tag: str | None = None
    """The depot's own tag number, for a unit without a sure mark."""
    former_marks: tuple[str, ...] = ()
    size_type: str | None = None
    masses: Masses = Masses()


class Issue(Model):
    """Who wrote a paper and when, and where the record it was written from is found."""

    depot: str
    depot_details: tuple[str, ...] = ()
    """Address and telephone, one per line."""
    at: AwareDatetime
    zone: str
    """The depot's time zone by its name, such as `Europe/Lisbon`."""
    address: str
    """Where the record is found, as the QR code says it."""
    history_digest: str | None = None
    """The digest of the last row of the history that the paper was written from."""
    history_seq: int | None = None
    as_of: AwareDatetime | None = None
    """The moment whose truth the paper tells, where that is not the one of writing."""

    @property
    def day(self) -> date:
        """The day that the paper tells of, at the depot."""
        return (self.as_of or self.at).astimezone(ZoneInfo(self.zone)).date()


class Party(Model):
    """Somebody a paper names, with what they are to the unit."""

    role: str
    name: str
    details: tuple[str, ...] = ()


def write_moment(at: datetime, zone: str) -> str:
    """Write a moment in a zone for people: `2026-11-25 09:14 (UTC+01:00, Europe/Berlin)`."""
    there = at.astimezone(ZoneInfo(zone))
    offset = there.strftime("%z")
    return f"{there:%Y-%m-%d %H:%M} (UTC{offset[:3]}:{offset[3:5]}, {zone})"


def write_mark(unit: Unit) -> str:
    """Write the unit's mark with its spaces, else its tag, else that it has neither."""
    if unit.mark is None:
        return f"Tag {unit.tag}" if unit.tag else "No mark"
    compact = marks.find_compact(unit.mark)
    return unit.mark if compact is None else marks.written(compact)


def size_type_words(code: str) -> str:
    """Return what a size-type code says, in one line; empty when it says nothing known."""
    try:
        said = describe(read_size_type(code))
    except KnowledgeError:
        return ""
    meanings = said.get("meanings")
    types = _types(meanings) if isinstance(meanings, list) else [str(said["type"])]
    height = f"{said['height']} high" if said.get("height") else None
    width = f"{said['width']} wide" if said.get("width") else None
    size = ", ".join(str(part) for part in (said["length"], height, width) if part)
    return f"{size}: {' or '.join(types)}"


def _types(meanings: list[Any]) -> list[str]:
    return [str(meaning["type"]) for meaning in meanings]


def unit_values(unit: Unit) -> dict[str, Any]:
    """Return the unit as templates take it: `mark`, `facts` and a table of `masses`."""
    facts = [["Tag of the depot", unit.tag]] if unit.tag and unit.mark else []
    if unit.former_marks:
        facts.append(["Earlier marks", ", ".join(unit.former_marks)])
    return {
        "mark": write_mark(unit),
        "size_type": unit.size_type or UNKNOWN,
        "size_words": size_type_words(unit.size_type) if unit.size_type else "",
        "facts": facts,
        "masses": mass_rows(unit.masses),
    }


def mass_rows(masses: Masses) -> list[list[str]]:
    """Return a table of masses: a row of names, one of kilograms, one of pounds when any is known.

    The cube is a column of its own when it is known.
    """
    names = ["", *(name for _, name in _MASSES)]
    kilograms = ["kg", *(_written(masses, f"{field}_kg") or UNKNOWN for field, _ in _MASSES)]
    pounds = ["lb", *(_written(masses, f"{field}_lb") for field, _ in _MASSES)]
    rows = [names, kilograms, pounds] if any(pounds[1:]) else [names, kilograms]
    if masses.cube_m3 is None:
        return rows
    cube = ("Cube", f"{masses.cube_m3} m³", "")
    return [[*row, cell] for row, cell in zip(rows, cube, strict=False)]


def _written(masses: Masses, field: str) -> str:
    mass: int | None = getattr(masses, field)
    if mass is None:
        return ""
    return write_kilograms(mass) if field.endswith("_kg") else write_pounds(mass)


def issue_values(issue: Issue) -> dict[str, Any]:
    """Return the head and foot of a paper as templates take them."""
    return {
        "depot": issue.depot,
        "depot_details": issue.depot_details,
        "at": write_moment(issue.at, issue.zone),
        "as_of": "" if issue.as_of is None else write_moment(issue.as_of, issue.zone),
        "address": issue.address,
        "qr": typesetting.qr_code(issue.address),
        "history": _history(issue),
    }


def party_values(parties: tuple[Party, ...]) -> list[list[str]]:
    """Return role, name and details of each party."""
    return [[party.role, "\n".join((party.name, *party.details))] for party in parties]


def _history(issue: Issue) -> str:
    if issue.history_digest is None:
        return ""
    row = "" if issue.history_seq is None else f"row {issue.history_seq}, "
    return f"{row}digest {issue.history_digest}"
