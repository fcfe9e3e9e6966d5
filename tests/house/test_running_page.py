"""docs/running.md names only commands, settings, measures, log events and files that there are."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.main import get_command

from deploy.hardstand import make_hardstand
from shared.addresses import Role
from shared.settings import PREFIX, Settings
from tracker.store.measures import Measures
from tracker.store.tables import RECEIPTS
from tracker.web.exposition import expose

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "running.md").read_text(encoding="utf-8")
SIZING = (ROOT / "deploy" / "sizing.md").read_text(encoding="utf-8")
SOURCES = [
    path for room in ("deploy", "tracker", "workers") for path in (ROOT / room).rglob("*.py")
]


def commands() -> set[str]:
    found = set()
    for name, command in get_command(make_hardstand()).commands.items():
        found |= {name, *(f"{name} {inner}" for inner in getattr(command, "commands", {}))}
    return found


def measures() -> set[str]:
    moment = datetime(2026, 3, 2, tzinfo=UTC)
    read = Measures({"held": 1}, moment, {"nobody": 1}, moment, 1, 1, moment, {
        "intake": 1, "receipts": 1, "history": 1
    })  # fmt: skip
    text = expose(read, moment, broker=True, failing=False).decode()
    return set(re.findall(r"^(hardstand_\w+)", text, re.MULTILINE))


def test_commands_named_are_there() -> None:
    named = set(re.findall(r"`hardstand ([a-z -]+?)(?: --[a-z]+| [A-Z]+)*`", PAGE))
    assert {"verify", "rebuild", "held", "let-go", "serve"} <= named
    assert named - commands() == set()


def test_measures_named_are_those_that_are_told() -> None:
    named = set(re.findall(r"hardstand_\w+", PAGE)) - {"hardstand_admin", *Role}
    assert named == measures()


@pytest.mark.parametrize("page", [PAGE, SIZING], ids=["running", "sizing"])
def test_settings_named_are_settings(page: str) -> None:
    named = set(re.findall(rf"\b{PREFIX}[A-Z_]+\b", page))
    assert named
    assert named - {PREFIX + name.upper() for name in Settings.model_fields} == set()


def test_log_events_named_are_logged() -> None:
    logged = set()
    for path in SOURCES:
        logged |= set(re.findall(r'"([a-z]+\.[a-z_]+)"', path.read_text(encoding="utf-8")))
    named = set(re.findall(r"`([a-z]+\.(?!env`|signal`)[a-z_]+)`", PAGE))  # those are files
    assert {"events.accepted", "batch.judged"} <= named
    assert named - logged == set()


def test_files_and_links_lead_somewhere() -> None:
    links = re.findall(r"\]\(([^)#]+)\)", PAGE)
    files = re.findall(r"`((?:tests|deploy)/[\w/]+(?:\.py)?/?)`", PAGE)
    assert links
    assert [link for link in links if not (ROOT / "docs" / link).exists()] == []
    assert [name for name in files if not (ROOT / name).exists()] == []


def test_columns_named_are_columns() -> None:
    assert {"received_at", "recorded_at"} <= set(RECEIPTS.c.keys())
