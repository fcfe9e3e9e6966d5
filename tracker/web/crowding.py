"""Back-pressure: with too many requests under way, more are asked to come later, at once.

Whatever more than so many would do is stand in line for the same few threads, each holding its
body in memory, until whoever sent it has given up and sends it again. While only the network is
waited for, nobody's place is taken: else a few senders who dawdle would keep everybody out.
"""

from __future__ import annotations

from typing import Final

from fastapi import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from shared import logs
from tracker.web import problems
from tracker.web.places import Places, aside

log = logs.get(__name__)

RETRY_AFTER_S: Final = 2

_ALWAYS_ANSWERED: Final = ("/health", "/ready", "/metrics")
"""What watches the process must be answered when it is at its worst."""


class Crowding:
    """Lets so many requests in at once."""

    def __init__(self, app: ASGIApp, most: int) -> None:
        self._app = app
        self._most = most
        self._places = Places()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request, or put it off."""
        if scope["type"] != "http" or scope["path"] in _ALWAYS_ANSWERED:
            await self._app(scope, receive, send)
            return
        if self._places.taken >= self._most:
            await self._put_off(scope, receive, send)
            return
        with self._places.one():
            await self._app(scope, _leave_place_for_body(receive), _leave_place(send))

    async def _put_off(self, scope: Scope, receive: Receive, send: Send) -> None:
        log.warning("request.put_off", path=scope["path"], under_way=self._places.taken)
        answer = problems.problem(
            Request(scope),
            503,
            f"Too much is asked at once. Nothing was taken. Ask again in {RETRY_AFTER_S} seconds.",
            kind="urn:hardstand:problem:crowded",
            headers={"Retry-After": str(RETRY_AFTER_S)},
        )
        await answer(scope, receive, send)


def _leave_place_for_body(receive: Receive) -> Receive:
    """Leave the place to others while the body comes in, at whatever pace its sender likes.

    What is received after the body is whole is only that the sender has gone: it is waited for
    beside the work, which keeps its place.
    """
    is_whole = False

    async def wait() -> Message:
        nonlocal is_whole
        if is_whole:
            return await receive()
        with aside():
            message = await receive()
        is_whole = not message.get("more_body", False)
        return message

    return wait


def _leave_place(send: Send) -> Send:
    """Leave the place to others while whoever asked takes their time to read the answer."""

    async def wait(message: Message) -> None:
        with aside():
            await send(message)

    return wait
