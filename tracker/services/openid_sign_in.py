"""Sign in somebody whom the house's OpenID provider vouches for: begun here, ended here.

Nothing is kept of a sign-in under way but what its browser brings back: state, nonce and PKCE
verifier are keyed digests of that. An account is never made by it.
"""

from __future__ import annotations

import base64
import hmac
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

import orjson
from sqlalchemy import Connection

from shared import logs
from tracker.services import tokens
from tracker.services.context import Context
from tracker.services.openid_provider import (
    AnswerNotFittingError,
    Binding,
    Client,
    Identity,
    OpenIdError,
    Provider,
    ProviderAwayError,
    ProviderRefusedError,
)
from tracker.services.sign_in import (
    SignedIn,
    begin_session,
    count_attempt,
    person_of,
    plain_name,
)
from tracker.store import accounts, sign_in_attempts, subjects
from tracker.store.accounts import AccountRow

log = logs.get(__name__)

PATIENCE: Final = timedelta(minutes=10)
ANSWER_PATH: Final = "/sign-in/openid/answer"
_LONGEST_PATH: Final = 1500
"""In bytes: a cookie holds 4096, and the path is written in base64."""


class NoAccountError(OpenIdError):
    """The provider knows somebody who has no account here, or one without any role."""

    def __init__(self) -> None:
        super().__init__(
            "You have no account here that you may sign in to",
            remedy="Ask a manager for one whose name is your mail address",
        )


class EmailNotVerifiedError(OpenIdError):
    """The provider does not vouch for the mail address that an account is found by."""

    def __init__(self) -> None:
        super().__init__(
            "The sign-in service does not vouch for your mail address",
            remedy="Confirm the address there and try again",
        )


class LinkedToAnotherError(OpenIdError):
    """An account is somebody else's at the provider, who had the mail address before."""

    def __init__(self) -> None:
        super().__init__(
            "The account with your mail address belongs to somebody else at the sign-in service",
            remedy="Whoever runs this machine frees it: hardstand account unlink NAME",
        )


@dataclass(frozen=True, slots=True)
class Departure:
    """Where a browser goes to sign in, and what it must bring back."""

    address: str
    kept: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What a browser comes back with from the provider (RFC 6749 4.1.2, RFC 9207)."""

    state: str = ""
    code: str = ""
    error: str = ""
    issuer: str = ""


def provider_of(context: Context) -> Provider | None:
    """Return the provider that the settings name, if they do. Asks it nothing yet."""
    settings = context.settings
    if settings.openid_issuer is None or settings.openid_client_id is None:
        return None
    client = Client(
        settings.openid_client_id,
        settings.openid_client_secret,
        settings.public_address.rstrip("/") + ANSWER_PATH,
    )
    return Provider(settings.openid_issuer, client, context.clock)


def begin(context: Context, provider: Provider, next_path: str) -> Departure:
    """Begin a sign-in that goes on to a path; raises `ProviderAwayError`."""
    path = next_path if len(next_path.encode(errors="replace")) <= _LONGEST_PATH else "/"
    said = [int(context.clock.now().timestamp()), tokens.new_token(), path]
    kept = base64.urlsafe_b64encode(orjson.dumps(said)).decode()
    return Departure(provider.address_for(_bind(context, kept)), kept)


def finish(
    context: Context, provider: Provider, answer: Answer, kept: str, address: str
) -> tuple[SignedIn, str]:
    """Begin a session for whom the provider vouches; return it with the path that was asked for.

    The attempt is counted under the address first, and taken back when it was right, or when it
    was not the person's fault. The first time links the provider's subject to the account.

    Raises:
        TooManyAttemptsError: too many failed from the address.
        AnswerNotFittingError, ProviderRefusedError, ProviderAwayError: as `Provider.identify`.
        NoAccountError: there is no account by that mail address, or it has no role any more.
        EmailNotVerifiedError: the provider does not vouch for the address.
        LinkedToAnotherError: the account is somebody else's there.
    """
    notes = count_attempt(context, address)
    try:
        path = _check_state(context, provider, answer, kept)
        identity = provider.identify(answer.code, _bind(context, kept))
        token = tokens.new_token()
        with context.engine.begin() as connection:
            account = _find_account(context, connection, identity)
            sign_in_attempts.take_back(connection, notes)
            begin_session(context, connection, account, token)
    except ProviderAwayError:
        with context.engine.begin() as connection:
            sign_in_attempts.take_back(connection, notes)
        raise
    except OpenIdError as fault:
        log.warning(
            "openid.not_signed_in",
            fault=type(fault).__name__,
            reason=getattr(fault, "reason", None),
        )
        raise
    return SignedIn(person_of(account), token), path


def _check_state(context: Context, provider: Provider, answer: Answer, kept: str) -> str:
    """Return the path that was kept, if the answer is to this browser's sign-in and in time."""
    expected = _bind(context, kept).state
    if not kept or not hmac.compare_digest(
        answer.state.encode(errors="replace"), expected.encode()
    ):
        raise AnswerNotFittingError("state")
    # Whatever the state belongs to was written by `begin`.
    begun_at, _, path = orjson.loads(base64.urlsafe_b64decode(kept))
    if context.clock.now().timestamp() - begun_at > PATIENCE.total_seconds():
        raise AnswerNotFittingError("too late")
    if answer.issuer and answer.issuer != provider.issuer:
        raise AnswerNotFittingError("issuer")
    if answer.error or not answer.code:
        raise ProviderRefusedError
    return str(path)


def _bind(context: Context, kept: str) -> Binding:
    return Binding(
        *(
            tokens.digest_of(context, f"openid {use}", kept).hex()
            for use in ("state", "nonce", "verifier")
        )
    )


def _find_account(context: Context, connection: Connection, identity: Identity) -> AccountRow:
    linked = subjects.find_account(connection, identity.issuer, identity.subject)
    if linked is not None:
        account = accounts.find(connection, linked)
    else:
        account = accounts.find_by_name(connection, _name_of(identity))
    if account is None or not account.roles:
        raise NoAccountError
    if linked is None and not subjects.link(
        connection, identity.issuer, identity.subject, account.id, context.clock.now()
    ):
        raise LinkedToAnotherError
    return account


def _name_of(identity: Identity) -> str:
    if identity.email is None:
        raise EmailNotVerifiedError
    name = plain_name(identity.email)
    # Small letters are all that may differ: folding makes other addresses into one of ours.
    if not identity.email.isascii() or name != identity.email.lower():
        raise NoAccountError
    return name
