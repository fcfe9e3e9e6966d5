"""What is known of each photo. A row is never changed: its digest stands in histories."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, select
from sqlalchemy.dialects.postgresql import insert

from tracker.store.tables import PHOTOS


@dataclass(frozen=True, slots=True)
class PhotoRow:
    """One photo; digests in hex. `taken_at` is in the camera's own time, ISO 8601."""

    digest: str
    media_type: str
    bytes: int
    width: int
    height: int
    taken_at: str | None
    received_at: datetime
    too_dark: bool
    too_blurred: bool
    small: str
    large: str


_DIGESTS = ("digest", "small", "large")


def add(connection: Connection, row: PhotoRow) -> PhotoRow:
    """Add a photo and return what stands now: one that was there already stays as it was."""
    values = {name: getattr(row, name) for name in PhotoRow.__slots__}
    values |= {name: bytes.fromhex(values[name]) for name in _DIGESTS}
    connection.execute(
        insert(PHOTOS).on_conflict_do_nothing(constraint="pk_photos").values(**values)
    )
    # Asked for anew: at this level each statement sees what another has just committed.
    return find(connection, row.digest) or row


def find(connection: Connection, digest: str) -> PhotoRow | None:
    """Return the photo with this digest (64 hex digits), if there is one."""
    query = select(PHOTOS).where(PHOTOS.c.digest == bytes.fromhex(digest))
    row = connection.execute(query).mappings().one_or_none()
    if row is None:
        return None
    return PhotoRow(**dict(row) | {name: row[name].hex() for name in _DIGESTS})
