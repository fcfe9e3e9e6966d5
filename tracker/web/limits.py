"""How large a request's body may be, how much of them all is held at once, and for how long."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import anyio
from fastapi import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY: Final = 8 * 1024 * 1024
"""A thousand events of 8 KiB."""


HELD_AT_ONCE: Final = 256 * 1024 * 1024
"""What the bodies of all requests under way may come to."""

RETRY_AFTER_S: Final = 5

PATIENCE_S: Final = 30.0
"""How long the next piece of a body may be in coming; a phone with poor signal pauses, too."""

LONGEST_S: Final = 900.0
"""How long a body may be in coming altogether: the largest photo at some 25 kB a second."""


class BodyLimit:
    """Stops bodies that are too large while they come in, whatever length they claim to have.

    Together they may hold `at_once` bytes; who would hold more is asked to come later. One of which
    nothing comes for `patience_s`, or that is not whole after `LONGEST_S`, is given up.

    `larger` lets paths that begin with a text take more, such as those that photos are sent to.
    """

    def __init__(
        self,
        app: ASGIApp,
        most: int = LARGEST_BODY,
        larger: Mapping[str, int] | None = None,
        at_once: int = HELD_AT_ONCE,
        patience_s: float = PATIENCE_S,
    ) -> None:
        self._app = app
        self._most = most
        self._larger = dict(larger or {})
        self._at_once = at_once
        self._patience_s = patience_s
        self._held = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        most, taken, is_whole = self._most_for(scope["path"]), 0, False
        give_up_at = anyio.current_time() + LONGEST_S

        async def count() -> Message:
            nonlocal taken, is_whole
            if is_whole:
                return await receive()
            message = await self._wait(receive, give_up_at)
            is_whole = not message.get("more_body", False)
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

    async def _wait(self, receive: Receive, give_up_at: float) -> Message:
        left_s = min(self._patience_s, give_up_at - anyio.current_time())
        try:
            with anyio.fail_after(left_s):
                return await receive()
        except TimeoutError:
            says = "The body did not come in in time. Send it again, whole."
            raise HTTPException(408, says, {"Connection": "close"}) from None

    def _most_for(self, path: str) -> int:
        fitting = [most for begins, most in self._larger.items() if path.startswith(begins)]
        return max(fitting, default=self._most)
