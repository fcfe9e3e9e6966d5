"""An OpenID provider on this machine: signs people in without asking, and can be made to lie."""

from __future__ import annotations

import contextlib
import hashlib
import threading
from base64 import b64encode, urlsafe_b64encode
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qs, urlencode, urlsplit

import orjson
from joserfc import jwt
from joserfc.jwk import ECKey, KeySet, OctKey
from typing_extensions import override

from shared.ids import new_id

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from joserfc.jwk import Key

    from shared.clock import Clock
    from shared.settings import Settings

CLIENT_ID = "hardstand-at-north"
CLIENT_SECRET = "a-secret-that-two-know"
EMAIL = "ada@depot.example"

_STOP_WITHIN_S = 0.01


def new_key(kid: str = "first") -> ECKey:
    """Return a key to sign with."""
    return ECKey.generate_key("P-256", {"kid": kid, "use": "sig"})


@dataclass(slots=True)
class OpenIdServer:
    """Whom the provider signs in next and how it says so; `claims` overrides what it says."""

    clock: Clock
    issuer: str = ""
    key: Key = field(default_factory=new_key)
    signs_with: Key | None = None
    """Another key than the one it publishes."""
    algorithm: str = "ES256"
    claims: dict[str, Any] = field(default_factory=dict)
    told_besides: dict[str, Any] | None = None
    """What it tells at its userinfo endpoint; None: it has none."""
    discovery: dict[str, Any] = field(default_factory=dict)
    client_secret: str = CLIENT_SECRET
    answer_address: str = "http://127.0.0.1:8600/sign-in/openid/answer"
    hang_s: float = 0
    drip_s: float = 0
    """How long it takes over each byte that it says."""
    asked: dict[str, dict[str, str]] = field(default_factory=dict)
    """What each code was asked for with."""
    seen: list[str] = field(default_factory=list)
    closing: threading.Event = field(default_factory=threading.Event)

    def id_token(self, nonce: str) -> str:
        """Return a signed token; a claim overridden by None is left out."""
        now = int(self.clock.now().timestamp())
        said = {
            "iss": self.issuer,
            "sub": "subject-1",
            "aud": CLIENT_ID,
            "iat": now,
            "exp": now + 300,
            "nonce": nonce,
            "email": EMAIL,
            "email_verified": True,
        } | self.claims
        said = {name: value for name, value in said.items() if value is not None}
        header = {"alg": self.algorithm, "kid": self.key.kid}
        if self.algorithm == "none":
            parts = (urlsafe_b64encode(orjson.dumps(part)).rstrip(b"=") for part in (header, said))
            return b".".join((*parts, b"")).decode()
        return jwt.encode(header, said, self.signs_with or self.key, algorithms=[self.algorithm])

    def set_in(self, settings: Settings) -> Settings:
        """Return settings that name this provider."""
        return settings.changed(
            openid_issuer=self.issuer,
            openid_client_id=CLIENT_ID,
            openid_client_secret=CLIENT_SECRET,
            public_address=self.answer_address.removesuffix("/sign-in/openid/answer"),
        )


class _Server(ThreadingHTTPServer):
    daemon_threads = True

    def __init__(self, state: OpenIdServer) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.state = state
        state.issuer = f"http://localhost:{self.server_port}/people"


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server: _Server

    def do_GET(self) -> None:
        state, parts = self.server.state, urlsplit(self.path)
        state.seen.append(parts.path)
        state.closing.wait(state.hang_s)
        answers: dict[str, Callable[[], None]] = {
            "/people/.well-known/openid-configuration": self._discover,
            "/people/authorize": lambda: self._authorize(parts.query),
            "/people/keys": lambda: self._say(200, _published(state.key)),
            "/people/userinfo": self._userinfo,
        }
        answers.get(parts.path, lambda: self._say(404, {}))()

    def do_POST(self) -> None:
        state = self.server.state
        state.seen.append(self.path)
        form = _only(self.rfile.read(int(self.headers["Content-Length"])).decode())
        login = b64encode(f"{CLIENT_ID}:{state.client_secret}".encode()).decode()
        if self.headers["Authorization"] != f"Basic {login}":
            return self._say(401, {"error": "invalid_client"})
        asked = state.asked.pop(form.get("code", ""), None)
        if asked is None or not _fits(form, asked):
            return self._say(400, {"error": "invalid_grant"})
        token = {"access_token": "opens-userinfo", "token_type": "Bearer", "expires_in": 60}
        return self._say(200, token | {"id_token": state.id_token(asked["nonce"])})

    def _discover(self) -> None:
        state = self.server.state
        said = {
            "issuer": state.issuer,
            "authorization_endpoint": f"{state.issuer}/authorize",
            "token_endpoint": f"{state.issuer}/token",
            "jwks_uri": f"{state.issuer}/keys",
        }
        if state.told_besides is not None:
            said["userinfo_endpoint"] = f"{state.issuer}/userinfo"
        self._say(200, said | state.discovery)

    def _authorize(self, query: str) -> None:
        state, asked = self.server.state, _only(query)
        expected = {
            "response_type": "code",
            "client_id": CLIENT_ID,
            "redirect_uri": state.answer_address,
            "scope": "openid email",
            "code_challenge_method": "S256",
        }
        if any(asked.get(name) != value for name, value in expected.items()):
            return self._say(400, {"error": "invalid_request"})
        code = new_id().hex
        state.asked[code] = asked
        said = urlencode({"code": code, "state": asked["state"], "iss": state.issuer})
        self.send_response(303)
        self.send_header("Location", f"{state.answer_address}?{said}")
        self.send_header("Content-Length", "0")
        return self.end_headers()

    def _userinfo(self) -> None:
        if self.headers["Authorization"] != "Bearer opens-userinfo":
            return self._say(401, {})
        return self._say(200, self.server.state.told_besides)

    def _say(self, status: int, said: object) -> None:
        body = orjson.dumps(said)
        self.send_response(status)
        self.send_header("Content-Type", "application/json")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        state = self.server.state
        if not state.drip_s:
            self.wfile.write(body)
            return
        with contextlib.suppress(OSError):  # nobody listens any more
            for byte in body:
                self.wfile.write(bytes([byte]))
                if state.closing.wait(state.drip_s):
                    return

    @override
    def log_message(self, format: str, *args: object) -> None:
        """Say nothing."""


def _published(key: Key) -> dict[str, Any]:
    # Of a key that is all secret nothing would be left to check a signature with.
    return dict(KeySet([key]).as_dict(private=isinstance(key, OctKey)))


def _only(query: str) -> dict[str, str]:
    return {name: values[0] for name, values in parse_qs(query).items()}


def _fits(form: dict[str, str], asked: dict[str, str]) -> bool:
    digest = hashlib.sha256(form.get("code_verifier", "").encode()).digest()
    challenge = urlsafe_b64encode(digest).rstrip(b"=").decode()
    return (
        form.get("grant_type") == "authorization_code"
        and form.get("redirect_uri") == asked["redirect_uri"]
        and challenge == asked["code_challenge"]
    )


@contextlib.contextmanager
def serve_openid(clock: Clock) -> Iterator[OpenIdServer]:
    """Run a provider on a free port."""
    state = OpenIdServer(clock)
    server = _Server(state)
    thread = threading.Thread(target=server.serve_forever, args=(_STOP_WITHIN_S,))
    thread.start()
    try:
        yield state
    finally:
        state.closing.set()
        server.shutdown()
        thread.join()
        server.server_close()
