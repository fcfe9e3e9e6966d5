"""What is told: alerts, the answers to them, letters, and the rounds that made them."""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    CheckConstraint,
    Column,
    Date,
    Index,
    LargeBinary,
    PrimaryKeyConstraint,
    SmallInteger,
    Table,
    Text,
    Uuid,
    text,
)
from sqlalchemy.dialects.postgresql import JSON

from tracker.store.tables.metadata import METADATA, MOMENT, NOW

ALERTS: Final = Table(
    "alerts",
    METADATA,
    Column("unit_id", Uuid, nullable=False),
    Column("kind", Text, nullable=False),
    Column("cause", Text, nullable=False),
    Column("depot", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("due_on", Date, nullable=False),
    Column("says", Text, nullable=False),
    Column("raised_on", Date, nullable=False),
    Column("step", SmallInteger, nullable=False, comment="how many reminders have gone"),
    Column("cleared_at", MOMENT),
    Column("next_on", Date, comment="day of the next reminder; null when none is to come"),
    PrimaryKeyConstraint("unit_id", "kind", "cause", name="pk_alerts"),
)

Index(
    "ix_alerts_open", ALERTS.c.depot, ALERTS.c.due_on, postgresql_where=text("cleared_at IS NULL")
)

Index(
    "ix_alerts_short",
    ALERTS.c.depot,
    postgresql_where=text("kind = 'order-short' AND cleared_at IS NULL"),
)

ALERT_ANSWERS: Final = Table(
    "alert_answers",
    METADATA,
    Column("unit_id", Uuid, nullable=False),
    Column("kind", Text, nullable=False),
    Column("cause", Text, nullable=False),
    Column("answered_by", Text, nullable=False),
    Column("answered_at", MOMENT, nullable=False),
    Column("reason", Text, nullable=False),
    Column("put_off_until", Date, comment="told again on that day; null: acknowledged"),
    PrimaryKeyConstraint("unit_id", "kind", "cause", name="pk_alert_answers"),
)

OUTBOX: Final = Table(
    "outbox",
    METADATA,
    Column("id", Uuid, nullable=False, comment="of what is said, so that it is said once"),
    Column("depot", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("subject", Text, nullable=False),
    Column("body", JSON, nullable=False),
    Column("state", Text, nullable=False, server_default="waiting"),
    Column("attempts", SmallInteger, nullable=False, server_default="0"),
    Column("not_before", MOMENT, nullable=False, server_default=NOW),
    Column("created_at", MOMENT, nullable=False, server_default=NOW),
    Column("sent_at", MOMENT),
    Column("error", Text),
    Column("person", LargeBinary, comment="keyed digest of an address; null: all of the role"),
    PrimaryKeyConstraint("id", name="pk_outbox"),
    CheckConstraint(
        "state IN ('waiting', 'sent', 'nobody', 'given-up', 'dropped')", name="ck_outbox_state"
    ),
)

Index(
    "ix_outbox_unsent",
    OUTBOX.c.state,
    postgresql_where=OUTBOX.c.state.in_(["waiting", "nobody", "given-up"]),
)
Index("ix_outbox_waiting", OUTBOX.c.not_before, postgresql_where=OUTBOX.c.state == "waiting")

ROUNDS: Final = Table(
    "rounds",
    METADATA,
    Column("depot", Text, nullable=False),
    Column("day", Date, nullable=False),
    Column("root", LargeBinary, nullable=False, comment="digest over all heads that day"),
    Column("made_at", MOMENT, nullable=False, server_default=NOW),
    Column("moment", MOMENT, comment="that the root is of"),
    PrimaryKeyConstraint("depot", "day", name="pk_rounds"),
)

ROOTS: Final = Table(
    "roots",
    METADATA,
    Column("moment", MOMENT, nullable=False, comment="no later row was recorded before it"),
    Column("root", LargeBinary, comment="digest over all heads then; null while it is reckoned"),
    PrimaryKeyConstraint("moment", name="pk_roots"),
)
