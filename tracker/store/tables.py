"""The tables, as SQLAlchemy Core knows them. The migrations make them; a test compares both.

Constraints are named in full, so that an error of the database can be read by name. `json`, not
`jsonb`, holds what a digest or a byte-for-byte comparison rests on: it keeps the text as written.

Long because one schema is compared with the migrations as a whole.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    ColumnElement,
    Date,
    DateTime,
    ForeignKeyConstraint,
    Identity,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Numeric,
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
from sqlalchemy.dialects.postgresql import ARRAY, JSON

METADATA: Final = MetaData()

_MOMENT: Final = DateTime(timezone=True)
_NOW: Final = text("clock_timestamp()")

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
    Column("received_at", _MOMENT, nullable=False, server_default=_NOW),
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
    Column("received_at", _MOMENT, nullable=False, server_default=_NOW),
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
    Column("received_at", _MOMENT, nullable=False),
    Column("recorded_at", _MOMENT, nullable=False),
    PrimaryKeyConstraint("event_id", name="pk_receipts"),
    CheckConstraint("outcome IN ('recorded', 'refused', 'held')", name="ck_receipts_outcome"),
)

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
    Column("effective_at", _MOMENT, nullable=False),
    Column("recorded_at", _MOMENT, nullable=False),
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
    Column("reserved_until", _MOMENT),
    Column("merged_into", Uuid),
    Column("manufactured_on", Date, comment="first day of the month of manufacture"),
    Column("arrived_at", _MOMENT),
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

QUESTIONS: Final = Table(
    "questions",
    METADATA,
    Column("id", Uuid, nullable=False),
    Column("unit_id", Uuid, nullable=False),
    Column("depot", Text),
    Column("finding", Text, nullable=False),
    Column("opened_at", _MOMENT, nullable=False),
    Column("body", JSON, nullable=False),
    PrimaryKeyConstraint("id", name="pk_questions"),
)
Index("ix_questions_unit_id", QUESTIONS.c.unit_id)
Index("ix_questions_opened_at", QUESTIONS.c.opened_at, QUESTIONS.c.id)

FOLDED: Final = Table(
    "folded",
    METADATA,
    Column("version", SmallInteger, nullable=False, comment="of the fold that made all records"),
    PrimaryKeyConstraint("version", name="pk_folded"),
    comment="one row: set by a rebuild, and by migrations where there is no history yet",
)

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
    Column("cleared_at", _MOMENT),
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
    Column("answered_at", _MOMENT, nullable=False),
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
    Column("not_before", _MOMENT, nullable=False, server_default=_NOW),
    Column("created_at", _MOMENT, nullable=False, server_default=_NOW),
    Column("sent_at", _MOMENT),
    Column("error", Text),
    Column("person", LargeBinary, comment="keyed digest of an address; null: all of the role"),
    PrimaryKeyConstraint("id", name="pk_outbox"),
    CheckConstraint(
        "state IN ('waiting', 'sent', 'nobody', 'given-up', 'dropped')", name="ck_outbox_state"
    ),
)
Index("ix_outbox_waiting", OUTBOX.c.not_before, postgresql_where=OUTBOX.c.state == "waiting")

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
    Column("since", _MOMENT, nullable=False),
    PrimaryKeyConstraint("depot", "address", name="pk_duties"),
)

ROUNDS: Final = Table(
    "rounds",
    METADATA,
    Column("depot", Text, nullable=False),
    Column("day", Date, nullable=False),
    Column("root", LargeBinary, nullable=False, comment="digest over all heads that day"),
    Column("made_at", _MOMENT, nullable=False, server_default=_NOW),
    Column("moment", _MOMENT, comment="that the root is of"),
    PrimaryKeyConstraint("depot", "day", name="pk_rounds"),
)

ROOTS: Final = Table(
    "roots",
    METADATA,
    Column("moment", _MOMENT, nullable=False, comment="no later row was recorded before it"),
    Column("root", LargeBinary, comment="digest over all heads then; null while it is reckoned"),
    PrimaryKeyConstraint("moment", name="pk_roots"),
)

STOCK_CHECKS: Final = Table(
    "stock_checks",
    METADATA,
    Column("id", Text, nullable=False),
    Column("depot", Text, nullable=False),
    Column("begun_by", Text, nullable=False),
    Column("begun_at", _MOMENT, nullable=False),
    Column("finished_at", _MOMENT),
    Column("told_on", Date, comment="the round that raised what it did not find"),
    PrimaryKeyConstraint("id", name="pk_stock_checks"),
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

ACCOUNTS: Final = Table(
    "accounts",
    METADATA,
    Column("id", Uuid, nullable=False),
    Column("name", Text, nullable=False, comment="typed at sign-in; small letters"),
    Column("shown_as", Text, nullable=False, comment="stands as the reporter of events"),
    Column("password", Text, comment="argon2 hash; null signs nobody in"),
    Column("made_at", _MOMENT, nullable=False),
    PrimaryKeyConstraint("id", name="pk_accounts"),
    UniqueConstraint("name", name="uq_accounts_name"),
)

ACCOUNT_ROLES: Final = Table(
    "account_roles",
    METADATA,
    Column("account_id", Uuid, nullable=False),
    Column("depot", Text, nullable=False, comment="a depot's code, or * for every depot"),
    Column("role", Text, nullable=False),
    PrimaryKeyConstraint("account_id", "depot", "role", name="pk_account_roles"),
    ForeignKeyConstraint(
        ["account_id"], ["accounts.id"], name="fk_account_roles_account_id", ondelete="CASCADE"
    ),
    CheckConstraint(
        "role IN ('gate', 'workshop', 'sales', 'manager')", name="ck_account_roles_role"
    ),
)

ACCOUNT_SUBJECTS: Final = Table(
    "account_subjects",
    METADATA,
    Column("issuer", Text, nullable=False, comment="of the OpenID provider"),
    Column("subject", Text, nullable=False, comment="who somebody is to the provider, for ever"),
    Column("account_id", Uuid, nullable=False),
    Column("linked_at", _MOMENT, nullable=False),
    PrimaryKeyConstraint("issuer", "subject", name="pk_account_subjects"),
    UniqueConstraint("account_id", "issuer", name="uq_account_subjects_account_id_issuer"),
    ForeignKeyConstraint(
        ["account_id"], ["accounts.id"], name="fk_account_subjects_account_id", ondelete="CASCADE"
    ),
)

SESSIONS: Final = Table(
    "sessions",
    METADATA,
    Column(
        "digest", LargeBinary, nullable=False, comment="of the token, which only the cookie has"
    ),
    Column("account_id", Uuid, nullable=False),
    Column("begun_at", _MOMENT, nullable=False),
    Column("seen_at", _MOMENT, nullable=False, comment="to a few minutes"),
    PrimaryKeyConstraint("digest", name="pk_sessions"),
    ForeignKeyConstraint(
        ["account_id"], ["accounts.id"], name="fk_sessions_account_id", ondelete="CASCADE"
    ),
)
Index("ix_sessions_account_id", SESSIONS.c.account_id)

MACHINE_KEYS: Final = Table(
    "machine_keys",
    METADATA,
    Column("id", Uuid, nullable=False),
    Column("name", Text, nullable=False),
    Column("digest", LargeBinary, nullable=False, comment="of the key, which only its machine has"),
    Column("scopes", ARRAY(Text), nullable=False),
    Column("depots", ARRAY(Text), nullable=False, comment="codes, or * for every depot"),
    Column("made_at", _MOMENT, nullable=False),
    PrimaryKeyConstraint("id", name="pk_machine_keys"),
    UniqueConstraint("name", name="uq_machine_keys_name"),
    UniqueConstraint("digest", name="uq_machine_keys_digest"),
)

SIGN_IN_ATTEMPTS: Final = Table(
    "sign_in_attempts",
    METADATA,
    Column("id", BigInteger, Identity(always=True), nullable=False),
    Column("who", LargeBinary, nullable=False, comment="keyed digest of a name or an address"),
    Column("tried_at", _MOMENT, nullable=False),
    PrimaryKeyConstraint("id", name="pk_sign_in_attempts"),
)
Index("ix_sign_in_attempts_who", SIGN_IN_ATTEMPTS.c.who, SIGN_IN_ATTEMPTS.c.tried_at)

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
    Column("received_at", _MOMENT, nullable=False),
    Column("too_dark", Boolean, nullable=False),
    Column("too_blurred", Boolean, nullable=False),
    Column("small", LargeBinary, nullable=False, comment="digest of the picture of 320 pixels"),
    Column("large", LargeBinary, nullable=False, comment="digest of the picture of 1280 pixels"),
    Column("forgotten_at", _MOMENT, comment="since when the pictures are erased for ever"),
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
