"""Let an operator drop a letter that can reach nobody any more, so that none stands for ever."""

from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

_BEFORE = "state IN ('waiting', 'sent', 'nobody', 'given-up')"
_AFTER = "state IN ('waiting', 'sent', 'nobody', 'given-up', 'dropped')"


def upgrade() -> None:
    op.drop_constraint("ck_outbox_state", "outbox")
    op.create_check_constraint("ck_outbox_state", "outbox", _AFTER)


def downgrade() -> None:
    op.drop_constraint("ck_outbox_state", "outbox")
    op.execute("UPDATE outbox SET state = 'given-up' WHERE state = 'dropped'")
    op.create_check_constraint("ck_outbox_state", "outbox", _BEFORE)
