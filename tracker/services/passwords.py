"""Passwords: hashed with argon2id, and compared in the same time whoever is asked for."""

from __future__ import annotations

import threading
import unicodedata
from functools import cache
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from shared.errors import HardstandError

SHORTEST: Final = 10
LONGEST: Final = 200

# A hash takes 64 MiB while it is made; more at once would let strangers fill the memory.
_AT_ONCE: Final = threading.BoundedSemaphore(2)


class PasswordError(HardstandError):
    """A new password is too short or too long; carries its length, never itself."""

    def __init__(self, length: int) -> None:
        self.length = length
        super().__init__(
            f"The password has {length} characters",
            expected=f"{SHORTEST} to {LONGEST} of them, of any kind",
            remedy="Take some words that only you would put together",
        )


def hash_password(password: str) -> str:
    """Return what may be kept of a new password; raises `PasswordError`."""
    typed = _typed(password)
    if not SHORTEST <= len(typed) <= LONGEST:
        raise PasswordError(len(typed))
    with _AT_ONCE:
        return _hasher().hash(typed)


def is_right(kept: str | None, password: str) -> bool:
    """Say whether this is the password that was kept.

    Without one kept, as for an unknown name, it takes as long and says no: the time must not tell
    which names there are.
    """
    typed = _typed(password[: LONGEST * 4])
    with _AT_ONCE:
        # Asked for whoever it is, since the first time takes as long as another hash.
        nobodys = _nobodys()
        try:
            _hasher().verify(kept or nobodys, typed)
        except (VerificationError, InvalidHashError):
            return False
    return kept is not None


def is_outdated(kept: str) -> bool:
    """Say whether a hash was made with other parameters than those of today."""
    return _hasher().check_needs_rehash(kept)


def _typed(password: str) -> str:
    # The same letters may be typed as different characters on another keyboard.
    return unicodedata.normalize("NFKC", password)


@cache
def _hasher() -> PasswordHasher:
    return PasswordHasher()


@cache
def _nobodys() -> str:
    return _hasher().hash("nobody's password")
