"""Headers that every answer carries: what a browser may do with it, and by which id we log it."""

from __future__ import annotations

from typing import Final

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from shared import logs
from shared.ids import new_id

POLICY: Final = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
"""Scripts and styles come from files of ours only: none may stand in a page."""

_ALWAYS: Final = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    # With `no-referrer` a browser would hide its origin from our own forms too.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=(), payment=()",
}


class Headers:
    """Adds the headers, and binds the request's id to all that is logged while it is handled.

    `is_public_encrypted`: people reach the pages by TLS, whatever a proxy before us says of it.
    """

    def __init__(self, app: ASGIApp, *, is_public_encrypted: bool = False) -> None:
        self._app = app
        self._is_public_encrypted = is_public_encrypted

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        request_id = str(new_id())
        scope.setdefault("state", {})["request_id"] = request_id
        logs.clear()
        logs.bind(request=request_id)

        async def add(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                _add_to(headers, scope, request_id)
                if self._is_public_encrypted or scope.get("scheme") == "https":
                    headers.setdefault("Strict-Transport-Security", "max-age=31536000")
            await send(message)

        await self._app(scope, receive, add)


def _add_to(headers: MutableHeaders, scope: Scope, request_id: str) -> None:
    for name, value in _ALWAYS.items():
        headers.setdefault(name, value)
    headers["X-Request-Id"] = request_id
    is_static = scope["path"].startswith("/static/")
    headers.setdefault("Cache-Control", "no-cache" if is_static else "no-store")
