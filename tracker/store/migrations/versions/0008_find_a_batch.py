"""Find all reports that name a batch: what was pre-advised, what came, what was corrected."""

from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute(
        "CREATE INDEX ix_history_batch ON history"
        " (coalesce(body #>> '{event,batch}', body #>> '{event,changes,batch}'))"
        " WHERE kind IN ('pre-advice', 'gate-in', 'correction')"
    )


def downgrade() -> None:
    op.drop_index("ix_history_batch", table_name="history")
