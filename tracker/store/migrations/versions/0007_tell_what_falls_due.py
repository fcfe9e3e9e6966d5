"""Tell all that falls due: when next, answers to alerts, mails per person, roots, stock checks.

Whatever a record owes is looked up at the next round: the day of the old ones is set to the first
of all days, until the record changes or is rebuilt.
"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

_FILL = """
UPDATE records SET owes_on = '0001-01-01' WHERE merged_into IS NULL AND presence <> 'disposed';
UPDATE alerts SET next_on = raised_on WHERE kind <> 'breach';
"""

# Everything a role may ask of a table stands here, or is not granted.
_GRANTS = """
GRANT SELECT, INSERT, UPDATE, DELETE ON alert_answers TO hardstand_web;
GRANT SELECT, DELETE ON alert_answers TO hardstand_worker;
GRANT SELECT ON alert_answers TO hardstand_reader;
GRANT SELECT, INSERT, UPDATE ON roots TO hardstand_worker;
GRANT SELECT ON roots TO hardstand_web, hardstand_reader;
GRANT SELECT, INSERT, UPDATE ON stock_checks TO hardstand_web;
GRANT SELECT, UPDATE (told_on) ON stock_checks TO hardstand_worker;
GRANT SELECT ON stock_checks TO hardstand_reader;
GRANT USAGE ON SEQUENCE intake_position_seq TO hardstand_worker;
"""


def upgrade() -> None:
    _make_tables()
    _add_columns()
    op.execute(_FILL)
    op.execute(_GRANTS)
    op.create_index("ix_history_recorded_at", "history", ["recorded_at"], postgresql_using="brin")
    op.create_index(
        "ix_records_owes_on",
        "records",
        ["depot", "owes_on", "unit_id"],
        postgresql_where=sa.text("owes_on IS NOT NULL"),
    )
    op.drop_index("ix_records_mend_by", table_name="records")
    op.drop_index("ix_records_work_due_on", table_name="records")


def _add_columns() -> None:
    op.add_column(
        "records",
        sa.Column("owes_on", sa.Date(), comment="first day on which anything may be told of it"),
    )
    op.add_column(
        "alerts",
        sa.Column(
            "next_on", sa.Date(), comment="day of the next reminder; null when none is to come"
        ),
    )
    op.add_column(
        "outbox",
        sa.Column(
            "person",
            sa.LargeBinary(),
            comment="keyed digest of an address; null: all of the role",
        ),
    )
    op.add_column(
        "rounds",
        sa.Column("moment", sa.DateTime(timezone=True), comment="that the root is of"),
    )


def _make_tables() -> None:
    moment = sa.DateTime(timezone=True)
    op.create_table(
        "alert_answers",
        sa.Column("unit_id", sa.Uuid(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("answered_by", sa.Text(), nullable=False),
        sa.Column("answered_at", moment, nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("put_off_until", sa.Date(), comment="told again on that day; null: acknowledged"),
        sa.PrimaryKeyConstraint("unit_id", "kind", "cause", name="pk_alert_answers"),
    )
    op.create_table(
        "roots",
        sa.Column("moment", moment, nullable=False, comment="no later row was recorded before it"),
        sa.Column(
            "root",
            sa.LargeBinary(),
            comment="digest over all heads then; null while it is reckoned",
        ),
        sa.PrimaryKeyConstraint("moment", name="pk_roots"),
    )
    op.create_table(
        "stock_checks",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("depot", sa.Text(), nullable=False),
        sa.Column("begun_by", sa.Text(), nullable=False),
        sa.Column("begun_at", moment, nullable=False),
        sa.Column("finished_at", moment),
        sa.Column("told_on", sa.Date(), comment="the round that raised what it did not find"),
        sa.PrimaryKeyConstraint("id", name="pk_stock_checks"),
    )


def downgrade() -> None:
    op.execute("REVOKE USAGE ON SEQUENCE intake_position_seq FROM hardstand_worker")
    for table in ("stock_checks", "roots", "alert_answers"):
        op.drop_table(table)
    for column in ("work_due_on", "mend_by"):
        op.create_index(
            f"ix_records_{column}",
            "records",
            [column],
            postgresql_where=sa.column(column).is_not(None),
        )
    op.drop_index("ix_records_owes_on", table_name="records")
    op.drop_index("ix_history_recorded_at", table_name="history")
    op.drop_column("rounds", "moment")
    op.drop_column("outbox", "person")
    op.drop_column("alerts", "next_on")
    op.drop_column("records", "owes_on")
