"""Who asks: a person with roles at depots, or a machine with a key and its scopes."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final
from uuid import UUID

EVERY_DEPOT: Final = "*"
"""Stands for all depots where a depot's code is asked for."""


class Role(StrEnum):
    """What a person does at a depot."""

    GATE = "gate"
    WORKSHOP = "workshop"
    SALES = "sales"
    MANAGER = "manager"


class Scope(StrEnum):
    """What a machine's key opens: handing events in, or reading what is recorded."""

    REPORT = "report"
    READ = "read"


@dataclass(frozen=True, slots=True)
class Grant:
    """One role at one depot, or at every depot."""

    depot: str
    role: Role


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who has signed in. `shown_as` stands as the reporter of what they hand in."""

    id: UUID
    name: str
    shown_as: str
    grants: frozenset[Grant]

    @property
    def depots(self) -> frozenset[str]:
        """Return the depots where they have a role; `*` among them means all."""
        return frozenset(grant.depot for grant in self.grants)

    @property
    def pairs(self) -> frozenset[tuple[str, str]]:
        """Return depot and role of each grant; the depot `*` is every depot."""
        return frozenset((grant.depot, grant.role.value) for grant in self.grants)

    def roles_at(self, depot: str) -> frozenset[Role]:
        """Return their roles at one depot, those at every depot included."""
        return frozenset(grant.role for grant in self.grants if grant.depot in (depot, EVERY_DEPOT))

    def has_any(self, roles: Collection[Role]) -> bool:
        """Say whether they have one of the roles at some depot."""
        return any(grant.role in roles for grant in self.grants)


@dataclass(frozen=True, slots=True)
class Machine:
    """A program that came with a key. What it hands in states its reporter itself."""

    id: UUID
    name: str
    scopes: frozenset[Scope]
    depots: frozenset[str] = field(default_factory=frozenset)


Actor = Person | Machine
