"""Reminder mails as messages: one Message-ID per letter, plain text and HTML saying the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from email.errors import MessageError
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from functools import cache
from typing import Any
from uuid import UUID

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape

from shared.legible import as_shown


@dataclass(frozen=True, slots=True)
class Envelope:
    """Who a mail is from and for, which letter it is, and when it was written."""

    letter_id: UUID
    sender: str
    recipients: Sequence[str]
    written_at: datetime


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file that goes with a letter: its name, its media type such as `text/calendar`, its bytes.

    Text is UTF-8.
    """

    name: str
    media_type: str
    content: bytes


def is_address(text: str) -> bool:
    """Say whether a text is one mail address and nothing else."""
    try:
        address = Address(addr_spec=text)
    # What is no address makes the library stumble in many ways.
    except (ValueError, IndexError, AttributeError, MessageError):
        return False
    return bool(address.username and address.domain) and text.isprintable()


def make_message(
    envelope: Envelope,
    subject: str,
    body: dict[str, Any],
    attachments: Sequence[Attachment] = (),
) -> EmailMessage:
    """Return a letter as a message ready to send.

    Args:
        envelope: Sender, recipients, id and moment. The Message-ID is made of the letter's id, so
            that a letter sent again is the same mail.
        subject: One line; line breaks in it are spaces, since a header has one line.
        body: `opening`, `lines` (each `mark`, `says`, `on`, and `group` where they are grouped: it
            stands above the first of its lines) and `closing`. A line, and the whole, may have a
            `link`: the address of the page where it is looked at.
        attachments: Files that go with it, in this order; may be empty.
    """
    domain = envelope.sender.rpartition("@")[2]
    message = EmailMessage(policy=SMTP)
    message["From"] = Address(display_name="Hardstand", addr_spec=envelope.sender)
    message["To"] = [Address(addr_spec=address) for address in envelope.recipients]
    message["Subject"] = " ".join(subject.split())
    message["Date"] = format_datetime(envelope.written_at)
    message["Message-ID"] = f"<{envelope.letter_id}@{domain}>"
    # Tells other machines not to answer (RFC 3834 §5).
    message["Auto-Submitted"] = "auto-generated"
    body = {"link": None, **body, "lines": [{"link": None, **line} for line in body["lines"]]}
    message.set_content(_template("mail.txt").render(body))
    message.add_alternative(_template("mail.html").render(body, subject=subject), subtype="html")
    for attachment in attachments:
        _attach(message, attachment)
    return message


def _attach(message: EmailMessage, attachment: Attachment) -> None:
    kind, _, subtype = attachment.media_type.partition("/")
    message.add_attachment(
        attachment.content,
        maintype=kind,
        subtype=subtype,
        filename=" ".join(attachment.name.split()),
        params={"charset": "utf-8"} if kind == "text" else None,
    )


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("tracker.papers"),
        autoescape=select_autoescape(enabled_extensions=("html",), default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=as_shown,
    )


def _template(name: str) -> Any:  # noqa: ANN401 - Jinja's Template
    return _environment().get_template(name)
