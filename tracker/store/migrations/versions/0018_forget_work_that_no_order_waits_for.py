"""Let a database without histories stand at the fold that forgets work no order waits for."""

from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

_NOTHING_TO_REBUILD = "UPDATE folded SET version = 3 WHERE NOT EXISTS (SELECT FROM heads)"
_FORMER = "UPDATE folded SET version = 2 WHERE NOT EXISTS (SELECT FROM heads)"


def upgrade() -> None:
    op.execute(_NOTHING_TO_REBUILD)


def downgrade() -> None:
    op.execute(_FORMER)
