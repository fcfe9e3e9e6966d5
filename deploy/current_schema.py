"""The schema brought up to date, or a sentence that says why it cannot be."""

from __future__ import annotations

from alembic.util.exc import CommandError

from deploy.errors import DeployError
from tracker.store import schema


class SchemaUnknownError(DeployError):
    """The database's schema is none that this program knows: it was made by a newer one."""

    def __init__(self, says: str) -> None:
        super().__init__(
            f"The database's schema cannot be brought up to date: {says}",
            expected="a schema no newer than this program",
            remedy="Bring the program up to date, or restore the backup from before the upgrade",
        )


def bring_up_to_date(owner_url: str) -> None:
    """Make or change the tables as this program needs them.

    Raises:
        SchemaUnknownError: They were made by a newer version of the program.
    """
    try:
        schema.upgrade(owner_url)
    except CommandError as fault:
        raise SchemaUnknownError(str(fault)) from fault
