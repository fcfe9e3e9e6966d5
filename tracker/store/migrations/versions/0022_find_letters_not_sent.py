"""Find the letters that were not sent from an index: those that were stay for ever."""

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index(
        "ix_outbox_unsent",
        "outbox",
        ["state"],
        postgresql_where=sa.text("state IN ('waiting', 'nobody', 'given-up')"),
    )


def downgrade() -> None:
    op.drop_index("ix_outbox_unsent", "outbox")
