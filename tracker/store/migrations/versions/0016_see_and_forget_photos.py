"""Know which events name a photo and who sent it, so that it is seen by those who may; forget it.

What histories name already is read from them once. Who sent a photo before is not known: it is
seen by whom its events are seen by.
"""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

_FILL = """
INSERT INTO photo_uses (digest, event_id)
SELECT DISTINCT decode(named[1], 'hex'), event_id
FROM history, LATERAL regexp_matches(body::text, '"([0-9a-f]{64})"', 'g') AS named
WHERE body::text ~ '"(photo|photos|signature)":'
"""
_GRANTS = """
GRANT SELECT, INSERT ON photo_uses TO hardstand_worker;
GRANT SELECT ON photo_uses TO hardstand_web, hardstand_reader;
GRANT SELECT, INSERT ON photo_senders TO hardstand_web;
"""


def upgrade() -> None:
    op.add_column(
        "photos",
        sa.Column(
            "forgotten_at",
            sa.DateTime(timezone=True),
            comment="since when the pictures are erased for ever",
        ),
    )
    op.create_table(
        "photo_uses",
        sa.Column("digest", sa.LargeBinary(), nullable=False),
        sa.Column(
            "event_id",
            sa.Uuid(),
            nullable=False,
            comment="a recorded event that names the photo",
        ),
        sa.PrimaryKeyConstraint("digest", "event_id", name="pk_photo_uses"),
    )
    op.create_table(
        "photo_senders",
        sa.Column("digest", sa.LargeBinary(), nullable=False),
        sa.Column(
            "sender_id",
            sa.Uuid(),
            nullable=False,
            comment="the account or the key it came with",
        ),
        sa.PrimaryKeyConstraint("digest", "sender_id", name="pk_photo_senders"),
    )
    op.execute(_FILL)
    op.execute(_GRANTS)


def downgrade() -> None:
    op.drop_table("photo_senders")
    op.drop_table("photo_uses")
    op.drop_column("photos", "forgotten_at")
