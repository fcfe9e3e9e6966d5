"""Forged requests: what a browser sends along with its cookie must come from a page of ours.

Two fences: the browser's own word on where a request comes from, and a token of the session that
only our pages can read. A machine's key is sent by no browser by itself and needs neither.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import AsyncIterator
from typing import Final
from urllib.parse import urlsplit

from fastapi import Request

from shared.errors import HardstandError
from tracker.services.context import Context
from tracker.web.access import COOKIE, bearer_of
from tracker.web.means import means_of

FIELD: Final = "csrf_token"
HEADER: Final = "X-CSRF-Token"

_HARMLESS: Final = frozenset({"GET", "HEAD", "OPTIONS"})
_FORMS: Final = ("application/x-www-form-urlencoded", "multipart/form-data")


class ForgedRequestError(HardstandError):
    """A request may have been sent by a page of somebody else."""

    def __init__(self, wrong: str) -> None:
        super().__init__(
            wrong,
            expected=f"the session's token in the header {HEADER} or the field {FIELD}",
            remedy="Load the page again and send it once more",
        )


def token_for(context: Context, session: str) -> str:
    """Return the token that pages of this session send along."""
    said = f"csrf\x00{session}".encode(errors="surrogatepass")
    return hmac.digest(context.secret, said, hashlib.sha256).hex()


async def check(request: Request) -> AsyncIterator[None]:
    """Stop what changes something and does not come from a page of ours.

    Raises:
        ForgedRequestError: it comes from elsewhere, or lacks the session's token.
    """
    try:
        await _check(request)
        yield
    finally:
        # A form that was read, here or by the page, may hold files; nobody else closes them.
        await request.close()


async def _check(request: Request) -> None:
    if request.method in _HARMLESS or bearer_of(request) is not None:
        return
    if not _is_from_here(request):
        raise ForgedRequestError("The request comes from another site")
    session = request.cookies.get(COOKIE)
    if session is None or request.state.actor is None:
        return
    expected = token_for(means_of(request).context, session)
    if not hmac.compare_digest((await _sent(request)).encode(errors="replace"), expected.encode()):
        raise ForgedRequestError("The request lacks the token of your session")


def _is_from_here(request: Request) -> bool:
    site = request.headers.get("sec-fetch-site")
    if site is not None:
        return site in ("same-origin", "none")
    origin = request.headers.get("origin")
    # A program that is no browser names neither, and carries no cookie but its own.
    return origin is None or urlsplit(origin).netloc == request.headers.get("host")


async def _sent(request: Request) -> str:
    sent = request.headers.get(HEADER)
    if sent is not None:
        return sent
    if request.headers.get("content-type", "").partition(";")[0].strip() in _FORMS:
        field = (await request.form()).get(FIELD)
        return field if isinstance(field, str) else ""
    return ""
