"""A mail server that refuses, is slow, or falls silent after it took a mail."""

from __future__ import annotations

import contextlib
import socketserver
import threading
import time
from collections import Counter
from collections.abc import Iterator
from email import message_from_bytes
from enum import StrEnum
from typing import Final

from typing_extensions import override

_SLOW_S: Final = 0.2


class Manner(StrEnum):
    """How the server behaves."""

    TAKES = "takes"
    REFUSES = "refuses"
    IS_SLOW = "is slow"
    FALLS_SILENT = "falls silent after DATA"
    """It takes the mail and breaks off before it says so: the sender cannot know."""


class Mailbox(socketserver.ThreadingTCPServer):
    """Keeps the Message-ID of every mail it took, as often as it took it."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Session)
        self.manner = Manner.TAKES
        self.taken: Counter[tuple[str, str]] = Counter()
        """By Message-ID and content."""
        self.turned_away = 0

    @property
    def url(self) -> str:
        """Where it listens."""
        return f"smtp://127.0.0.1:{self.server_address[1]}"


class _Session(socketserver.StreamRequestHandler):
    server: Mailbox

    @override
    def handle(self) -> None:
        self._say("220 at your service")
        with contextlib.suppress(ConnectionError):
            while line := self.rfile.readline():
                if not self._answer(line.split()[0].upper() if line.split() else b""):
                    return

    def _answer(self, verb: bytes) -> bool:
        """Answer one command; say whether the session goes on."""
        match verb:
            case b"QUIT":
                self._say("221 bye")
                return False
            case b"RCPT" if self.server.manner is Manner.REFUSES:
                self.server.turned_away += 1
                self._say("451 come again later")
            case b"DATA":
                self._say("354 go on")
                return self._take()
            case _:
                self._say("250 fine")
        return True

    def _take(self) -> bool:
        lines = []
        while (line := self.rfile.readline()) not in (b".\r\n", b""):
            lines.append(line)
        message = message_from_bytes(b"".join(lines))
        said = str(message["Subject"])
        self.server.taken[str(message["Message-ID"]), said] += 1
        if self.server.manner is Manner.FALLS_SILENT:
            return False
        if self.server.manner is Manner.IS_SLOW:
            time.sleep(_SLOW_S)
        self._say("250 taken")
        return True

    def _say(self, line: str) -> None:
        self.wfile.write(line.encode() + b"\r\n")


@contextlib.contextmanager
def open_mailbox() -> Iterator[Mailbox]:
    """Run a server on a free port."""
    with Mailbox() as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield server
        finally:
            server.shutdown()
            thread.join()
