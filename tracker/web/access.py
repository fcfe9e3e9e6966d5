"""Who may use a route: said beside the route, enforced for all of them, denied where not said.

A route says it with `@needs(...)` or `@open_to_all` below its path. `guard` stands before every
route of the application: it finds out who asks, and lets through only what the route allows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Final, TypeVar

from fastapi import Depends, Request

from shared import logs
from shared.errors import HardstandError
from tracker.services import keys, sign_in
from tracker.services.actor import Actor, Machine, Person, Role, Scope
from tracker.web.means import means_of

log = logs.get(__name__)

COOKIE: Final = "hardstand_session"

_MARK: Final = "__access__"

_Endpoint = TypeVar("_Endpoint", bound=Callable[..., Any])


class NotSignedInError(HardstandError):
    """Nobody is signed in, or with a key or session that is no longer good."""

    def __init__(self) -> None:
        super().__init__(
            "You are not signed in",
            expected="a session, or for a machine a key as `Authorization: Bearer`",
            remedy="Sign in and do it again; nothing you typed on a phone is lost",
        )


class NotAllowedError(HardstandError):
    """Whoever is signed in has not the role, or the key not the scope; carries what it takes."""

    def __init__(self, takes: str) -> None:
        self.takes = takes
        super().__init__(
            "This is not open to you",
            expected=takes,
            remedy="Ask a manager for the role, or for somebody who has it",
        )


@dataclass(frozen=True, slots=True)
class Access:
    """What a route takes: one of the roles of a person, or the scope of a machine's key."""

    roles: frozenset[Role] = frozenset()
    scope: Scope | None = None
    is_open: bool = False

    def admits(self, actor: Actor) -> bool:
        """Say whether a person or machine may use the route."""
        match actor:
            case Person():
                return actor.has_any(self.roles)
            case Machine():
                return self.scope is not None and self.scope in actor.scopes

    def in_words(self) -> str:
        """Say what it takes."""
        takes = [f"the role {role}" for role in sorted(self.roles)]
        if self.scope is not None:
            takes.append(f"a key with the scope {self.scope}")
        return " or ".join(takes) or "nobody: the route says of no one that they may"


def needs(*roles: Role, scope: Scope | None = None) -> Callable[[_Endpoint], _Endpoint]:
    """Let people with one of the roles use a route, and machines whose key has the scope."""
    return _marked(Access(frozenset(roles), scope))


def open_to_all(endpoint: _Endpoint) -> _Endpoint:
    """Let everybody use a route, signed in or not."""
    return _marked(Access(is_open=True))(endpoint)


EVERY_ROLE: Final = tuple(Role)
"""For a route that everybody may use who has a role at some depot."""


def access_of(endpoint: object) -> Access:
    """Return what a route's function takes; nobody may use one that does not say."""
    access: Access = getattr(endpoint, _MARK, Access())
    return access


def guard(request: Request) -> None:
    """Find out who asks, and stop whoever may not.

    Raises:
        NotSignedInError: nobody is, and the route is not open to all.
        NotAllowedError: the route is not open to whoever asks.
    """
    access = access_of(request.scope.get("endpoint"))
    actor = _find_actor(request)
    request.state.actor = actor
    if access.is_open:
        return
    if actor is None:
        raise NotSignedInError
    logs.bind(actor=actor.name)
    if not access.admits(actor):
        raise NotAllowedError(access.in_words())


def actor_of(request: Request) -> Actor:
    """Return who asks; raises `NotSignedInError` on a route open to all, when nobody is."""
    actor: Actor | None = request.state.actor
    if actor is None:
        raise NotSignedInError
    return actor


def person_of(request: Request) -> Person:
    """Return the person who asks; raises `NotAllowedError` for a machine."""
    actor = actor_of(request)
    if not isinstance(actor, Person):
        raise NotAllowedError("a person")
    return actor


TheActor = Annotated[Actor, Depends(actor_of)]
ThePerson = Annotated[Person, Depends(person_of)]


def bearer_of(request: Request) -> str | None:
    """Return the key that a machine came with."""
    kind, _, key = request.headers.get("authorization", "").partition(" ")
    return key.strip() if kind.lower() == "bearer" else None


def _find_actor(request: Request) -> Actor | None:
    context = means_of(request).context
    key = bearer_of(request)
    if key is not None:
        # A key that is no good is not made up for by a cookie: the machine must hear of it.
        return keys.find_machine(context, key)
    token = request.cookies.get(COOKIE)
    return sign_in.find_person(context, token) if token else None


def _marked(access: Access) -> Callable[[_Endpoint], _Endpoint]:
    def mark(endpoint: _Endpoint) -> _Endpoint:
        setattr(endpoint, _MARK, access)
        return endpoint

    return mark
