"""The photos, which events name them, and who sent them."""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    Boolean,
    Column,
    Integer,
    LargeBinary,
    PrimaryKeyConstraint,
    Table,
    Text,
    Uuid,
)

from tracker.store.tables.metadata import METADATA, MOMENT

PHOTOS: Final = Table(
    "photos",
    METADATA,
    Column(
        "digest", LargeBinary, nullable=False, comment="SHA-256 of what is kept; names the file"
    ),
    Column("media_type", Text, nullable=False),
    Column("bytes", Integer, nullable=False),
    Column("width", Integer, nullable=False, comment="of the upright picture, pixels"),
    Column("height", Integer, nullable=False),
    Column("taken_at", Text, comment="ISO 8601 by the camera; with a zone only if it told one"),
    Column("received_at", MOMENT, nullable=False),
    Column("too_dark", Boolean, nullable=False),
    Column("too_blurred", Boolean, nullable=False),
    Column("small", LargeBinary, nullable=False, comment="digest of the picture of 320 pixels"),
    Column("large", LargeBinary, nullable=False, comment="digest of the picture of 1280 pixels"),
    Column("forgotten_at", MOMENT, comment="since when the pictures are erased for ever"),
    PrimaryKeyConstraint("digest", name="pk_photos"),
)

PHOTO_USES: Final = Table(
    "photo_uses",
    METADATA,
    Column("digest", LargeBinary, nullable=False),
    Column("event_id", Uuid, nullable=False, comment="a recorded event that names the photo"),
    PrimaryKeyConstraint("digest", "event_id", name="pk_photo_uses"),
)

PHOTO_SENDERS: Final = Table(
    "photo_senders",
    METADATA,
    Column("digest", LargeBinary, nullable=False),
    Column("sender_id", Uuid, nullable=False, comment="the account or the key it came with"),
    PrimaryKeyConstraint("digest", "sender_id", name="pk_photo_senders"),
)
