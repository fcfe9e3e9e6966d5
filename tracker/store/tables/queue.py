"""The queue: what was handed in, what cannot be read, who judges, what was answered."""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Identity,
    Index,
    Integer,
    LargeBinary,
    PrimaryKeyConstraint,
    SmallInteger,
    Table,
    Text,
    UniqueConstraint,
    Uuid,
)
from sqlalchemy.dialects.postgresql import JSON

from tracker.store.tables.metadata import METADATA, MOMENT, NOW

INTAKE: Final = Table(
    "intake",
    METADATA,
    Column("position", BigInteger, Identity(always=True), nullable=False),
    Column("event_id", Uuid, nullable=False),
    Column("subject", Text, nullable=False, comment="what names the stream: mark, tag, id"),
    Column("lane", SmallInteger, nullable=False),
    Column("state", Text, nullable=False, server_default="waiting"),
    Column("digest", LargeBinary, nullable=False),
    Column("body", JSON, nullable=False),
    Column("received_at", MOMENT, nullable=False, server_default=NOW),
    Column("error", Text, comment="why it is held"),
    PrimaryKeyConstraint("position", name="pk_intake"),
    UniqueConstraint("event_id", name="uq_intake_event_id"),
    CheckConstraint("state IN ('waiting', 'held')", name="ck_intake_state"),
)

Index(
    "ix_intake_waiting",
    INTAKE.c.lane,
    INTAKE.c.position,
    postgresql_where=INTAKE.c.state == "waiting",
)

UNREADABLE: Final = Table(
    "unreadable",
    METADATA,
    Column("id", Uuid, nullable=False, comment="made of the content, so that twice is once"),
    Column("body", LargeBinary, nullable=False),
    Column("error", Text, nullable=False),
    Column("received_at", MOMENT, nullable=False, server_default=NOW),
    PrimaryKeyConstraint("id", name="pk_unreadable"),
)

LANE_ATTEMPTS: Final = Table(
    "lane_attempts",
    METADATA,
    Column("lane", SmallInteger, nullable=False),
    Column("first_position", BigInteger, nullable=False),
    Column("last_position", BigInteger, nullable=False, comment="suspect up to here"),
    Column("deaths", SmallInteger, nullable=False),
    PrimaryKeyConstraint("lane", name="pk_lane_attempts"),
)

RECEIPTS: Final = Table(
    "receipts",
    METADATA,
    Column("event_id", Uuid, nullable=False),
    Column("digest", LargeBinary, nullable=False),
    Column("outcome", Text, nullable=False),
    Column("stream_id", Uuid),
    Column("seq", Integer),
    Column("findings", JSON, comment="null when there are none"),
    Column("received_at", MOMENT, nullable=False),
    Column("recorded_at", MOMENT, nullable=False),
    PrimaryKeyConstraint("event_id", name="pk_receipts"),
    CheckConstraint("outcome IN ('recorded', 'refused', 'held')", name="ck_receipts_outcome"),
)
