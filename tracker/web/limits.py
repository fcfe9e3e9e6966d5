"""How large a request's body may be."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from fastapi import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY: Final = 8 * 1024 * 1024
"""A thousand events of 8 KiB."""


class BodyLimit:
    """Stops bodies that are too large while they come in, whatever length they claim to have.

    `larger` lets paths that begin with a text take more, such as those that photos are sent to.
    """

    def __init__(
        self, app: ASGIApp, most: int = LARGEST_BODY, larger: Mapping[str, int] | None = None
    ) -> None:
        self._app = app
        self._most = most
        self._larger = dict(larger or {})

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        most, taken = self._most_for(scope["path"]), 0

        async def count() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > most:
                raise HTTPException(413, f"The body has more than {most} bytes.")
            return message

        await self._app(scope, count, send)

    def _most_for(self, path: str) -> int:
        fitting = [most for begins, most in self._larger.items() if path.startswith(begins)]
        return max(fitting, default=self._most)
