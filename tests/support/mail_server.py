"""A real SMTP server on this machine for tests: keeps what it is sent, or behaves badly."""

from __future__ import annotations

import asyncio
import contextlib
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from typing import TYPE_CHECKING

from aiosmtpd.controller import Controller
from typing_extensions import override

if TYPE_CHECKING:
    from collections.abc import Iterator
    from email.message import EmailMessage

    from aiosmtpd.smtp import SMTP, Envelope, Session


@dataclass  # no slots: aiosmtpd looks at all members, and Python 3.11.2 leaves a broken one there
class Mailbox:
    """What the server took, and how it answers."""

    port: int = 0
    taken: list[tuple[list[str], EmailMessage]] = field(default_factory=list)
    attempts: int = 0
    answer: str = "250 OK"
    answer_after_s: float = 0
    refuses: set[str] = field(default_factory=set)
    """Addresses it does not know."""

    @property
    def url(self) -> str:
        """Where it listens."""
        return f"smtp://127.0.0.1:{self.port}"

    @property
    def messages(self) -> list[EmailMessage]:
        """What it took, oldest first."""
        return [message for _, message in self.taken]

    async def handle_RCPT(  # noqa: N802 - named and shaped by aiosmtpd
        self, _server: SMTP, _session: Session, envelope: Envelope, address: str, _options: object
    ) -> str:
        """Take a recipient, unless it is one to refuse."""
        if address in self.refuses:
            return "550 nobody of that name"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(  # noqa: N802 - named by aiosmtpd
        self, _server: SMTP, _session: Session, envelope: Envelope
    ) -> str:
        """Take a mail, if the answer is yes."""
        self.attempts += 1
        await asyncio.sleep(self.answer_after_s)
        if self.answer.startswith("250"):
            message = message_from_bytes(envelope.content, policy=policy.default)
            self.taken.append((list(envelope.rcpt_tos), message))
        return self.answer


class _OnFreePort(Controller):
    """Listens on whichever port is free; aiosmtpd would look for itself at port 0."""

    @override
    def _trigger_server(self) -> None:
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()


@contextlib.contextmanager
def open_mailbox() -> Iterator[Mailbox]:
    """Run a server on a free port."""
    mailbox = Mailbox()
    controller = _OnFreePort(mailbox, hostname="127.0.0.1", port=0)
    controller.start()
    try:
        mailbox.port = controller.port
        yield mailbox
    finally:
        controller.stop()
