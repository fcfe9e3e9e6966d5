"""Which account somebody has whom an OpenID provider knows: by issuer and subject."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from sqlalchemy import Connection, delete, select
from sqlalchemy.dialects.postgresql import insert

from tracker.store.tables import ACCOUNT_SUBJECTS


def find_account(connection: Connection, issuer: str, subject: str) -> UUID | None:
    """Return the account that a subject is linked to, if it is to one."""
    return connection.execute(
        select(ACCOUNT_SUBJECTS.c.account_id).where(
            ACCOUNT_SUBJECTS.c.issuer == issuer, ACCOUNT_SUBJECTS.c.subject == subject
        )
    ).scalar_one_or_none()


def link(
    connection: Connection, issuer: str, subject: str, account_id: UUID, linked_at: datetime
) -> bool:
    """Link a subject to an account; say whether it could be: each is linked once per issuer."""
    linked = connection.execute(
        insert(ACCOUNT_SUBJECTS)
        .values(issuer=issuer, subject=subject, account_id=account_id, linked_at=linked_at)
        .on_conflict_do_nothing()
        .returning(ACCOUNT_SUBJECTS.c.account_id)
    )
    return linked.scalar_one_or_none() is not None


def unlink(connection: Connection, account_id: UUID) -> int:
    """Forget all subjects of an account; return how many there were."""
    return connection.execute(
        delete(ACCOUNT_SUBJECTS).where(ACCOUNT_SUBJECTS.c.account_id == account_id)
    ).rowcount
