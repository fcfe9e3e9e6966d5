"""Find what the workshop has to do from an index alone.

Rewrites `records` once, to fill the new column from the records in it.
"""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

_FILL = """
UPDATE records SET has_work = presence = 'in-depot' AND merged_into IS NULL AND (
    json_array_length(body->'orders') > 0 OR json_array_length(body->'damages') > 0
    OR json_array_length(body->'repaint') > 0
    OR coalesce(body->>'to_weigh', 'false') = 'true'
)
"""


def upgrade() -> None:
    op.add_column(
        "records", sa.Column("has_work", sa.Boolean(), comment="it stands here for the workshop")
    )
    op.execute(_FILL)
    op.alter_column("records", "has_work", nullable=False)
    op.create_index(
        "ix_records_has_work",
        "records",
        ["depot", "work_due_on", "mend_by", "mark"],
        postgresql_where=sa.text("has_work"),
    )


def downgrade() -> None:
    op.drop_index("ix_records_has_work", table_name="records")
    op.drop_column("records", "has_work")
