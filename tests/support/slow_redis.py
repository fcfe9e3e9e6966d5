"""A server that takes Redis commands and answers none of them before it is told to."""

from __future__ import annotations

import contextlib
import socketserver
import threading
from typing import TYPE_CHECKING

from typing_extensions import override

if TYPE_CHECKING:
    from collections.abc import Iterator


class SlowRedis(socketserver.ThreadingTCPServer):
    """Counts the SET commands it was sent; answers each with nil, once `may_answer` is set."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Conversation)
        self.may_answer = threading.Event()
        self.asked = 0
        self.answered = 0

    @property
    def url(self) -> str:
        """Where it listens."""
        return f"redis://127.0.0.1:{self.server_address[1]}/0?protocol=2"


class _Conversation(socketserver.StreamRequestHandler):
    server: SlowRedis

    @override
    def handle(self) -> None:
        with contextlib.suppress(ConnectionError):
            while command := self._read():
                if command[0].upper() != b"SET":
                    self.wfile.write(b"+OK\r\n")
                    continue
                self.server.asked += 1
                self.server.may_answer.wait()
                self.server.answered += 1
                self.wfile.write(b"$-1\r\n")

    def _read(self) -> list[bytes]:
        count = self.rfile.readline()[1:]
        if not count:
            return []
        sizes = range(int(count))
        return [self.rfile.read(int(self.rfile.readline()[1:]) + 2)[:-2] for _ in sizes]


@contextlib.contextmanager
def open_slow_redis() -> Iterator[SlowRedis]:
    """Run the server until the end; whoever still waits gets an answer then."""
    with SlowRedis() as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield server
        finally:
            server.may_answer.set()
            server.shutdown()
            thread.join()
