"""Find a unit by the last digits of its mark, with the check digit or without."""

from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("CREATE INDEX ix_records_mark_backwards ON records (reverse(mark) text_pattern_ops)")


def downgrade() -> None:
    op.drop_index("ix_records_mark_backwards", table_name="records")
