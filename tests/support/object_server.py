"""A store of objects on this machine that speaks as much S3 as keeping photos takes."""

from __future__ import annotations

import contextlib
import re
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from typing_extensions import override

_STOP_WITHIN_S = 0.01


@dataclass(slots=True)
class ObjectServer:
    """What is in the store, by path, and how it behaves."""

    url: str = ""
    objects: dict[str, bytes] = field(default_factory=dict)
    seen: list[tuple[str, str]] = field(default_factory=list)
    hides_what_is_missing: bool = False
    """Whether it answers 403 for what it has not, as to one who may not list."""
    answers: int | None = None
    """A status that it answers everything with."""
    meanwhile: Callable[[], object] | None = None
    """What happens while the next object is on its way here."""


class _Server(ThreadingHTTPServer):
    def __init__(self, state: ObjectServer) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.state = state
        state.url = f"http://127.0.0.1:{self.server_port}"


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server: _Server

    def do_HEAD(self) -> None:
        self.do_GET()

    def do_GET(self) -> None:
        state = self.server.state
        found = state.objects.get(self.path)
        missing = 403 if state.hides_what_is_missing else 404
        self._answer(missing if found is None else 200, found or b"")

    def do_PUT(self) -> None:
        state = self.server.state
        body = self.rfile.read(int(self.headers["Content-Length"]))
        if state.meanwhile is not None:
            happens, state.meanwhile = state.meanwhile, None
            happens()
        if self._is_signed() and state.answers is None:
            state.objects[self.path] = body
        self._answer(200)

    def do_POST(self) -> None:
        """Remove the objects that a list names: the one thing that is posted."""
        listed = self.rfile.read(int(self.headers["Content-Length"])).decode()
        keys = re.findall("<Key>(.*?)</Key>", listed)
        bucket = self.path.partition("?")[0]
        if self._is_signed():
            for key in keys:
                self.server.state.objects.pop(f"{bucket}/{key}", None)
        gone = "".join(f"<Deleted><Key>{key}</Key></Deleted>" for key in keys)
        self._answer(200, f"<DeleteResult>{gone}</DeleteResult>".encode())

    def _answer(self, status: int, body: bytes = b"") -> None:
        state = self.server.state
        state.seen.append((self.command, self.path))
        self.send_response(state.answers or (status if self._is_signed() else 403))
        self.send_header("Content-Length", str(len(body)))
        self.send_header("ETag", '"one"')
        self.send_header("Last-Modified", "Mon, 02 Mar 2026 08:00:00 GMT")
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(body)

    def _is_signed(self) -> bool:
        return "Credential=KEY/" in self.headers.get("Authorization", "")

    @override
    def log_message(self, *_: object) -> None:
        """Say nothing."""


@contextlib.contextmanager
def serve() -> Iterator[ObjectServer]:
    """Provide an empty store that lets in whoever has the key `KEY`."""
    state = ObjectServer()
    with _Server(state) as server:
        thread = threading.Thread(target=server.serve_forever, args=(_STOP_WITHIN_S,), daemon=True)
        thread.start()
        try:
            yield state
        finally:
            server.shutdown()
            thread.join()
