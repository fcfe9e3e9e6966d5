"""Let people sign in at an OpenID provider: which subject of which issuer is which account."""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

_GRANTS = "GRANT SELECT, INSERT, DELETE ON account_subjects TO hardstand_web;"


def upgrade() -> None:
    op.create_table(
        "account_subjects",
        sa.Column("issuer", sa.Text(), nullable=False, comment="of the OpenID provider"),
        sa.Column(
            "subject",
            sa.Text(),
            nullable=False,
            comment="who somebody is to the provider, for ever",
        ),
        sa.Column("account_id", sa.Uuid(), nullable=False),
        sa.Column("linked_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("issuer", "subject", name="pk_account_subjects"),
        sa.UniqueConstraint("account_id", "issuer", name="uq_account_subjects_account_id_issuer"),
        sa.ForeignKeyConstraint(
            ["account_id"],
            ["accounts.id"],
            name="fk_account_subjects_account_id",
            ondelete="CASCADE",
        ),
    )
    op.execute(_GRANTS)


def downgrade() -> None:
    op.drop_table("account_subjects")
