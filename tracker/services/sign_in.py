"""Sign people in and out, and know them again by the token of their session."""

from __future__ import annotations

import hmac
import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from sqlalchemy import Connection

from shared.errors import HardstandError
from tracker.services import passwords, tokens
from tracker.services.actor import Grant, Person, Role
from tracker.services.context import Context
from tracker.store import accounts, sessions, sign_in_attempts
from tracker.store.accounts import AccountRow
from tracker.store.sessions import SessionRow

WINDOW: Final = timedelta(minutes=15)
MOST_PER_NAME: Final = 10
MOST_PER_ADDRESS: Final = 50
"""More than per name: a depot's people share one address."""

LONGEST_SESSION: Final = timedelta(days=30)
LONGEST_PAUSE: Final = timedelta(days=7)
"""A phone that was without signal over a long weekend is still signed in."""

_RETRY_AFTER_S: Final = 2
_SEEN_EVERY: Final = timedelta(minutes=5)


class SignInError(HardstandError):
    """The base of what keeps somebody from signing in."""


class SignInRefusedError(SignInError):
    """Name and password do not belong together; does not say which of them is wrong."""

    def __init__(self) -> None:
        super().__init__(
            "The name and the password do not belong together",
            remedy="Type both again, or ask your manager for a new password",
        )


class TooManyAttemptsError(SignInError):
    """Too many attempts failed lately; carries after how many seconds the next may be made."""

    def __init__(self, retry_after_s: int) -> None:
        self.retry_after_s = retry_after_s
        super().__init__(
            "There were too many attempts to sign in",
            expected=f"fewer than {MOST_PER_NAME} in {WINDOW.seconds // 60} minutes",
            remedy=f"Wait {-(-retry_after_s // 60)} minutes and try again",
        )


class SignInCrowdedError(SignInError):
    """Too many want to sign in at once; carries when to come again."""

    def __init__(self) -> None:
        self.retry_after_s = _RETRY_AFTER_S
        super().__init__(
            "Too many people sign in at once",
            remedy=f"Try again in {_RETRY_AFTER_S} seconds",
        )


@dataclass(frozen=True, slots=True)
class SignedIn:
    """A person, and the token of the session that was begun for them."""

    person: Person
    token: str
    known_as: str = ""
    """What their browser is known by from now on: see `sign_in`."""


def sign_in(
    context: Context, name: str, password: str, address: str, *, known_as: str = ""
) -> SignedIn:
    """Begin a session for whoever knows the password.

    The attempt is counted before the password is looked at, and taken back when it was right.
    Whoever comes with what a sign-in under the name once gave their browser (`known_as`) is counted
    by that alone: strangers who guess at the name keep its owner out of no browser of theirs.

    Raises:
        TooManyAttemptsError: too many failed for the name, or from the address.
        SignInRefusedError: the name is unknown or the password wrong; both take as long.
    """
    name = plain_name(name)
    is_known = _is_known(context, name, known_as)
    counted = _who(context, "browser", known_as) if is_known else _who(context, "name", name)
    notes = (
        _count(context, {counted: MOST_PER_NAME})
        if is_known
        else count_attempt(context, address, name)
    )
    with context.engine.begin() as connection:
        account = accounts.find_by_name(connection, name)
    kept = account.password if account else None
    if not passwords.is_right(kept, password) or account is None or kept is None:
        raise SignInRefusedError
    token = tokens.new_token()
    with context.engine.begin() as connection:
        sign_in_attempts.take_back(connection, notes)
        sign_in_attempts.forget(connection, counted)
        if passwords.is_outdated(kept):
            accounts.set_password(connection, account.id, passwords.hash_password(password))
        begin_session(context, connection, account, token)
    kept_as = known_as if is_known else _known_as(context, name, tokens.new_token())
    return SignedIn(person_of(account), token, kept_as)


def begin_session(
    context: Context, connection: Connection, account: AccountRow, token: str
) -> None:
    """Keep a session of an account under a new token, and forget those that have ended."""
    now = context.clock.now()
    sessions.end_stale(
        connection, begun_before=now - LONGEST_SESSION, seen_before=now - LONGEST_PAUSE
    )
    digest = tokens.digest_of(context, "session", token)
    sessions.begin(connection, SessionRow(digest, account.id, now, now))


def count_attempt(context: Context, address: str, name: str | None = None) -> list[int]:
    """Note an attempt from an address, and under a name where one is said; return the notes.

    Raises:
        TooManyAttemptsError: there were too many of either lately.
    """
    limits = {_who(context, "address", _network(address)): MOST_PER_ADDRESS}
    if name is not None:
        limits = {_who(context, "name", name): MOST_PER_NAME} | limits
    return _count(context, limits)


def _count(context: Context, limits: Mapping[bytes, int]) -> list[int]:
    now = context.clock.now()
    with context.engine.begin() as connection:
        sign_in_attempts.lock(connection, list(limits))
        sign_in_attempts.forget_before(connection, now - WINDOW)
        for who, most in limits.items():
            tried = sign_in_attempts.recent(connection, who, now - WINDOW)
            if len(tried) >= most:
                free_at = tried[-most] + WINDOW
                raise TooManyAttemptsError(max(1, round((free_at - now).total_seconds())))
        return sign_in_attempts.note(connection, list(limits), now)


def find_person(context: Context, token: str) -> Person | None:
    """Return who signed in with this token, None when the session has ended."""
    digest, now = tokens.digest_of(context, "session", token), context.clock.now()
    with context.engine.begin() as connection:
        session = sessions.find(connection, digest)
        if session is None:
            return None
        if now - session.begun_at > LONGEST_SESSION or now - session.seen_at > LONGEST_PAUSE:
            sessions.end(connection, digest)
            return None
        if now - session.seen_at > _SEEN_EVERY:
            sessions.note_seen(connection, digest, now)
        account = accounts.find(connection, session.account_id)
    return None if account is None else person_of(account)


def sign_out(context: Context, token: str) -> None:
    """End the session of this token; may be called twice."""
    with context.engine.begin() as connection:
        sessions.end(connection, tokens.digest_of(context, "session", token))


def plain_name(name: str) -> str:
    """Return a sign-in name as it is kept: small letters, no spaces around it, no NUL."""
    return name.replace("\x00", "").strip().casefold()[:100]


def person_of(account: AccountRow) -> Person:
    """Return the person that an account stands for."""
    grants = frozenset(Grant(depot, Role(role)) for depot, role in account.roles)
    return Person(account.id, account.name, account.shown_as, grants)


def _network(address: str) -> str:
    """Return what one guesser has of addresses: an IPv4 address, or an IPv6 network of 64 bits."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return address
    if isinstance(found, ipaddress.IPv4Address):
        return str(found)
    if found.ipv4_mapped is not None:
        return str(found.ipv4_mapped)
    return str(ipaddress.ip_network((int(found), 64), strict=False))


def _is_known(context: Context, name: str, known_as: str) -> bool:
    expected = _known_as(context, name, known_as.partition(".")[0])
    return hmac.compare_digest(expected.encode(), known_as.encode(errors="replace"))


def _known_as(context: Context, name: str, number: str) -> str:
    """Return what a browser is known by under a name: a number of its own, and our word for it."""
    word = tokens.digest_of(context, "known browser", f"{name}\x00{number}").hex()
    return f"{number}.{word}"


def _who(context: Context, kind: str, value: str) -> bytes:
    return tokens.digest_of(context, f"sign-in {kind}", value)
