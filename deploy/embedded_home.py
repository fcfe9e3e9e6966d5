"""The data folder's rooms, and the short folder for sockets where its own path is too long."""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from dataclasses import dataclass
from pathlib import Path

from deploy import accounts
from deploy.accounts import Account

# The system's limit for the path of a socket, and the longest name that stands at its end.
_SOCKET_PATH_BYTES = 107
_LONGEST_SOCKET_NAME = "/.s.PGSQL.5432.lock"
# Libraries differ in how they quote the rest in an address.
_PLAIN_PATH = re.compile(r"[A-Za-z0-9/._+-]+")


@dataclass(frozen=True, slots=True)
class Home:
    """The data folder; paths below it may not exist yet."""

    path: Path
    account: Account

    @property
    def postgres(self) -> Path:
        """The cluster's files."""
        return self.path / "postgres"

    @property
    def redis(self) -> Path:
        """What Redis keeps: its process number only."""
        return self.path / "redis"

    @property
    def logs(self) -> Path:
        """What the servers say."""
        return self.path / "logs"

    @property
    def lock(self) -> Path:
        """Held by the process that started the servers, for as long as it lives."""
        return self.path / "started-by.lock"

    @property
    def sockets(self) -> Path:
        """Where the servers listen: below the home, else in a short and plain temporary folder."""
        inside = self.path / "run"
        length = len(f"{inside}{_LONGEST_SOCKET_NAME}")
        if length <= _SOCKET_PATH_BYTES and _PLAIN_PATH.fullmatch(str(inside)):
            return inside
        digest = hashlib.sha256(os.fsencode(self.path)).hexdigest()[:16]
        return Path(tempfile.gettempdir()) / f"hardstand-{self.account.uid}-{digest}"

    @property
    def redis_socket(self) -> Path:
        """Where Redis listens."""
        return self.sockets / "redis.sock"


def open_home(path: Path) -> Home:
    """Return the data folder at `path`, made if need be.

    Raises:
        EmbeddedError: The folder cannot be made, or belongs to somebody else.
    """
    account = accounts.server_account()
    own = Account("", os.geteuid(), os.getegid())
    # Servers under another account must get through; what is private below has its own mode.
    accounts.make_folder(path, own, mode=0o711 if account.is_other else 0o700)
    home = Home(path.resolve(), account)
    accounts.make_folder(home.logs, own)
    accounts.make_folder(home.redis, account)
    accounts.make_folder(home.sockets, account)
    return home
