"""What commands that need the services are given: contexts for a role, while the services last."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from typing import Protocol

import typer
from sqlalchemy.exc import InterfaceError, OperationalError

from shared.addresses import DatabaseAddresses, Role
from shared.clock import Clock
from shared.errors import HardstandError
from shared.settings import Settings
from tracker.services.context import Announcer, Context, SilentAnnouncer
from tracker.store.engine import make_engine


class ServicesAwayError(HardstandError):
    """The services a command needs cannot be started or reached."""


@dataclass(slots=True)
class Running:
    """Services that answer. Makes one context per role, when first asked for."""

    databases: DatabaseAddresses
    settings: Settings
    clock: Clock
    started_here: bool
    """This process started them for itself, so that nobody else's workers run on them."""
    make_announcer: Callable[[], Announcer] = SilentAnnouncer
    _contexts: dict[Role, Context] = field(default_factory=dict)

    def context(self, role: Role) -> Context:
        """Return the means of use cases that need this role's rights."""
        if role not in self._contexts:
            engine = make_engine(self.databases.of(role), name="hardstand-command")
            announcer = self.make_announcer() if role is Role.WEB else SilentAnnouncer()
            self._contexts[role] = Context(engine, self.settings, self.clock, announcer)
        return self._contexts[role]

    def close(self) -> None:
        """Close what was opened."""
        for context in self._contexts.values():
            context.engine.dispose()


class Means(Protocol):
    """Finds the services, or starts them for as long as the context lasts."""

    def running(self) -> AbstractContextManager[Running]:
        """Provide services with an up-to-date schema; raises `ServicesAwayError`."""


@contextlib.contextmanager
def services(ctx: typer.Context) -> Iterator[Running]:
    """Provide the services to a command, from the means its process was started with."""
    means: Means = ctx.obj
    with means.running() as running, contextlib.closing(running):
        try:
            yield running
        except (OperationalError, InterfaceError) as fault:
            raise ServicesAwayError(
                f"The database did not answer: {str(fault.orig).strip()}",
                remedy="Nothing that was accepted is lost; try again when it runs",
            ) from fault
