"""Promise by quantity: orders, and the free stock that they count on.

Rewrites `records` once, to fill the new columns from the records in it.
"""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

_FILL = """
UPDATE records SET
    colour = body->>'colour', provenance = body->>'provenance',
    free = presence = 'in-depot' AND mark_state <> 'in-question' AND stands = 'free'
        AND coalesce(body->>'purpose', '') NOT IN ('customer-box', 'storage-for-others')
        AND json_array_length(body->'holds') = 0 AND merged_into IS NULL
"""


def upgrade() -> None:
    op.add_column("records", sa.Column("colour", sa.Text()))
    op.add_column("records", sa.Column("provenance", sa.Text()))
    op.add_column("records", sa.Column("free", sa.Boolean(), comment="an order may count on it"))
    op.execute(_FILL)
    op.alter_column("records", "free", nullable=False)
    op.create_index(
        "ix_records_free",
        "records",
        ["depot", "size_type", "condition", "colour", "provenance"],
        postgresql_where=sa.text("free"),
    )
    op.create_table(
        "orders",
        sa.Column("order_id", sa.Uuid(), nullable=False),
        sa.Column("depot", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column(
            "outstanding",
            sa.SmallInteger(),
            nullable=False,
            comment="promised and not yet allotted",
        ),
        sa.Column("body", postgresql.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("order_id", name="pk_orders"),
    )
    op.create_index(
        "ix_orders_open", "orders", ["depot"], postgresql_where=sa.text("outstanding > 0")
    )
    op.execute("GRANT SELECT, INSERT, UPDATE ON orders TO hardstand_worker")
    op.execute("GRANT SELECT ON orders TO hardstand_web, hardstand_reader")


def downgrade() -> None:
    op.drop_table("orders")
    op.drop_index("ix_records_free", table_name="records")
    op.drop_column("records", "free")
    op.drop_column("records", "provenance")
    op.drop_column("records", "colour")
