"""What the record keeps, in the words and times that a person reads: the filters of templates."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, tzinfo
from functools import lru_cache
from typing import Any, Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from jinja2 import Environment

from shared.errors import KnowledgeError
from shared.legible import as_shown
from shared.masses import write_kilograms
from shared.moments import in_zone
from shared.size_types import SizeType, read_size_type
from shared.work import starting_catalogue
from tracker.web.pages.navigation import places_for

_SAID: Final = {
    "as-is": "as it is",
    "in-depot": "here",
    "pre-advice": "announced",
    "gate-in": "came in",
    "inspection": "looked at",
    "sighting": "seen",
    "restow": "moved",
    "examination": "examined",
    "survey": "surveyed",
    "modification": "fitted",
    "repair": "mended",
    "marking": "marks changed",
    "plate-change": "plate changed",
    "gate-out": "left",
    "delivery": "delivery",
    "complaint": "complaint",
    "claim-notice": "notice of a claim given",
    "claim-closed": "claim closed",
    "disposal": "disposed of",
    "acquisition": "bought",
    "work-order": "work ordered",
    "hold": "held",
    "hold-cleared": "hold lifted",
    "reservation": "reserved",
    "order": "ordered",
    "sale": "sold",
    "release": "released",
    "passing-on": "passed on",
    "payment": "paid",
    "cancellation": "cancelled",
    "clearance": "asked at the barrier",
    "take-back": "taken back",
    "answer": "question answered",
    "correction": "corrected",
    "true": "yes",
    "false": "no",
}
"""What reads otherwise than its own name with spaces for hyphens."""

_NO_BREAK: Final = "\u202f"
_UNITS: Final = {"_kg": "kg", "_lb": "lb", "_mm": "mm", "_n": "N", "_m3": "m³", "_ft": "ft"}


_PICTURES: Final = frozenset({"photo", "photos", "signature"})
_NO_NEWS: Final = frozenset({"on_credit", "no_plate", "plate no_plate", "withdrawn"})
"""Fields that tell nothing when they are false."""


def words(value: object) -> str:
    """Return a word of the record as a person says it."""
    if value is None or value == "":
        return ""
    said = str(value).lower() if isinstance(value, bool) else str(value)
    return _SAID.get(said, said.replace("-", " "))


def field_words(name: str) -> str:
    """Return the name of a field as words, its unit in brackets."""
    for ending, unit in _UNITS.items():
        if name.endswith(ending):
            return f"{name.removesuffix(ending).replace('_', ' ')} ({unit})"
    return name.replace("_", " ")


def flat_name(name: str) -> str:
    """Return the path of a field as words: `masses.tare_kg` is `tare (kg)`."""
    return field_words(name.rpartition(".")[2])


def told(sentence: str | None, zone: str | None = None) -> str:
    """Return a sentence of the record with its moments told in a zone, where one is known."""
    return in_zone(sentence or "", _zone(zone)) if zone else sentence or ""


def moment(value: datetime | str | None, zone: str | None = None) -> str:
    """Return a moment as day and minute of a zone, of UTC where none is named."""
    if value is None or value == "":
        return ""
    at = datetime.fromisoformat(value) if isinstance(value, str) else value
    told = at.astimezone(_zone(zone)).strftime("%d %b %Y, %H:%M").removeprefix("0")
    return told if zone else f"{told} UTC"


def day(value: date | str | None) -> str:
    """Return a day as a person writes it; what is no day stays as it is."""
    if value is None or value == "":
        return ""
    try:
        read = date.fromisoformat(value) if isinstance(value, str) else value
    except ValueError:
        return str(value)
    return read.strftime("%d %b %Y").removeprefix("0")


def month(value: date | str | None) -> str:
    """Return a month in words, of a day in it or of `YYYY-MM`; what is no month stays as it is."""
    if value is None or value == "":
        return ""
    try:
        read = date.fromisoformat(f"{value[:7]}-01") if isinstance(value, str) else value
    except ValueError:
        return str(value)
    return read.strftime("%b %Y")


def short_size(size_type: str | None) -> str:
    """Return what a size-type code says in short: `40 ft high, general purpose`."""
    return size_words(size_type).partition(":")[0]


@lru_cache(maxsize=1024)
def size_words(size_type: str | None) -> str:
    """Return what a size-type code says: `20 ft, general purpose: openings at one or both ends`."""
    if not size_type:
        return ""
    try:
        read = read_size_type(size_type)
    except KnowledgeError:
        return size_type
    if not isinstance(read, SizeType):
        return f"{read.length_ft} ft, {read.type_text}"
    high = " high" if read.needs_height_marks else ""
    return f"{read.length.words}{high}, {read.meanings[0].text}"


def fitting_words(names: Iterable[str]) -> str:
    """Return what is fitted, in words with commas between."""
    return ", ".join(words(name) for name in names)


def kilograms(value: int | None) -> str:
    """Return a mass as all of Hardstand writes them: `30 480 kg`, kept on one line."""
    return "" if value is None else write_kilograms(value).replace(" ", _NO_BREAK)


def flat(
    said: dict[str, Any], leaving_out: Iterable[str] = (), zone: str | None = None
) -> list[tuple[str, str]]:
    """Return what an event says as pairs of words, one for each value that is there.

    Moments are told in a zone. Photos are left to whoever shows them: see `photos_of`.
    """
    out: list[tuple[str, str]] = []
    for name, value in said.items():
        if name not in leaving_out:
            _flatten(name, value, out, zone)
    return out


def photos_of(said: object) -> list[str]:
    """Return the digests of all photos that an event names, wherever it names them, each once.

    A signature is none: it stands on the receipt that was signed.
    """
    if isinstance(said, dict):
        named = [said["photo"]] if isinstance(said.get("photo"), str) else []
        inner = [one for name in said for one in photos_of(said[name])]
        listed = said.get("photos")
        own = [one for one in listed if isinstance(one, str)] if isinstance(listed, list) else []
        return list(dict.fromkeys([*own, *named, *inner]))
    if isinstance(said, list):
        return list(dict.fromkeys(digest for one in said for digest in photos_of(one)))
    return []


def _flatten(name: str, value: object, out: list[tuple[str, str]], zone: str | None) -> None:
    if name.rpartition(" ")[2] in _PICTURES:
        return
    if value is None or value == [] or value == {} or (value is False and name in _NO_NEWS):
        return
    if isinstance(value, dict):
        for inner, one in value.items():
            _flatten(f"{name} {inner}" if name not in ("masses",) else inner, one, out, zone)
    elif isinstance(value, list):
        if all(not isinstance(one, dict | list) for one in value):
            out.append((field_words(name), ", ".join(words(one) for one in value)))
            return
        for one in value:
            told = (
                ", ".join(f"{label} {text}" for label, text in flat(one, zone=zone)) if one else ""
            )
            out.append((field_words(name), told))
    else:
        out.append((field_words(name), _value(name, value, zone)))


def _value(name: str, value: object, zone: str | None) -> str:
    if isinstance(value, str):
        if name.endswith(("_at", "until")) and "T" in value:
            return moment(value, zone)
        if name.endswith("_in"):
            return month(value)
        if name == "size_type":
            said = size_words(value)
            return f"{value}: {said}" if said not in ("", value) else value
    if isinstance(value, int) and not isinstance(value, bool) and name.endswith(("_kg", "_n")):
        return f"{value:,}".replace(",", _NO_BREAK)
    if name.endswith(("_on", "_by")) and isinstance(value, str):
        return day(value)
    return words(value) if isinstance(value, bool) or _is_word(value) else str(value)


def _is_word(value: object) -> bool:
    text = str(value)
    return text in _SAID or text in _WORK


_WORK: Final = frozenset(starting_catalogue())


def _zone(name: str | None) -> tzinfo:
    if not name or name == "UTC":
        return UTC
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError):
        return UTC


def install(environment: Environment) -> None:
    """Let templates use these as filters, and the places of the bar as a function."""
    environment.filters.update(
        {
            "words": words,
            "field_words": field_words,
            "photos_of": photos_of,
            "flat_name": flat_name,
            "moment": moment,
            "told": told,
            "day": day,
            "month": month,
            "size_words": size_words,
            "short_size": short_size,
            "fitting_words": fitting_words,
            "kg": kilograms,
            "flat": flat,
        }
    )
    environment.finalize = as_shown
    environment.globals["places_for"] = places_for
