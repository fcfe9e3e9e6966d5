"""Count what stands in the depots from an index alone."""

from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("""
        CREATE INDEX ix_records_here ON records
            (depot, size_type, condition, stands, arrived_at, examination_on)
        WHERE presence = 'in-depot' AND merged_into IS NULL
            AND (mark IS NOT NULL OR tag IS NOT NULL)
    """)


def downgrade() -> None:
    op.drop_index("ix_records_here", table_name="records")
