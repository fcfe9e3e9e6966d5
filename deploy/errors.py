"""What can go wrong where everything is wired."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shared.errors import HardstandError

if TYPE_CHECKING:
    from pathlib import Path


class DeployError(HardstandError):
    """The base of errors raised while starting and wiring."""


class EmbeddedError(DeployError):
    """An embedded server cannot be started, reached or stopped."""


class ServerFailedError(EmbeddedError):
    """A server ended, or stayed silent, while it should have started; carries its last words."""

    def __init__(self, server: str, log: Path, last_words: str) -> None:
        self.server = server
        self.log = log
        self.last_words = last_words
        super().__init__(
            f"{server} did not start: {last_words or 'it said nothing'}",
            remedy=f"Its log is {log}",
        )


class HomeTakenError(EmbeddedError):
    """Another process holds the data folder, but its servers do not answer."""

    def __init__(self, home: Path, holder: str) -> None:
        self.home = home
        self.holder = holder
        super().__init__(
            f"Process {holder or '(unknown)'} holds {home}, but its servers do not answer",
            expected="either servers that answer, or nobody holding the folder",
            remedy="Stop that process, or set HARDSTAND_HOME to another folder",
        )


class BootstrapError(DeployError):
    """The database's roles and database cannot be made."""


class ServiceError(DeployError):
    """A service at a given address cannot be reached or is too old."""


class ServiceSilentError(ServiceError):
    """A service at a given address cannot be reached; perhaps it is only starting."""
