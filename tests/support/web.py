"""A web application over one database, and people and machines who use it."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

import orjson
from starlette.testclient import TestClient

from shared.ids import new_id
from tests.support.depot import Depot
from tracker.services import keys, passwords, tokens
from tracker.services.actor import Scope
from tracker.store import accounts, house, sessions
from tracker.store.accounts import AccountRow
from tracker.store.sessions import SessionRow
from tracker.web import csrf
from tracker.web.access import COOKIE
from tracker.web.app import create_app

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fastapi import FastAPI

PASSWORD = "grey kettle on the seventh step"


@cache
def _hash() -> str:
    return passwords.hash_password(PASSWORD)


@dataclass(frozen=True, slots=True)
class Site:
    """The application of a test, over its depot."""

    depot: Depot
    app: FastAPI
    running: TestClient | None = None
    """Who keeps the application running; all clients share its event loop, as in one process."""

    def client(self, **headers: str) -> TestClient:
        """Return somebody with a browser of their own, who is not signed in."""
        client = TestClient(self.app, headers=headers, follow_redirects=False)
        client.portal = self.running.portal if self.running else None
        return client

    def add_person(self, name: str, *roles: str, shown_as: str = "") -> None:
        """Make an account with roles such as `NORTH:gate`."""
        pairs = tuple((depot, role) for depot, _, role in (one.partition(":") for one in roles))
        now = self.depot.web.clock.now()
        with self.depot.web.engine.begin() as connection:
            row = AccountRow(new_id(), name, shown_as or name.title(), _hash(), now, pairs)
            accounts.add(connection, row)

    def person(self, *roles: str, name: str = "ada", shown_as: str = "") -> TestClient:
        """Return a new person's browser, signed in, its requests carrying the session's token."""
        self.add_person(name, *roles, shown_as=shown_as)
        client, context, token = self.client(), self.depot.web, tokens.new_token()
        # The form itself is tried in test_sign_in; a hash for each test would cost seconds.
        with context.engine.begin() as connection:
            account = accounts.find_by_name(connection, name)
            assert account is not None
            now, digest = context.clock.now(), tokens.digest_of(context, "session", token)
            sessions.begin(connection, SessionRow(digest, account.id, now, now))
        client.cookies.set(COOKIE, token, domain="testserver.local")
        client.headers["X-CSRF-Token"] = csrf.token_for(context, token)
        return client

    def machine(self, *scopes: Scope, depots: tuple[str, ...] = ("*",)) -> TestClient:
        """Return a program with a key."""
        key = keys.add_key(self.depot.web, str(new_id()), scopes=scopes, depots=depots)
        return self.client(Authorization=f"Bearer {key}")


def sign_in(client: TestClient, name: str, password: str = PASSWORD, **fields: str) -> Any:  # noqa: ANN401 - httpx's answer
    """Send the form of the sign-in page."""
    return client.post("/sign-in", data={"name": name, "password": password, **fields})


def post(client: TestClient, *bodies: bytes) -> Any:  # noqa: ANN401 - httpx's answer
    """Hand in one event as itself, several as a list."""
    content = bodies[0] if len(bodies) == 1 else b"[" + b",".join(bodies) + b"]"
    return client.post("/api/events", content=content)


def fields_of(body: bytes) -> dict[str, Any]:
    """Return an event as JSON."""
    said: dict[str, Any] = orjson.loads(body)
    return said


@contextlib.contextmanager
def open_site(depot: Depot) -> Iterator[Site]:
    """Provide the application, running."""
    for code in ("NORTH", "SOUTH"):
        with depot.web.engine.begin() as connection:
            house.set_depot(connection, code, code.title(), "UTC")
    app = create_app(depot.web)
    with TestClient(app) as running:
        yield Site(depot, app, running)
