"""What every paper of a unit is made from: the unit as it is shown, who writes, and pictures."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from urllib.parse import quote

import orjson

from schemas.readings import Masses
from schemas.records import Record, load_record
from shared.settings import Settings
from tracker.papers.particulars import Issue, Unit
from tracker.services import photos
from tracker.services.context import Context
from tracker.services.photos import PhotoForgottenError, PhotoUnknownError
from tracker.services.unit_view import UnitView
from tracker.store import house
from tracker.store.photo_files import PhotoFileMissingError, PhotoFileSpoiltError


def record_of(view: UnitView) -> Record:
    """Return the record that is shown, people named, as the judge reads one."""
    shown = {name: value for name, value in view.record.items() if name != "alerts"}
    return load_record(orjson.dumps(shown))


def unit_of(record: Record) -> Unit:
    """Return the unit as papers name it, with the masses that its doors should show."""
    masses = Masses(
        gross_kg=record.gross_kg,
        tare_kg=record.tare_kg,
        payload_kg=record.payload_kg,
        cube_m3=None if record.cube_m3 is None else Decimal(record.cube_m3),
    )
    former = dict.fromkeys(one.mark for one in record.marks if one.mark != record.mark)
    return Unit(
        mark=record.mark,
        tag=record.tag,
        former_marks=tuple(former),
        size_type=record.size_type,
        masses=masses,
    )


def issue_of(
    context: Context,
    view: UnitView,
    *,
    depot: str | None = None,
    as_of: datetime | None = None,
    at: datetime | None = None,
) -> Issue:
    """Return who writes a paper now, and from which row of the history.

    Args:
        context: The process's means.
        view: The unit, as far as whoever asks may see it.
        depot: Whose paper it is; the unit's own where it is left out.
        as_of: The moment whose truth the paper tells, where it is not now.
        at: The moment on the paper, where it tells of one and not of today.
    """
    code = depot or view.record["depot"] or (view.history[-1]["depot"] if view.history else "")
    named = depot_named(context, code)
    last = max(view.history, key=lambda row: row["seq"], default=None)
    return Issue(
        depot=named["name"],
        at=at or context.clock.now(),
        as_of=as_of,
        zone=named["zone"],
        address=address_of(context.settings, view),
        history_digest=None if last is None else last["digest"],
        history_seq=None if last is None else last["seq"],
    )


def depot_named(context: Context, code: str) -> Mapping[str, Any]:
    """Return `name` and `zone` of a depot; its code and UTC where nobody has named it."""
    with context.engine.begin() as connection:
        known = {row["code"]: row for row in house.list_depots(connection)}
    return known.get(code, {"name": code, "zone": "UTC"})


def address_of(settings: Settings, view: UnitView) -> str:
    """Return where a unit's page is: by its mark, and by its id while it has none."""
    name = view.record["mark"] or str(view.unit_id)
    return f"{settings.public_address.rstrip('/')}/units/{quote(name, safe='')}"


def find_picture(context: Context, digest: str | None) -> bytes | None:
    """Return the copy of a photo that papers show, at most 1280 pixels; None when it is not here.

    A paper is written without its photo rather than not at all.
    """
    if digest is None:
        return None
    try:
        return photos.open_photo(context, digest, "large").content
    except (PhotoUnknownError, PhotoForgottenError, PhotoFileMissingError, PhotoFileSpoiltError):
        return None


def was_forgotten(context: Context, digest: str) -> bool:
    """Say whether a picture is missing because it was erased on request."""
    try:
        photos.open_photo(context, digest, "small")
    except PhotoForgottenError:
        return True
    except (PhotoUnknownError, PhotoFileMissingError, PhotoFileSpoiltError):
        return False
    return False
