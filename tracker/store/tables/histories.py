"""The histories, their heads, what marks mean, and what stands apart from them for people."""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    BigInteger,
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
    func,
    literal_column,
    text,
)
from sqlalchemy.dialects.postgresql import JSON

from tracker.store.tables.metadata import METADATA, MOMENT

HEADS: Final = Table(
    "heads",
    METADATA,
    Column("stream_id", Uuid, nullable=False),
    Column("count", Integer, nullable=False),
    Column("digest", LargeBinary, nullable=False, comment="of the last row; chains them all"),
    PrimaryKeyConstraint("stream_id", name="pk_heads"),
)

HISTORY: Final = Table(
    "history",
    METADATA,
    Column("stream_id", Uuid, nullable=False),
    Column("seq", Integer, nullable=False),
    Column("event_id", Uuid, nullable=False),
    Column("kind", Text, nullable=False),
    Column("effective_at", MOMENT, nullable=False),
    Column("recorded_at", MOMENT, nullable=False),
    Column("body", JSON, nullable=False),
    Column("digest", LargeBinary, nullable=False),
    PrimaryKeyConstraint("stream_id", "seq", name="pk_history"),
)

Index(
    "ix_history_gate",
    HISTORY.c.effective_at,
    postgresql_where=text("kind IN ('gate-in', 'gate-out')"),
)

# The round asks whether any clock ran ahead of its own; rows lie in the order of their writing.
Index("ix_history_recorded_at", HISTORY.c.recorded_at, postgresql_using="brin")

Index(
    "ix_history_settling",
    HISTORY.c.stream_id,
    postgresql_where=text("kind IN ('answer', 'correction')"),
)

Index(
    "ix_history_batch",
    func.coalesce(
        HISTORY.c.body.op("#>>", return_type=Text())(literal_column("'{event,batch}'")),
        HISTORY.c.body.op("#>>", return_type=Text())(literal_column("'{event,changes,batch}'")),
    ),
    postgresql_where=text("kind IN ('pre-advice', 'gate-in', 'correction')"),
)

MARKS: Final = Table(
    "marks",
    METADATA,
    Column("subject", Text, nullable=False, comment="a mark in normal form, or a tag"),
    Column("unit_id", Uuid, nullable=False),
    PrimaryKeyConstraint("subject", name="pk_marks"),
)

Index("ix_marks_unit_id", MARKS.c.unit_id)

MOVES: Final = Table(
    "moves",
    METADATA,
    Column("event_id", Uuid, nullable=False),
    Column("from_unit", Uuid, nullable=False),
    Column("to_unit", Uuid, nullable=False),
    Column("by_event", Uuid, nullable=False, comment="the answer or correction that moved it"),
    Column("position", BigInteger, Identity(always=True), nullable=False),
    PrimaryKeyConstraint("event_id", "by_event", name="pk_moves"),
)

FOLDED: Final = Table(
    "folded",
    METADATA,
    Column("version", SmallInteger, nullable=False, comment="of the fold that made all records"),
    PrimaryKeyConstraint("version", name="pk_folded"),
    comment="one row: set by a rebuild, and by migrations where there is no history yet",
)

PERSONAL_VALUES: Final = Table(
    "personal_values",
    METADATA,
    Column("token", Text, nullable=False, comment="keyed digest of salt and value"),
    Column("lookup", LargeBinary, nullable=False, comment="keyed digest of the value alone"),
    Column("salt", LargeBinary, nullable=False),
    Column("value", Text, nullable=False),
    PrimaryKeyConstraint("token", name="pk_personal_values"),
    UniqueConstraint("lookup", name="uq_personal_values_lookup"),
)
