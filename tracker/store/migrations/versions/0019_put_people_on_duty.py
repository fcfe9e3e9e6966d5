"""Put people on duty: whoever is, is told at once of breaches and new questions."""

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

_GRANTS = """
GRANT SELECT, INSERT, DELETE ON duties TO hardstand_web;
GRANT SELECT ON duties TO hardstand_worker;
"""


def upgrade() -> None:
    op.create_table(
        "duties",
        sa.Column("depot", sa.Text(), nullable=False, comment="* for every depot"),
        sa.Column(
            "address",
            sa.Text(),
            nullable=False,
            comment="where mail reaches whoever is on duty",
        ),
        sa.Column("name", sa.Text()),
        sa.Column("set_by", sa.Text(), nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("depot", "address", name="pk_duties"),
    )
    op.execute(_GRANTS)


def downgrade() -> None:
    op.drop_table("duties")
