"""The provider that people may sign in at, by OpenID Connect Core 1.0: ask it who somebody is.

Authorization code flow with PKCE (RFC 7636). What the provider says is believed only after its
signature, issuer, audience, time and nonce were found right.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, Any, Final, TypeVar

import httpx2
from authlib.integrations.httpx_client import OAuth2Client, OAuthError
from authlib.oauth2.client import OAuth2Client as AddressMaker
from authlib.oidc.core import CodeIDToken
from joserfc import jwt
from joserfc.errors import BadSignatureError, InvalidKeyIdError, JoseError
from joserfc.jwk import KeySet
from pydantic import BaseModel, Field, SecretStr, ValidationError

from shared import logs
from shared.addresses import ENCRYPTED_OR_LOCAL
from shared.clock import Clock
from tracker.services.bounded_calls import BoundedCalls, CallOutOfTimeError
from tracker.services.sign_in import SignInError

log = logs.get(__name__)

_TIMEOUT: Final = httpx2.Timeout(5, connect=3)
_PATIENCE_S: Final = 8
"""For all that is asked to sign somebody in; each read of an answer may take `_TIMEOUT`."""
_AT_ONCE: Final = 4
"""So many sign-ins may wait for the provider; the pages' other threads stay free."""
_KEPT_FOR: Final = timedelta(hours=1)
_LEEWAY_S: Final = 60
"""How far the clocks of the provider and of this machine may be apart."""
_ALGORITHMS: Final = [f"{kind}{bits}" for kind in ("RS", "PS", "ES") for bits in (256, 384, 512)]
"""Those whose key the provider alone has: never `none`, and never one keyed by our own secret."""
_LONGEST_SUBJECT: Final = 255
_SCOPE: Final = "openid email"

_Endpoint = Annotated[str, Field(pattern=ENCRYPTED_OR_LOCAL)]
_Read = TypeVar("_Read")


class OpenIdError(SignInError):
    """The base of what keeps somebody from signing in at the provider."""


class ProviderAwayError(OpenIdError):
    """The provider cannot be reached, or not be understood."""

    def __init__(self) -> None:
        super().__init__(
            "The sign-in service of your organisation does not answer",
            remedy="Try again in a minute, or sign in with your name and password",
        )


class ProviderRefusedError(OpenIdError):
    """The provider signs somebody in no further."""

    def __init__(self) -> None:
        super().__init__(
            "The sign-in service of your organisation did not sign you in",
            remedy="Try again, or sign in with your name and password",
        )


class AnswerNotFittingError(OpenIdError):
    """An answer is not the provider's, not to us, not to this browser or too late."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(
            "The answer of the sign-in service does not belong to this sign-in",
            remedy="Begin again here; if it goes on, tell whoever runs this machine",
        )


@dataclass(frozen=True, slots=True)
class Binding:
    """What ties one sign-in together, from the browser that begins it to the token that ends it."""

    state: str
    nonce: str
    verifier: str


@dataclass(frozen=True, slots=True)
class Identity:
    """Who the provider says that somebody is. The mail address is None unless it vouches for it."""

    issuer: str
    subject: str
    email: str | None


@dataclass(frozen=True, slots=True)
class Client:
    """What the provider knows us by."""

    id: str
    secret: SecretStr | None
    answer_address: str


class _Discovery(BaseModel):
    issuer: str
    authorization_endpoint: _Endpoint
    token_endpoint: _Endpoint
    jwks_uri: _Endpoint
    userinfo_endpoint: _Endpoint | None = None
    token_endpoint_auth_methods_supported: list[str] = ["client_secret_basic"]


class Provider:
    """One provider; keeps its discovery document and keys for an hour.

    Holds few threads of the pages, and none for long, whatever the provider does.
    """

    def __init__(self, issuer: str, client: Client, clock: Clock) -> None:
        self.issuer = issuer
        self._client = client
        self._clock = clock
        self._discovery: tuple[datetime, _Discovery] | None = None
        self._keys: tuple[datetime, KeySet] | None = None
        self._calls = BoundedCalls(_AT_ONCE, _PATIENCE_S)

    def _ask(self, call: Callable[[], _Read]) -> _Read:
        try:
            return self._calls.run(call)
        except CallOutOfTimeError as fault:
            raise _away(fault) from None

    def address_for(self, binding: Binding) -> str:
        """Return where a browser is sent to sign in; raises `ProviderAwayError`."""
        maker = AddressMaker(
            None,
            self._client.id,
            redirect_uri=self._client.answer_address,
            scope=_SCOPE,
            code_challenge_method="S256",
        )
        address, _ = maker.create_authorization_url(
            self._ask(self._discover).authorization_endpoint,
            state=binding.state,
            nonce=binding.nonce,
            code_verifier=binding.verifier,
        )
        return str(address)

    def identify(self, code: str, binding: Binding) -> Identity:
        """Return who came back with this code.

        Raises:
            ProviderAwayError: the provider does not answer.
            ProviderRefusedError: it does not take the code, or us.
            AnswerNotFittingError: what it says is not signed by it, or not about this sign-in.
        """
        return self._ask(lambda: self._identify(code, binding))

    def _identify(self, code: str, binding: Binding) -> Identity:
        token = self._redeem(code, binding)
        claims = self._check(token, binding)
        subject = claims["sub"]
        if not subject or len(subject) > _LONGEST_SUBJECT or not subject.isprintable():
            raise AnswerNotFittingError("subject")
        if "email" not in claims:
            claims = self._ask_about(subject, token) or claims
        email, is_verified = claims.get("email"), claims.get("email_verified") is True
        return Identity(self.issuer, subject, email if is_verified else None)

    def _redeem(self, code: str, binding: Binding) -> dict[str, Any]:
        with self._connect() as client:
            try:
                token = client.fetch_token(
                    self._discover().token_endpoint,
                    grant_type="authorization_code",
                    code=code,
                    code_verifier=binding.verifier,
                )
            except OAuthError as fault:
                said = str(fault.error)
                log.warning(
                    "openid.refused",
                    error=said if re.fullmatch("[a-z_]{1,40}", said) else "unknown",
                )
                raise ProviderRefusedError from None
            except (httpx2.HTTPError, httpx2.InvalidURL, ValueError) as fault:
                raise _away(fault) from None
        return dict(token)

    def _connect(self) -> Any:  # noqa: ANN401 - the library publishes no types
        secret = self._client.secret
        offered = self._discover().token_endpoint_auth_methods_supported
        if secret is None:
            method = "none"
        elif "client_secret_basic" in offered or "client_secret_post" not in offered:
            method = "client_secret_basic"
        else:
            method = "client_secret_post"
        return OAuth2Client(
            self._client.id,
            None if secret is None else secret.get_secret_value(),
            token_endpoint_auth_method=method,
            redirect_uri=self._client.answer_address,
            timeout=_TIMEOUT,
            follow_redirects=False,
        )

    def _check(self, token: Mapping[str, Any], binding: Binding) -> Mapping[str, Any]:
        """Return what an ID token says, once it was found right (Core 1.0, 3.1.3.7)."""
        try:
            claims = self._decode(token["id_token"])
            said = CodeIDToken(
                claims.claims,
                claims.header,
                options={
                    "iss": {"essential": True, "value": self.issuer},
                    "aud": {"essential": True, "value": self._client.id},
                    "sub": {"essential": True},
                },
                params={
                    "nonce": binding.nonce,
                    "client_id": self._client.id,
                    "access_token": token.get("access_token"),
                },
            )
            said.validate(now=int(self._clock.now().timestamp()), leeway=_LEEWAY_S)
        except (JoseError, ValueError, KeyError, TypeError, AttributeError) as fault:
            raise AnswerNotFittingError(type(fault).__name__) from None
        return dict(said)

    def _decode(self, id_token: str) -> jwt.Token:
        try:
            return jwt.decode(id_token, self._fetch_keys(), algorithms=_ALGORITHMS)
        except (InvalidKeyIdError, BadSignatureError):
            # The provider may have changed its keys since.
            self._keys = None
            return jwt.decode(id_token, self._fetch_keys(), algorithms=_ALGORITHMS)

    def _ask_about(self, subject: str, token: Mapping[str, Any]) -> Mapping[str, Any]:
        """Return what the provider tells besides the token; it may keep the mail address there."""
        endpoint = self._discover().userinfo_endpoint
        if endpoint is None or not isinstance(token.get("access_token"), str):
            return {}
        headers = {"Authorization": f"Bearer {token['access_token']}"}
        said = _get(endpoint, headers, lambda answer: dict(answer.json()))
        if said.get("sub") != subject:
            raise AnswerNotFittingError("userinfo")
        return said

    def _discover(self) -> _Discovery:
        now = self._clock.now()
        if self._discovery is None or now - self._discovery[0] > _KEPT_FOR:
            address = self.issuer.rstrip("/") + "/.well-known/openid-configuration"
            found = _get(address, {}, lambda answer: _Discovery.model_validate_json(answer.content))
            if found.issuer != self.issuer:
                log.error("openid.issuer_differs", says=found.issuer)
                raise ProviderAwayError
            self._discovery = (now, found)
        return self._discovery[1]

    def _fetch_keys(self) -> KeySet:
        now, kept = self._clock.now(), self._keys
        if kept is None or now - kept[0] > _KEPT_FOR:
            found = _get(
                self._discover().jwks_uri,
                {},
                lambda answer: KeySet.import_key_set(answer.json()),
            )
            self._keys = kept = (now, found)
        return kept[1]


def _get(
    address: str, headers: Mapping[str, str], read: Callable[[httpx2.Response], _Read]
) -> _Read:
    try:
        answer = httpx2.get(address, headers=headers, timeout=_TIMEOUT, follow_redirects=False)
        answer.raise_for_status()
        return read(answer)
    except (
        httpx2.HTTPError,
        httpx2.InvalidURL,
        ValidationError,
        JoseError,
        ValueError,
        KeyError,
        TypeError,
    ) as fault:
        raise _away(fault) from None


def _away(fault: Exception) -> ProviderAwayError:
    # Its text may quote what was sent.
    log.warning("openid.provider_away", fault=type(fault).__name__)
    return ProviderAwayError()
