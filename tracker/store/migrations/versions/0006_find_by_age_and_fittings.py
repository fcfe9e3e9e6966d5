"""Find stock by age, fittings and length of stay; count what passed the gate by week.

Rewrites `records` once, to fill the new columns from the records in it.
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

_FILL = """
UPDATE records SET
    manufactured_on = (body->>'manufactured_in' || '-01')::date,
    arrived_at = (body->>'arrived_at')::timestamptz,
    fittings = coalesce(
        (SELECT ' ' || string_agg(name, ' ' ORDER BY name COLLATE "C") || ' '
            FROM json_each_text(body->'fittings') AS fitting (name, pieces)
            WHERE pieces <> '0'),
        '')
"""


def upgrade() -> None:
    first = sa.Column("manufactured_on", sa.Date(), comment="first day of the month of manufacture")
    op.add_column("records", first)
    op.add_column("records", sa.Column("arrived_at", sa.DateTime(timezone=True)))
    op.add_column(
        "records",
        sa.Column("fittings", sa.Text(), comment="their names, a space around each; none: empty"),
    )
    op.execute(_FILL)
    op.alter_column("records", "fittings", nullable=False)
    op.create_index(
        "ix_history_gate",
        "history",
        ["effective_at"],
        postgresql_where=sa.text("kind IN ('gate-in', 'gate-out')"),
    )
    op.create_index(
        "ix_history_settling",
        "history",
        ["stream_id"],
        postgresql_where=sa.text("kind IN ('answer', 'correction')"),
    )
    op.create_index("ix_questions_opened_at", "questions", ["opened_at", "id"])


def downgrade() -> None:
    op.drop_index("ix_questions_opened_at", table_name="questions")
    op.drop_index("ix_history_settling", table_name="history")
    op.drop_index("ix_history_gate", table_name="history")
    op.drop_column("records", "fittings")
    op.drop_column("records", "arrived_at")
    op.drop_column("records", "manufactured_on")
