"""Who may sign in, as what, and how often it was tried."""

from __future__ import annotations

from typing import Final

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    ForeignKeyConstraint,
    Identity,
    Index,
    LargeBinary,
    PrimaryKeyConstraint,
    Table,
    Text,
    UniqueConstraint,
    Uuid,
)
from sqlalchemy.dialects.postgresql import ARRAY

from tracker.store.tables.metadata import METADATA, MOMENT

ACCOUNTS: Final = Table(
    "accounts",
    METADATA,
    Column("id", Uuid, nullable=False),
    Column("name", Text, nullable=False, comment="typed at sign-in; small letters"),
    Column("shown_as", Text, nullable=False, comment="stands as the reporter of events"),
    Column("password", Text, comment="argon2 hash; null signs nobody in"),
    Column("made_at", MOMENT, nullable=False),
    PrimaryKeyConstraint("id", name="pk_accounts"),
    UniqueConstraint("name", name="uq_accounts_name"),
)

ACCOUNT_ROLES: Final = Table(
    "account_roles",
    METADATA,
    Column("account_id", Uuid, nullable=False),
    Column("depot", Text, nullable=False, comment="a depot's code, or * for every depot"),
    Column("role", Text, nullable=False),
    PrimaryKeyConstraint("account_id", "depot", "role", name="pk_account_roles"),
    ForeignKeyConstraint(
        ["account_id"], ["accounts.id"], name="fk_account_roles_account_id", ondelete="CASCADE"
    ),
    CheckConstraint(
        "role IN ('gate', 'workshop', 'sales', 'manager')", name="ck_account_roles_role"
    ),
)

ACCOUNT_SUBJECTS: Final = Table(
    "account_subjects",
    METADATA,
    Column("issuer", Text, nullable=False, comment="of the OpenID provider"),
    Column("subject", Text, nullable=False, comment="who somebody is to the provider, for ever"),
    Column("account_id", Uuid, nullable=False),
    Column("linked_at", MOMENT, nullable=False),
    PrimaryKeyConstraint("issuer", "subject", name="pk_account_subjects"),
    UniqueConstraint("account_id", "issuer", name="uq_account_subjects_account_id_issuer"),
    ForeignKeyConstraint(
        ["account_id"], ["accounts.id"], name="fk_account_subjects_account_id", ondelete="CASCADE"
    ),
)

SESSIONS: Final = Table(
    "sessions",
    METADATA,
    Column(
        "digest", LargeBinary, nullable=False, comment="of the token, which only the cookie has"
    ),
    Column("account_id", Uuid, nullable=False),
    Column("begun_at", MOMENT, nullable=False),
    Column("seen_at", MOMENT, nullable=False, comment="to a few minutes"),
    PrimaryKeyConstraint("digest", name="pk_sessions"),
    ForeignKeyConstraint(
        ["account_id"], ["accounts.id"], name="fk_sessions_account_id", ondelete="CASCADE"
    ),
)

Index("ix_sessions_account_id", SESSIONS.c.account_id)

MACHINE_KEYS: Final = Table(
    "machine_keys",
    METADATA,
    Column("id", Uuid, nullable=False),
    Column("name", Text, nullable=False),
    Column("digest", LargeBinary, nullable=False, comment="of the key, which only its machine has"),
    Column("scopes", ARRAY(Text), nullable=False),
    Column("depots", ARRAY(Text), nullable=False, comment="codes, or * for every depot"),
    Column("made_at", MOMENT, nullable=False),
    PrimaryKeyConstraint("id", name="pk_machine_keys"),
    UniqueConstraint("name", name="uq_machine_keys_name"),
    UniqueConstraint("digest", name="uq_machine_keys_digest"),
)

SIGN_IN_ATTEMPTS: Final = Table(
    "sign_in_attempts",
    METADATA,
    Column("id", BigInteger, Identity(always=True), nullable=False),
    Column("who", LargeBinary, nullable=False, comment="keyed digest of a name or an address"),
    Column("tried_at", MOMENT, nullable=False),
    PrimaryKeyConstraint("id", name="pk_sign_in_attempts"),
)

Index("ix_sign_in_attempts_who", SIGN_IN_ATTEMPTS.c.who, SIGN_IN_ATTEMPTS.c.tried_at)
