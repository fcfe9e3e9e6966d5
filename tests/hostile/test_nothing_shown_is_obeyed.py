"""What strangers wrote is read, and never obeyed: by no terminal, no page and no mail."""

from __future__ import annotations

import re
from email import message_from_bytes, policy
from typing import TYPE_CHECKING

import pytest

from shared.legible import legible
from tests.support.command_line import CommandLine, GivenMeans
from tests.support.depot import BOX, OTHER, open_up, report
from tests.support.web import Site, open_site
from tracker.services.actor import Role
from tracker.services.daily_round import make_rounds
from tracker.services.post import MailFolder, send_waiting

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from shared.clock import StandingClock
    from shared.settings import Settings

HOSTILE = "\x1b[2J\x1b]0;owned\x07\x9b31m\u202egnihton\u2066 <b>&</b>\r\ufeff"
COMMANDS = (
    ("unit", BOX),
    ("stock",),
    ("questions",),
    ("alerts",),
    ("orders",),
    ("held",),
    ("may-leave", BOX),
    ("checklist", BOX),
    ("check", f"{BOX}{HOSTILE}"),
    ("unit", HOSTILE),
)
PAGES = (
    *("/", "/alerts?show=all", "/questions", "/stock", "/workshop", "/people"),
    *(f"/units/{BOX}", f"/sales/deal?unit={BOX}", f"/workshop/unit?name={BOX}"),
    f"/claims?unit={BOX}",
)


@pytest.fixture
def site(settings: Settings, clock: StandingClock) -> Iterator[Site]:
    """A depot whose every text was written by somebody who means harm."""
    with open_up(settings, clock) as depot, open_site(depot) as site:
        said = {"reported_by": HOSTILE, "note": HOSTILE}
        dent = {"component": "header", "kind": "dented", "responsible": HOSTILE, "on_lorry": True}
        depot.open_depot("NORTH", manager="m@depot.test", workshop="w@depot.test")
        depot.record(
            report("gate-in", colour=HOSTILE, haulier=HOSTILE, size_type=HOSTILE, **said),
            report("gate-in", OTHER, seal=HOSTILE, masses={"gross_kg": 1, "tare_kg": 9}, **said),
        )
        depot.record(
            report("inspection", damages=[dent], **said),
            report("hold", hold="do-not-lift", reason=HOSTILE, **said),
            report("work-order", lines=[{"work": "lock-box"}], due_on="2026-03-01", **said),
            report("sale", buyer=HOSTILE, **said),
            report("gate-out", OTHER, haulier=HOSTILE, happened_at="2026-03-02T07:30:00Z", **said),
        )
        depot.send(report(HOSTILE.replace("\r", "")), report("gate-in", slot=HOSTILE))
        make_rounds(depot.worker)
        yield site


def obeyed(text: str) -> set[str]:
    """Return what a text holds that is obeyed instead of read."""
    return {repr(one) for one in text.replace("\r\n", "\n") if legible(one) != one}


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_no_command_lets_a_text_steer_the_terminal(site: Site, command: tuple[str, ...]) -> None:
    shell = CommandLine(GivenMeans(site.depot.worker.settings, site.depot.worker.clock))
    told = shell.run(*command)
    assert told.output
    assert obeyed(told.output) == set()


def test_no_page_lets_a_text_turn_what_follows(site: Site) -> None:
    client = site.person(*(f"NORTH:{role}" for role in Role), shown_as=HOSTILE)
    shown = {page: client.get(page, headers={"Accept": "text/html"}) for page in PAGES}
    assert {page: one.status_code for page, one in shown.items() if one.status_code != 200} == {}
    assert {page: found for page, one in shown.items() if (found := obeyed(one.text))} == {}
    assert any("gnihton" in one.text for one in shown.values())
    assert not any("<b>&</b>" in one.text for one in shown.values())


def test_no_mail_lets_a_text_turn_what_follows(site: Site, tmp_path: Path) -> None:
    send_waiting(site.depot.worker, MailFolder(tmp_path))
    mails = [
        message_from_bytes(file.read_bytes(), policy=policy.default)
        for file in tmp_path.glob("*.eml")
    ]
    parts = [
        part.get_content()
        for mail in mails
        for part in mail.walk()
        if part.get_content_type() in ("text/plain", "text/html")
    ]
    assert len(mails) >= 2
    assert [found for part in parts if (found := obeyed(part))] == []
    assert any("gnihton" in part for part in parts)
    assert [found for mail in mails if (found := obeyed(str(mail["Subject"])))] == []
    assert not re.search(r"<b>&</b>", "".join(part for part in parts if "<html" in part))
