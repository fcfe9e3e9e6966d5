"""One connection of one client: HTTP/1.1 at its plainest, so that 500 cost little beside a server.

A client library would tell less: whether a broken connection had begun to answer is what counts.
"""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

_LONGEST_ANSWER_S: Final = 90


class WireError(Exception):
    """A request came to nothing."""


class NotAnsweredError(WireError):
    """The connection was refused or closed before the first byte of an answer."""


class TornAnswerError(WireError):
    """An answer broke off after it had begun."""


class SilentError(WireError):
    """No whole answer came in the longest time that a client waits."""


@dataclass(frozen=True, slots=True)
class Answer:
    """A whole answer."""

    status: int
    headers: dict[str, str]
    body: bytes


class Wire:
    """A connection that is kept and made anew when it is gone. One request at a time."""

    def __init__(self, host: str, port: int, headers: dict[str, str]) -> None:
        self._host, self._port = host, port
        self._said = "".join(f"{name}: {value}\r\n" for name, value in headers.items())
        self._streams: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def ask(self, method: str, path: str, body: bytes = b"") -> Answer:
        """Send a request and return its answer.

        Raises:
            NotAnsweredError: nobody took it, or nobody began to answer.
            TornAnswerError: the answer broke off.
            SilentError: no answer came.
        """
        try:
            async with asyncio.timeout(_LONGEST_ANSWER_S):
                return await self._ask(method, path, body)
        except TimeoutError:
            self.close()
            raise SilentError from None
        except WireError:
            self.close()
            raise

    def close(self) -> None:
        """Close the connection, if there is one."""
        if self._streams is not None:
            self._streams[1].close()
        self._streams = None

    async def _ask(self, method: str, path: str, body: bytes) -> Answer:
        try:
            if self._streams is None:
                self._streams = await asyncio.open_connection(self._host, self._port)
            reader, writer = self._streams
            head = f"{method} {path} HTTP/1.1\r\nHost: {self._host}:{self._port}\r\n{self._said}"
            writer.write(f"{head}Content-Length: {len(body)}\r\n\r\n".encode() + body)
            await writer.drain()
            first = await reader.readline()
        except OSError as fault:
            raise NotAnsweredError from fault
        if not first:
            raise NotAnsweredError
        with _torn():
            headers = await _read_headers(reader)
            answer = await reader.readexactly(int(headers["content-length"]))
        if headers.get("connection") == "close":
            self.close()
        return Answer(int(first.split()[1]), headers, answer)


async def _read_headers(reader: asyncio.StreamReader) -> dict[str, str]:
    said = await reader.readuntil(b"\r\n\r\n")
    pairs = (line.split(":", 1) for line in said.decode("latin-1").splitlines() if line)
    return {name.lower(): value.strip() for name, value in pairs}


@contextlib.contextmanager
def _torn() -> Iterator[None]:
    try:
        yield
    except (OSError, asyncio.IncompleteReadError, asyncio.LimitOverrunError, KeyError) as fault:
        raise TornAnswerError from fault
