"""What follows from the histories: records, orders by quantity, questions."""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    Boolean,
    Column,
    ColumnElement,
    Date,
    Index,
    PrimaryKeyConstraint,
    SmallInteger,
    Table,
    Text,
    Uuid,
    func,
    literal_column,
)
from sqlalchemy.dialects.postgresql import JSON

from tracker.store.tables.metadata import METADATA, MOMENT

RECORDS: Final = Table(
    "records",
    METADATA,
    Column("unit_id", Uuid, nullable=False),
    Column("mark", Text),
    Column("mark_state", Text, nullable=False),
    Column("tag", Text),
    Column("presence", Text, nullable=False),
    Column("depot", Text),
    Column("slot", Text),
    Column("size_type", Text),
    Column("condition", Text),
    Column("colour", Text),
    Column("provenance", Text),
    Column(
        "free", Boolean, nullable=False, comment="an order may count on it, unless it is reserved"
    ),
    Column("stands", Text, nullable=False, comment="free, reserved, sold or released"),
    Column("questions", SmallInteger, nullable=False),
    Column("breaches", SmallInteger, nullable=False),
    Column("examination_on", Date, comment="first day of the month of the next examination"),
    Column("mend_by", Date, comment="of the damage due first"),
    Column("work_due_on", Date, comment="of the order due first"),
    Column("reserved_until", MOMENT),
    Column("merged_into", Uuid),
    Column("manufactured_on", Date, comment="first day of the month of manufacture"),
    Column("arrived_at", MOMENT),
    Column(
        "fittings", Text, nullable=False, comment="their names, a space around each; none: empty"
    ),
    Column("owes_on", Date, comment="first day on which anything may be told of it"),
    Column("has_work", Boolean, nullable=False, comment="it stands here for the workshop"),
    Column("body", JSON, nullable=False, comment="the whole record, in its one way of writing"),
    PrimaryKeyConstraint("unit_id", name="pk_records"),
)

Index("ix_records_stock", RECORDS.c.depot, RECORDS.c.presence, RECORDS.c.mark)

# The empty text is written out: bound as a value it would keep the index from being used.
MARK_OR_NONE: Final[ColumnElement[str]] = func.coalesce(RECORDS.c.mark, literal_column("''"))
"""What the stock is listed by, in one index with the unit's id."""

Index("ix_records_listed", MARK_OR_NONE, RECORDS.c.unit_id)

MARK_BACKWARDS: Final[ColumnElement[str]] = func.reverse(RECORDS.c.mark)
"""What finds a unit by the last digits of its mark, which is what a driver reads."""

Index("ix_records_mark_backwards", MARK_BACKWARDS, postgresql_ops={"reverse": "text_pattern_ops"})

Index(
    "ix_records_examination_on",
    RECORDS.c.examination_on,
    postgresql_where=RECORDS.c.examination_on.is_not(None),
)

Index(
    "ix_records_owes_on",
    RECORDS.c.depot,
    RECORDS.c.owes_on,
    RECORDS.c.unit_id,
    postgresql_where=RECORDS.c.owes_on.is_not(None),
)

Index(
    "ix_records_reserved_until",
    RECORDS.c.reserved_until,
    postgresql_where=RECORDS.c.reserved_until.is_not(None),
)

# Written out, as the queries write it: bound as values it would keep the index from being used.
IS_HERE: Final[ColumnElement[bool]] = literal_column(
    "presence = 'in-depot' AND merged_into IS NULL AND (mark IS NOT NULL OR tag IS NOT NULL)"
)
"""What stands in a depot under a name of its own."""

Index(
    "ix_records_here",
    RECORDS.c.depot,
    RECORDS.c.size_type,
    RECORDS.c.condition,
    RECORDS.c.stands,
    RECORDS.c.arrived_at,
    RECORDS.c.examination_on,
    postgresql_where=IS_HERE,
)

Index(
    "ix_records_has_work",
    RECORDS.c.depot,
    RECORDS.c.work_due_on,
    RECORDS.c.mend_by,
    RECORDS.c.mark,
    postgresql_where=RECORDS.c.has_work,
)

Index(
    "ix_records_free",
    RECORDS.c.depot,
    RECORDS.c.size_type,
    RECORDS.c.condition,
    RECORDS.c.colour,
    RECORDS.c.provenance,
    postgresql_where=RECORDS.c.free,
)

ORDERS: Final = Table(
    "orders",
    METADATA,
    Column("order_id", Uuid, nullable=False),
    Column("depot", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("outstanding", SmallInteger, nullable=False, comment="promised and not yet allotted"),
    Column("body", JSON, nullable=False),
    PrimaryKeyConstraint("order_id", name="pk_orders"),
)

Index("ix_orders_open", ORDERS.c.depot, postgresql_where=ORDERS.c.outstanding > 0)

QUESTIONS: Final = Table(
    "questions",
    METADATA,
    Column("id", Uuid, nullable=False),
    Column("unit_id", Uuid, nullable=False),
    Column("depot", Text),
    Column("finding", Text, nullable=False),
    Column("opened_at", MOMENT, nullable=False),
    Column("body", JSON, nullable=False),
    PrimaryKeyConstraint("id", name="pk_questions"),
)

Index("ix_questions_unit_id", QUESTIONS.c.unit_id)

Index("ix_questions_opened_at", QUESTIONS.c.opened_at, QUESTIONS.c.id)
