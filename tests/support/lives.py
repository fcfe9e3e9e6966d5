"""Whole lives of units, told day by day: what was said, what came of it, papers and mails."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, field
from datetime import datetime
from email import message_from_bytes, policy
from typing import TYPE_CHECKING, Any

import orjson
from starlette.testclient import TestClient

from schemas.findings import Finding, Severity
from shared.clock import StandingClock
from shared.ids import new_id
from tests.support.depot import Depot, id_of, report
from tests.support.draining import draining
from tests.support.pictures import make_photo
from tests.support.web import Site
from tracker.services.daily_round import make_rounds
from tracker.services.photos import take_photo
from tracker.services.post import MailFolder, send_waiting
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify
from tracker.web.app import create_app

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date
    from email.message import EmailMessage
    from pathlib import Path


@dataclass(slots=True)
class Life:
    """A depot whose clock moves on with what is told."""

    depot: Depot
    letters: Path
    told: dict[str, str] = field(default_factory=dict)
    """The last event of each kind, by its id."""

    def say(self, at: str, kind: str, mark: str | None, **others: object) -> dict[str, Finding]:
        """Report something as it happens, at such as `2026-03-02 09:00`; it must be recorded.

        Returns what was found about it, by finding.
        """
        state, found = self._tell(at, kind, mark, **others)
        assert state == "recorded", (state, found)
        return found

    def ask(self, at: str, kind: str, mark: str | None, **others: object) -> set[str]:
        """Ask for something that must be refused; return which refusals say why."""
        state, found = self._tell(at, kind, mark, **others)
        assert state == "refused", list(found.values())
        return {name for name, one in found.items() if one.severity is Severity.REFUSE}

    @contextlib.contextmanager
    def at_pages(self, at: str, *roles: str) -> Iterator[TestClient]:
        """Provide the browser of somebody with roles, and a worker beside, at such a moment."""
        self._set_clock(at)
        app = create_app(self.depot.web)
        with TestClient(app) as running:
            site = Site(self.depot, app, running)
            with draining(site):
                yield site.person(*roles, name=f"person-{new_id().hex[-8:]}")

    def photograph(self) -> str:
        """Take a photo that can be read, and return its digest."""
        return take_photo(self.depot.web, make_photo()).digest

    def record(self, mark: str) -> dict[str, Any]:
        """Return the record of a unit, people named."""
        return self.depot.show(mark).record

    def kinds(self, mark: str) -> list[str]:
        """Return what its history tells, in the order of recording."""
        return [row["kind"] for row in self.depot.show(mark).history]

    def mails_of(self, *days: date) -> list[EmailMessage]:
        """Make the rounds of these days, send what waits, and return all mails ever sent."""
        for day in days:
            make_rounds(self.depot.worker, on=day)
        send_waiting(self.depot.worker, MailFolder(self.letters))
        return [
            message_from_bytes(file.read_bytes(), policy=policy.default)
            for file in sorted(self.letters.glob("*.eml"))
        ]

    def ends_sound(self) -> None:
        """Hold that every chain is whole, and every record what its history says."""
        assert verify(self.depot.worker).flaws == ()
        assert rebuild(self.depot.worker, check_only=True).differing == []

    def _tell(
        self, at: str, kind: str, mark: str | None, **others: object
    ) -> tuple[str, dict[str, Finding]]:
        now = self._set_clock(at)
        body = report(kind, mark, **({"happened_at": now.isoformat()} | others))
        (receipt,) = self.depot.record(body)
        self.told[kind] = id_of(body)
        assert receipt.verdict is not None, receipt
        return receipt.state, {one.id: one for one in receipt.verdict.findings}

    def _set_clock(self, at: str) -> datetime:
        now = datetime.fromisoformat(f"{at}+00:00")
        assert isinstance(self.depot.web.clock, StandingClock)
        self.depot.web.clock.set(now)
        return now


def tell(mails: list[EmailMessage]) -> dict[str, str]:
    """Return the plain text of each mail by its subject."""
    texts = {}
    for mail in mails:
        body = mail.get_body(("plain",))
        assert body is not None
        texts[str(mail["Subject"])] = str(body.get_content())
    return texts


def as_json(content: bytes) -> dict[str, Any]:
    """Return a JSON document."""
    said: dict[str, Any] = orjson.loads(content)
    return said
