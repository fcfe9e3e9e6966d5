"""What is known of each photo. Its digest stands in histories; only its being forgotten is new."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, or_, select, update
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
    forgotten_at: datetime | None = None


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


def forget(connection: Connection, digest: str, at: datetime) -> PhotoRow | None:
    """Note that a photo is erased, unless it is known already; return it. None: there is none."""
    query = update(PHOTOS).where(
        PHOTOS.c.digest == bytes.fromhex(digest), PHOTOS.c.forgotten_at.is_(None)
    )
    connection.execute(query.values(forgotten_at=at))
    return find(connection, digest)


def is_shown_by_others(connection: Connection, file: str) -> bool:
    """Say whether a photo that is not forgotten has its picture, of any size, in this file."""
    of_it = (PHOTOS.c[name] == bytes.fromhex(file) for name in _DIGESTS)
    query = select(PHOTOS.c.digest).where(or_(*of_it), PHOTOS.c.forgotten_at.is_(None))
    return connection.execute(query.limit(1)).first() is not None
