"""The account that embedded servers run as, and folders made for it."""

from __future__ import annotations

import os
import pwd
import stat
from dataclasses import dataclass
from typing import TYPE_CHECKING

from deploy.errors import EmbeddedError
from deploy.launcher import Past

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

# Under root: the account made for the purpose where there is one, else the one every system has.
_CANDIDATES = ("postgres", "nobody")


@dataclass(frozen=True, slots=True)
class Account:
    """Whom a server runs as; `name` is empty for the account this process has anyway."""

    name: str
    uid: int
    gid: int

    @property
    def is_other(self) -> bool:
        """Tell whether a server must change to this account."""
        return bool(self.name)


def server_account() -> Account:
    """Return the account that servers run as: our own, or an ordinary one if we are root.

    Raises:
        EmbeddedError: We are root and no ordinary account exists.
    """
    if os.geteuid() != 0:
        return Account("", os.geteuid(), os.getegid())
    for name in _CANDIDATES:
        try:
            entry = pwd.getpwnam(name)
        except KeyError:
            continue
        return Account(name, entry.pw_uid, entry.pw_gid)
    raise EmbeddedError(
        "PostgreSQL refuses to run as root, and there is no other account for it",
        expected=f"an account named {' or '.join(_CANDIDATES)}",
        remedy="Start as an ordinary user, or make such an account",
    )


def closed_to(account: Account, *, program: Path, folders: Iterable[Path]) -> Past:
    """Return what a server of `account` must get past to run `program` and reach `folders`."""
    if not account.is_other:
        return Past.NOTHING
    if not _may_pass(account, program):
        return Past.FILES
    on_the_way = {parent for path in (program, *folders) for parent in path.resolve().parents}
    is_open = all(_may_pass(account, folder) for folder in on_the_way)
    return Past.NOTHING if is_open else Past.FOLDERS


def make_folder(path: Path, account: Account, *, mode: int = 0o700) -> Path:
    """Make `path` a folder that belongs to `account`; may be called twice.

    Raises:
        EmbeddedError: Something else stands there, or it belongs to somebody else.
    """
    try:
        path.mkdir(parents=True, exist_ok=True, mode=mode)
    except OSError as error:
        raise EmbeddedError(
            f"{path} cannot be made: {error.strerror}",
            remedy="Clear the way, or set HARDSTAND_HOME to another folder",
        ) from error
    found = path.lstat()
    if account.is_other and found.st_uid == 0:
        os.chown(path, account.uid, account.gid)
        found = path.lstat()
    if stat.S_ISLNK(found.st_mode) or found.st_uid != account.uid:
        raise EmbeddedError(
            f"{path} belongs to account number {found.st_uid}, or only points elsewhere",
            expected=f"a folder of account number {account.uid}",
            remedy="Remove it, or set HARDSTAND_HOME to another folder",
        )
    path.chmod(mode)
    return path


def _may_pass(account: Account, path: Path) -> bool:
    # For a folder: enter it; for a program: run it.
    found = path.stat()
    if found.st_uid == account.uid:
        return bool(found.st_mode & stat.S_IXUSR)
    if found.st_gid == account.gid:
        return bool(found.st_mode & stat.S_IXGRP)
    return bool(found.st_mode & stat.S_IXOTH)
