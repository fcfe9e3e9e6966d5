"""Let people sign in: accounts with roles per depot, sessions, keys for machines, attempts.

And let them list the stock page by page: an index in the order of its pages.
"""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

# Everything a role may ask of a table stands here, or is not granted.
_GRANTS = """
GRANT SELECT, INSERT, UPDATE, DELETE ON accounts, account_roles, sessions TO hardstand_web;
GRANT SELECT, INSERT, DELETE ON machine_keys, sign_in_attempts TO hardstand_web;
"""


def upgrade() -> None:
    op.create_table(
        "accounts",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False, comment="typed at sign-in; small letters"),
        sa.Column(
            "shown_as", sa.Text(), nullable=False, comment="stands as the reporter of events"
        ),
        sa.Column(
            "password", sa.Text(), nullable=True, comment="argon2 hash; null signs nobody in"
        ),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_accounts"),
        sa.UniqueConstraint("name", name="uq_accounts_name"),
    )
    op.create_table(
        "account_roles",
        sa.Column("account_id", sa.Uuid(), nullable=False),
        sa.Column(
            "depot", sa.Text(), nullable=False, comment="a depot's code, or * for every depot"
        ),
        sa.Column("role", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "role IN ('gate', 'workshop', 'sales', 'manager')", name="ck_account_roles_role"
        ),
        sa.ForeignKeyConstraint(
            ["account_id"], ["accounts.id"], name="fk_account_roles_account_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("account_id", "depot", "role", name="pk_account_roles"),
    )
    op.create_table(
        "sessions",
        sa.Column(
            "digest",
            sa.LargeBinary(),
            nullable=False,
            comment="of the token, which only the cookie has",
        ),
        sa.Column("account_id", sa.Uuid(), nullable=False),
        sa.Column("begun_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column(
            "seen_at", sa.DateTime(timezone=True), nullable=False, comment="to a few minutes"
        ),
        sa.ForeignKeyConstraint(
            ["account_id"], ["accounts.id"], name="fk_sessions_account_id", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("digest", name="pk_sessions"),
    )
    op.create_index("ix_sessions_account_id", "sessions", ["account_id"], unique=False)
    op.create_table(
        "machine_keys",
        sa.Column("id", sa.Uuid(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column(
            "digest",
            sa.LargeBinary(),
            nullable=False,
            comment="of the key, which only its machine has",
        ),
        sa.Column("scopes", postgresql.ARRAY(sa.Text()), nullable=False),
        sa.Column(
            "depots",
            postgresql.ARRAY(sa.Text()),
            nullable=False,
            comment="codes, or * for every depot",
        ),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_machine_keys"),
        sa.UniqueConstraint("digest", name="uq_machine_keys_digest"),
        sa.UniqueConstraint("name", name="uq_machine_keys_name"),
    )
    op.create_table(
        "sign_in_attempts",
        sa.Column("id", sa.BigInteger(), sa.Identity(always=True), nullable=False),
        sa.Column(
            "who",
            sa.LargeBinary(),
            nullable=False,
            comment="keyed digest of a name or an address",
        ),
        sa.Column("tried_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_sign_in_attempts"),
    )
    op.create_index(
        "ix_sign_in_attempts_who", "sign_in_attempts", ["who", "tried_at"], unique=False
    )
    op.create_index(
        "ix_records_listed",
        "records",
        [sa.literal_column("COALESCE(mark, '')"), "unit_id"],
        unique=False,
    )
    op.execute(_GRANTS)


def downgrade() -> None:
    op.drop_index("ix_records_listed", table_name="records")
    for table in ("sign_in_attempts", "machine_keys", "sessions", "account_roles", "accounts"):
        op.drop_table(table)
