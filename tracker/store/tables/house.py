"""The house: its depots, whom to reach there, what it checks, the work it offers."""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Integer,
    Numeric,
    PrimaryKeyConstraint,
    Table,
    Text,
)

from tracker.store.tables.metadata import METADATA, MOMENT

DEPOTS: Final = Table(
    "depots",
    METADATA,
    Column("code", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("zone", Text, nullable=False, comment="IANA name; days are reckoned in it"),
    PrimaryKeyConstraint("code", name="pk_depots"),
)

CONTACTS: Final = Table(
    "contacts",
    METADATA,
    Column("depot", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("address", Text, nullable=False),
    Column("name", Text),
    PrimaryKeyConstraint("depot", "role", "address", name="pk_contacts"),
)

DUTIES: Final = Table(
    "duties",
    METADATA,
    Column("depot", Text, nullable=False, comment="* for every depot"),
    Column("address", Text, nullable=False, comment="where mail reaches whoever is on duty"),
    Column("name", Text),
    Column("set_by", Text, nullable=False),
    Column("since", MOMENT, nullable=False),
    PrimaryKeyConstraint("depot", "address", name="pk_duties"),
)

STOCK_CHECKS: Final = Table(
    "stock_checks",
    METADATA,
    Column("id", Text, nullable=False),
    Column("depot", Text, nullable=False),
    Column("begun_by", Text, nullable=False),
    Column("begun_at", MOMENT, nullable=False),
    Column("finished_at", MOMENT),
    Column("told_on", Date, comment="the round that raised what it did not find"),
    PrimaryKeyConstraint("id", name="pk_stock_checks"),
)

WORK_ITEMS: Final = Table(
    "work_items",
    METADATA,
    Column("name", Text, nullable=False),
    Column("words", Text, nullable=False),
    Column("mass_kg", Integer, comment="of one piece; null where it cannot be said beforehand"),
    Column("cuts", Text, nullable=False, comment="steel taken out, and where; empty for none"),
    Column("cut_out_kg", Integer, nullable=False),
    Column("permanent", Boolean, nullable=False),
    Column("labour_min", Integer, nullable=False),
    Column("price", Numeric(12, 2), comment="of one piece, without tax"),
    Column("approval_effect", Text, nullable=False),
    Column("caution", Text, nullable=False, comment="a key of the shipped cautions, or words"),
    Column("certificate", Text, nullable=False),
    Column("reported_as", Text, nullable=False),
    Column("source", Text, nullable=False),
    Column("certainty", Text, nullable=False),
    Column("withdrawn", Boolean, nullable=False, comment="the house does not do it"),
    PrimaryKeyConstraint("name", name="pk_work_items"),
    CheckConstraint(
        "approval_effect IN ('none', 'ask', 'void')", name="ck_work_items_approval_effect"
    ),
)
