"""Let orders count on a unit from the moment that its reservation ends.

`free` speaks of all else from now on; whether a reservation still stands is asked of
`reserved_until` and the moment. Rewrites the rows of reserved units.
"""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

_BEFORE = "an order may count on it"
_AFTER = "an order may count on it, unless it is reserved"
_FILL = """
UPDATE records SET
    free = presence = 'in-depot' AND mark_state <> 'in-question' AND merged_into IS NULL
        AND coalesce(body->>'purpose', '') NOT IN ('customer-box', 'storage-for-others')
        AND json_array_length(body->'holds') = 0
WHERE stands = 'reserved'
"""


def upgrade() -> None:
    op.alter_column(
        "records", "free", existing_type=sa.Boolean(), comment=_AFTER, existing_comment=_BEFORE
    )
    op.execute(_FILL)


def downgrade() -> None:
    op.execute("UPDATE records SET free = false WHERE stands = 'reserved'")
    op.alter_column(
        "records", "free", existing_type=sa.Boolean(), comment=_BEFORE, existing_comment=_AFTER
    )
