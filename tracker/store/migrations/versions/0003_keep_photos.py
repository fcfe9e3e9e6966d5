"""Keep photos: what is known of each; the pictures themselves lie in the photo store.

A photo is never changed and never exchanged: its digest stands in the histories.
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

# Everything a role may ask of a table stands here, or is not granted.
_GRANTS = """
GRANT SELECT, INSERT ON photos TO hardstand_web;
GRANT SELECT ON photos TO hardstand_worker, hardstand_reader;
"""


def upgrade() -> None:
    op.create_table(
        "photos",
        sa.Column(
            "digest",
            sa.LargeBinary(),
            nullable=False,
            comment="SHA-256 of what is kept; names the file",
        ),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False, comment="of the upright picture, pixels"),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column(
            "taken_at",
            sa.Text(),
            nullable=True,
            comment="ISO 8601 by the camera; with a zone only if it told one",
        ),
        sa.Column("received_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("too_dark", sa.Boolean(), nullable=False),
        sa.Column("too_blurred", sa.Boolean(), nullable=False),
        sa.Column(
            "small",
            sa.LargeBinary(),
            nullable=False,
            comment="digest of the picture of 320 pixels",
        ),
        sa.Column(
            "large",
            sa.LargeBinary(),
            nullable=False,
            comment="digest of the picture of 1280 pixels",
        ),
        sa.PrimaryKeyConstraint("digest", name="pk_photos"),
    )
    op.execute(_GRANTS)


def downgrade() -> None:
    op.drop_table("photos")
