"""Find the alerts about orders that are short of units."""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index(
        "ix_alerts_short",
        "alerts",
        ["depot"],
        postgresql_where=sa.text("kind = 'order-short' AND cleared_at IS NULL"),
    )


def downgrade() -> None:
    op.execute("DELETE FROM alert_answers WHERE kind = 'order-short'")
    op.execute("DELETE FROM alerts WHERE kind = 'order-short'")
    op.drop_index("ix_alerts_short", table_name="alerts")
