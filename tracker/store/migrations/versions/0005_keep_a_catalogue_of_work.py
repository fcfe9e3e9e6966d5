"""Keep a catalogue of work: what a house does otherwise than the set that comes with the program.

A row stands for one piece of work in place of the shipped one, or besides; `withdrawn` takes one
away. What no row names is as shipped.
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

# Everything a role may ask of a table stands here, or is not granted.
_GRANTS = """
GRANT SELECT, INSERT, UPDATE ON work_items TO hardstand_web;
GRANT SELECT ON work_items TO hardstand_worker, hardstand_reader;
"""


def upgrade() -> None:
    op.create_table(
        "work_items",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column(
            "mass_kg",
            sa.Integer(),
            nullable=True,
            comment="of one piece; null where it cannot be said beforehand",
        ),
        sa.Column(
            "cuts", sa.Text(), nullable=False, comment="steel taken out, and where; empty for none"
        ),
        sa.Column("cut_out_kg", sa.Integer(), nullable=False),
        sa.Column("permanent", sa.Boolean(), nullable=False),
        sa.Column("labour_min", sa.Integer(), nullable=False),
        sa.Column(
            "price",
            sa.Numeric(precision=12, scale=2),
            nullable=True,
            comment="of one piece, without tax",
        ),
        sa.Column("approval_effect", sa.Text(), nullable=False),
        sa.Column(
            "caution", sa.Text(), nullable=False, comment="a key of the shipped cautions, or words"
        ),
        sa.Column("certificate", sa.Text(), nullable=False),
        sa.Column("reported_as", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("certainty", sa.Text(), nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False, comment="the house does not do it"),
        sa.CheckConstraint(
            "approval_effect IN ('none', 'ask', 'void')", name="ck_work_items_approval_effect"
        ),
        sa.PrimaryKeyConstraint("name", name="pk_work_items"),
    )
    op.execute(_GRANTS)


def downgrade() -> None:
    op.drop_table("work_items")
