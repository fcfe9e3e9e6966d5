"""Running commands in this process, on the test's own database, as somebody at a shell would."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import orjson
from typer.testing import CliRunner, Result

from shared.clock import Clock
from shared.ids import new_id
from shared.settings import Settings
from tracker.cli.main import make_app
from tracker.cli.means import Running


@dataclass
class GivenMeans:
    """Means that hand out the test's own database, again and again."""

    settings: Settings
    clock: Clock
    started_here: bool = True

    @contextlib.contextmanager
    def running(self) -> Iterator[Running]:
        """Provide the services of the test."""
        yield Running(self.settings.databases(), self.settings, self.clock, self.started_here)


@dataclass
class CommandLine:
    """A shell whose commands find the test's services."""

    means: GivenMeans
    runner: CliRunner = field(default_factory=CliRunner)

    def run(self, *words: str, given: str | bytes = "") -> Result:
        """Run a command with `given` on its standard input; errors of ours have a status."""
        result = self.runner.invoke(
            make_app(), words, input=given, obj=self.means, env={"COLUMNS": "200"}
        )
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    def ask(self, *words: str, status: int = 0, given: str | bytes = "") -> Any:  # noqa: ANN401 - any JSON
        """Run a command with --json, hold its status, and return what it says."""
        result = self.run(*words, "--json", given=given)
        assert result.exit_code == status, result.output
        return orjson.loads(result.stdout)

    def send(self, *events: dict[str, Any], status: int = 0) -> list[dict[str, Any]]:
        """Hand in events, wait, and return the verdicts."""
        told: list[dict[str, Any]] = self.ask(
            "send", "-", "--wait", status=status, given=as_lines(*events)
        )
        return told


def as_lines(*events: dict[str, Any]) -> bytes:
    """Write events as JSON lines."""
    return b"\n".join(map(orjson.dumps, events)) + b"\n"


def make_report(kind: str, mark: str = "ZZZU0000010", **fields: object) -> dict[str, Any]:
    """Return an event as a program would write it, with what most events need."""
    return {
        "id": str(new_id()),
        "kind": kind,
        "depot": "NORTH",
        "mark": mark,
        "happened_at": "2026-03-02T07:00:00Z",
        "reported_by": "Ada Quill",
        **fields,
    }


SOUND_MASSES = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
