"""Make the spine: intake, history, record, alerts, outbox, and who may do what.

The history can be appended to and nothing else: no role that a process uses has more than INSERT
and SELECT on it, and a trigger stops the owner from a slip of the hand.
"""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_FORBID = """
CREATE FUNCTION forbid_rewriting_v1() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'rows of % are never changed or removed', TG_TABLE_NAME
        USING ERRCODE = 'restrict_violation',
              HINT = 'Record a correction instead.';
END
$$
"""

# Everything a role may ask of a table stands here, or is not granted. What is handed in names
# people until it is judged, so that the reader sees how much waits and not what.
_GRANTS = """
GRANT SELECT, INSERT ON intake, unreadable TO hardstand_web;
GRANT USAGE ON SEQUENCE intake_position_seq TO hardstand_web;
GRANT SELECT, INSERT, DELETE, UPDATE ON intake TO hardstand_worker;
GRANT SELECT ON unreadable TO hardstand_worker;
GRANT SELECT, INSERT ON history, receipts, moves TO hardstand_worker;
GRANT DELETE ON receipts TO hardstand_worker;
GRANT SELECT, INSERT, UPDATE, DELETE ON lane_attempts, heads, records, marks, questions, alerts,
    outbox TO hardstand_worker;
GRANT SELECT, INSERT, UPDATE ON rounds TO hardstand_worker;
GRANT SELECT, INSERT ON personal_values TO hardstand_worker;
GRANT SELECT ON depots, contacts TO hardstand_worker;
GRANT SELECT ON receipts, heads, history, records, marks, moves, questions, alerts, outbox,
    rounds, personal_values TO hardstand_web;
GRANT SELECT, INSERT, UPDATE, DELETE ON depots, contacts TO hardstand_web;
GRANT SELECT ON receipts, heads, history, records, marks, moves, questions, alerts, outbox, depots,
    rounds TO hardstand_reader;
GRANT SELECT (position, event_id, subject, lane, state, digest, received_at)
    ON intake TO hardstand_reader;
GRANT SELECT (id, received_at) ON unreadable TO hardstand_reader;
"""

_TUNING = """
ALTER TABLE records SET (fillfactor = 80, autovacuum_vacuum_scale_factor = 0.05);
ALTER TABLE heads SET (fillfactor = 80, autovacuum_vacuum_scale_factor = 0.05);
ALTER TABLE intake SET (autovacuum_vacuum_scale_factor = 0.02, autovacuum_vacuum_threshold = 2000);
"""


def upgrade() -> None:
    op.create_table(
        "alerts",
        sa.Column("unit_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("depot", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("says", sa.Text(), nullable=False),
        sa.Column("raised_on", sa.Date(), nullable=False),
        sa.Column(
            "step", sa.SmallInteger(), nullable=False, comment="how many reminders have gone"
        ),
        sa.Column("cleared_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("unit_id", "kind", "cause", name="pk_alerts"),
    )
    op.create_index(
        "ix_alerts_open",
        "alerts",
        ["depot", "due_on"],
        unique=False,
        postgresql_where=sa.text("cleared_at IS NULL"),
    )
    op.create_table(
        "contacts",
        sa.Column("depot", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("depot", "role", "address", name="pk_contacts"),
    )
    op.create_table(
        "depots",
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("zone", sa.Text(), nullable=False, comment="IANA name; days are reckoned in it"),
        sa.PrimaryKeyConstraint("code", name="pk_depots"),
    )
    op.create_table(
        "heads",
        sa.Column("stream_id", sa.Uuid(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column(
            "digest", sa.LargeBinary(), nullable=False, comment="of the last row; chains them all"
        ),
        sa.PrimaryKeyConstraint("stream_id", name="pk_heads"),
    )
    op.create_table(
        "history",
        sa.Column("stream_id", sa.Uuid(), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("event_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("effective_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("body", postgresql.JSON(astext_type=sa.Text()), nullable=False),
        sa.Column("digest", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("stream_id", "seq", name="pk_history"),
    )
    op.create_table(
        "intake",
        sa.Column("position", sa.BigInteger(), sa.Identity(always=True), nullable=False),
        sa.Column("event_id", sa.Uuid(), nullable=False),
        sa.Column(
            "subject", sa.Text(), nullable=False, comment="what names the stream: mark, tag, id"
        ),
        sa.Column("lane", sa.SmallInteger(), nullable=False),
        sa.Column("state", sa.Text(), server_default="waiting", nullable=False),
        sa.Column("digest", sa.LargeBinary(), nullable=False),
        sa.Column("body", postgresql.JSON(astext_type=sa.Text()), nullable=False),
        sa.Column(
            "received_at",
            sa.DateTime(timezone=True),
            server_default=sa.text("clock_timestamp()"),
            nullable=False,
        ),
        sa.Column("error", sa.Text(), nullable=True, comment="why it is held"),
        sa.CheckConstraint("state IN ('waiting', 'held')", name="ck_intake_state"),
        sa.PrimaryKeyConstraint("position", name="pk_intake"),
        sa.UniqueConstraint("event_id", name="uq_intake_event_id"),
    )
    op.create_index(
        "ix_intake_waiting",
        "intake",
        ["lane", "position"],
        unique=False,
        postgresql_where=sa.text("state = 'waiting'"),
    )
    op.create_table(
        "lane_attempts",
        sa.Column("lane", sa.SmallInteger(), nullable=False),
        sa.Column("first_position", sa.BigInteger(), nullable=False),
        sa.Column("last_position", sa.BigInteger(), nullable=False, comment="suspect up to here"),
        sa.Column("deaths", sa.SmallInteger(), nullable=False),
        sa.PrimaryKeyConstraint("lane", name="pk_lane_attempts"),
    )
    op.create_table(
        "marks",
        sa.Column("subject", sa.Text(), nullable=False, comment="a mark in normal form, or a tag"),
        sa.Column("unit_id", sa.Uuid(), nullable=False),
        sa.PrimaryKeyConstraint("subject", name="pk_marks"),
    )
    op.create_index("ix_marks_unit_id", "marks", ["unit_id"], unique=False)
    op.create_table(
        "moves",
        sa.Column("event_id", sa.Uuid(), nullable=False),
        sa.Column("from_unit", sa.Uuid(), nullable=False),
        sa.Column("to_unit", sa.Uuid(), nullable=False),
        sa.Column(
            "by_event", sa.Uuid(), nullable=False, comment="the answer or correction that moved it"
        ),
        sa.PrimaryKeyConstraint("event_id", "by_event", name="pk_moves"),
    )
    op.create_table(
        "outbox",
        sa.Column(
            "id", sa.Uuid(), nullable=False, comment="of what is said, so that it is said once"
        ),
        sa.Column("depot", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("body", postgresql.JSON(astext_type=sa.Text()), nullable=False),
        sa.Column("state", sa.Text(), server_default="waiting", nullable=False),
        sa.Column("attempts", sa.SmallInteger(), server_default="0", nullable=False),
        sa.Column(
            "not_before",
            sa.DateTime(timezone=True),
            server_default=sa.text("clock_timestamp()"),
            nullable=False,
        ),
        sa.Column(
            "created_at",
            sa.DateTime(timezone=True),
            server_default=sa.text("clock_timestamp()"),
            nullable=False,
        ),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("error", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "state IN ('waiting', 'sent', 'nobody', 'given-up')", name="ck_outbox_state"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_outbox"),
    )
    op.create_index(
        "ix_outbox_waiting",
        "outbox",
        ["not_before"],
        unique=False,
        postgresql_where=sa.text("state = 'waiting'"),
    )
    op.create_table(
        "personal_values",
        sa.Column("token", sa.Text(), nullable=False, comment="keyed digest of salt and value"),
        sa.Column(
            "lookup", sa.LargeBinary(), nullable=False, comment="keyed digest of the value alone"
        ),
        sa.Column("salt", sa.LargeBinary(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("token", name="pk_personal_values"),
        sa.UniqueConstraint("lookup", name="uq_personal_values_lookup"),
    )
    op.create_table(
        "questions",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("unit_id", sa.Uuid(), nullable=False),
        sa.Column("depot", sa.Text(), nullable=True),
        sa.Column("finding", sa.Text(), nullable=False),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("body", postgresql.JSON(astext_type=sa.Text()), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_questions"),
    )
    op.create_index("ix_questions_unit_id", "questions", ["unit_id"], unique=False)
    op.create_table(
        "receipts",
        sa.Column("event_id", sa.Uuid(), nullable=False),
        sa.Column("digest", sa.LargeBinary(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("stream_id", sa.Uuid(), nullable=True),
        sa.Column("seq", sa.Integer(), nullable=True),
        sa.Column(
            "findings",
            postgresql.JSON(astext_type=sa.Text()),
            nullable=True,
            comment="null when there are none",
        ),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint(
            "outcome IN ('recorded', 'refused', 'held')", name="ck_receipts_outcome"
        ),
        sa.PrimaryKeyConstraint("event_id", name="pk_receipts"),
    )
    op.create_table(
        "records",
        sa.Column("unit_id", sa.Uuid(), nullable=False),
        sa.Column("mark", sa.Text(), nullable=True),
        sa.Column("mark_state", sa.Text(), nullable=False),
        sa.Column("tag", sa.Text(), nullable=True),
        sa.Column("presence", sa.Text(), nullable=False),
        sa.Column("depot", sa.Text(), nullable=True),
        sa.Column("slot", sa.Text(), nullable=True),
        sa.Column("size_type", sa.Text(), nullable=True),
        sa.Column("condition", sa.Text(), nullable=True),
        sa.Column("stands", sa.Text(), nullable=False, comment="free, reserved, sold or released"),
        sa.Column("questions", sa.SmallInteger(), nullable=False),
        sa.Column("breaches", sa.SmallInteger(), nullable=False),
        sa.Column(
            "examination_on",
            sa.Date(),
            nullable=True,
            comment="first day of the month of the next examination",
        ),
        sa.Column("mend_by", sa.Date(), nullable=True, comment="of the damage due first"),
        sa.Column("work_due_on", sa.Date(), nullable=True, comment="of the order due first"),
        sa.Column("reserved_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("merged_into", sa.Uuid(), nullable=True),
        sa.Column(
            "body",
            postgresql.JSON(astext_type=sa.Text()),
            nullable=False,
            comment="the whole record, in its one way of writing",
        ),
        sa.PrimaryKeyConstraint("unit_id", name="pk_records"),
    )
    op.create_index(
        "ix_records_examination_on",
        "records",
        ["examination_on"],
        unique=False,
        postgresql_where=sa.text("examination_on IS NOT NULL"),
    )
    op.create_index(
        "ix_records_mend_by",
        "records",
        ["mend_by"],
        unique=False,
        postgresql_where=sa.text("mend_by IS NOT NULL"),
    )
    op.create_index(
        "ix_records_reserved_until",
        "records",
        ["reserved_until"],
        unique=False,
        postgresql_where=sa.text("reserved_until IS NOT NULL"),
    )
    op.create_index("ix_records_stock", "records", ["depot", "presence", "mark"], unique=False)
    op.create_index(
        "ix_records_work_due_on",
        "records",
        ["work_due_on"],
        unique=False,
        postgresql_where=sa.text("work_due_on IS NOT NULL"),
    )
    op.create_table(
        "rounds",
        sa.Column("depot", sa.Text(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column(
            "root", sa.LargeBinary(), nullable=False, comment="digest over all heads that day"
        ),
        sa.Column(
            "made_at",
            sa.DateTime(timezone=True),
            server_default=sa.text("clock_timestamp()"),
            nullable=False,
        ),
        sa.PrimaryKeyConstraint("depot", "day", name="pk_rounds"),
    )
    op.create_table(
        "unreadable",
        sa.Column(
            "id", sa.Uuid(), nullable=False, comment="made of the content, so that twice is once"
        ),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.Column("error", sa.Text(), nullable=False),
        sa.Column(
            "received_at",
            sa.DateTime(timezone=True),
            server_default=sa.text("clock_timestamp()"),
            nullable=False,
        ),
        sa.PrimaryKeyConstraint("id", name="pk_unreadable"),
    )
    op.execute(_FORBID)
    op.execute(
        "CREATE TRIGGER forbid_rewriting BEFORE UPDATE OR DELETE ON history "
        "FOR EACH ROW EXECUTE FUNCTION forbid_rewriting_v1()"
    )
    op.execute(
        "CREATE TRIGGER forbid_emptying BEFORE TRUNCATE ON history "
        "FOR EACH STATEMENT EXECUTE FUNCTION forbid_rewriting_v1()"
    )
    op.execute(_GRANTS)
    op.execute(_TUNING)


def downgrade() -> None:
    op.drop_table("unreadable")
    op.drop_table("rounds")
    op.drop_index(
        "ix_records_work_due_on",
        table_name="records",
        postgresql_where=sa.text("work_due_on IS NOT NULL"),
    )
    op.drop_index("ix_records_stock", table_name="records")
    op.drop_index(
        "ix_records_reserved_until",
        table_name="records",
        postgresql_where=sa.text("reserved_until IS NOT NULL"),
    )
    op.drop_index(
        "ix_records_mend_by", table_name="records", postgresql_where=sa.text("mend_by IS NOT NULL")
    )
    op.drop_index(
        "ix_records_examination_on",
        table_name="records",
        postgresql_where=sa.text("examination_on IS NOT NULL"),
    )
    op.drop_table("records")
    op.drop_table("receipts")
    op.drop_index("ix_questions_unit_id", table_name="questions")
    op.drop_table("questions")
    op.drop_table("personal_values")
    op.drop_index(
        "ix_outbox_waiting", table_name="outbox", postgresql_where=sa.text("state = 'waiting'")
    )
    op.drop_table("outbox")
    op.drop_table("moves")
    op.drop_index("ix_marks_unit_id", table_name="marks")
    op.drop_table("marks")
    op.drop_table("lane_attempts")
    op.drop_index(
        "ix_intake_waiting", table_name="intake", postgresql_where=sa.text("state = 'waiting'")
    )
    op.drop_table("intake")
    op.drop_table("history")
    op.drop_table("heads")
    op.drop_table("depots")
    op.drop_table("contacts")
    op.drop_index(
        "ix_alerts_open", table_name="alerts", postgresql_where=sa.text("cleared_at IS NULL")
    )
    op.drop_table("alerts")
    op.execute("DROP FUNCTION forbid_rewriting_v1()")
