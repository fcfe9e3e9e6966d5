"""Let the workshop's list hold units that bear placards or labels.

Reads `records` once; writes those that were not on the list before.
"""

from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

_TAKE_ON = """
UPDATE records SET has_work = true
WHERE NOT has_work AND presence = 'in-depot' AND merged_into IS NULL
    AND body->>'placards' IS NOT NULL
"""
_TAKE_OFF = """
UPDATE records SET has_work = false
WHERE has_work
    AND json_array_length(body->'orders') = 0 AND json_array_length(body->'damages') = 0
    AND json_array_length(body->'repaint') = 0
    AND coalesce(body->>'to_weigh', 'false') <> 'true'
"""


def upgrade() -> None:
    op.execute(_TAKE_ON)


def downgrade() -> None:
    op.execute(_TAKE_OFF)
