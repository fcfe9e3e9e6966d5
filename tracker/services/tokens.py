"""Tokens that open something: made at random, kept as a keyed digest only."""

from __future__ import annotations

import hashlib
import hmac
import secrets

from tracker.services.context import Context


def new_token() -> str:
    """Return a new token of 256 random bits, fit for a cookie or a header."""
    return secrets.token_urlsafe(32)


def digest_of(context: Context, purpose: str, value: str) -> bytes:
    """Return what is kept of a token or a name; of use only to who has the secret."""
    said = f"{purpose}\x00{value}".encode(errors="surrogatepass")
    return hmac.digest(context.secret, said, hashlib.sha256)
