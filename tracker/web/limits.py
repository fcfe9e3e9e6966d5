"""How large a request's body may be, and how much of them all is held at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from fastapi import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY: Final = 8 * 1024 * 1024
"""A thousand events of 8 KiB."""


HELD_AT_ONCE: Final = 256 * 1024 * 1024
"""What the bodies of all requests under way may come to."""

RETRY_AFTER_S: Final = 5


class BodyLimit:
    """Stops bodies that are too large while they come in, whatever length they claim to have.

    Together they may hold `at_once` bytes; who would hold more is asked to come later.

    `larger` lets paths that begin with a text take more, such as those that photos are sent to.
    """

    def __init__(
        self,
        app: ASGIApp,
        most: int = LARGEST_BODY,
        larger: Mapping[str, int] | None = None,
        at_once: int = HELD_AT_ONCE,
    ) -> None:
        self._app = app
        self._most = most
        self._larger = dict(larger or {})
        self._at_once = at_once
        self._held = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        most, taken = self._most_for(scope["path"]), 0

        async def count() -> Message:
            nonlocal taken
            message = await receive()
            size = len(message.get("body", b""))
            taken += size
            self._held += size
            if taken > most:
                raise HTTPException(413, f"The body has more than {most} bytes.")
            if self._held > self._at_once:
                headers = {"Retry-After": str(RETRY_AFTER_S)}
                says = f"Too much comes in at once. Send it again in {RETRY_AFTER_S} seconds."
                raise HTTPException(503, says, headers)
            return message

        try:
            await self._app(scope, count, send)
        finally:
            self._held -= taken

    def _most_for(self, path: str) -> int:
        fitting = [most for begins, most in self._larger.items() if path.startswith(begins)]
        return max(fitting, default=self._most)
