"""Order the moves of events between units: the last one says where an event stands.

Rows from before are numbered as they lie in the table, which is as they were written: none is ever
changed or removed.
"""

from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.execute("ALTER TABLE moves ADD COLUMN position BIGINT GENERATED ALWAYS AS IDENTITY")
    # Rebuilding removes an order that no history stands behind.
    op.execute("GRANT DELETE ON orders TO hardstand_worker")


def downgrade() -> None:
    op.execute("REVOKE DELETE ON orders FROM hardstand_worker")
    op.drop_column("moves", "position")
