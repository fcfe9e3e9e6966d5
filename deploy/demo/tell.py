"""Say on the terminal what the demo day does, in plain words."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any, Final
from uuid import UUID

from rich.console import Console
from rich.padding import Padding
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn
from rich.table import Table
from rich.text import Text

from deploy.demo.hand_in import Tick
from deploy.demo.house import DEPOTS
from deploy.demo.incidents import Incident
from deploy.demo.next_steps import NextStep
from deploy.demo.scenario import Scenario
from deploy.demo.sign_ins import SignIn
from deploy.demo.stock_round import Walk
from schemas.findings import Severity
from schemas.verdicts import Verdict
from tracker.services.stock_check import Comparison

_TOLD: Final = (Severity.REFUSE, Severity.BREACH, Severity.DOUBT)
_STYLES: Final = {"recorded": "green", "refused": "red", "held": "magenta"}
_INDENT: Final = (0, 0, 0, 4)
_OF_A_KIND: Final = 3
"""How many alerts of one kind are told one by one."""


class Teller:
    """Writes to one console. Knows no database; it is told what there is to tell."""

    def __init__(self, console: Console) -> None:
        self._console = console

    def opening(self, scenario: Scenario) -> None:
        """Say what is about to be seen."""
        names = " and ".join(f"{depot.name} ({depot.code})" for depot in DEPOTS)
        self._heading("The demo day")
        self._say(
            f"An invented scenario: two depots, {names}, a year of past, and "
            f"{scenario.moment:%A, %d %B %Y}. Every person, firm, owner code and box is made up."
        )
        if scenario.is_known:
            self._say("It is here already and is told again; nothing is recorded twice.")

    @contextlib.contextmanager
    def progress(self, says: str, total: int) -> Iterator[Tick]:
        """Show a bar for as long as the context lasts; it gives what moves the bar on."""
        columns = (
            TextColumn("{task.description}"),
            BarColumn(),
            MofNCompleteColumn(),
            TextColumn("events"),
            TimeElapsedColumn(),
        )
        with Progress(*columns, console=self._console) as shown:
            task = shown.add_task(says, total=total)
            yield lambda more: shown.advance(task, more)

    def stock(self, counted: Sequence[Mapping[str, Any]]) -> None:
        """Say how many units the past has left, and where."""
        units = sum(row["units"] for row in counted)
        by_presence: dict[str, int] = {}
        for row in counted:
            by_presence[row["presence"]] = by_presence.get(row["presence"], 0) + row["units"]
        told = ", ".join(f"{count} {presence}" for presence, count in sorted(by_presence.items()))
        self._say(f"{units} units: {told}.")

    def walk(self, walk: Walk, found: Comparison) -> None:
        """Say what the stock check came to."""
        missed = ", ".join(str(one.mark) for one in found.not_found) or "none"
        misplaced = ", ".join(
            f"{one.mark} in {one.slot} and not in {one.slot_before}" for one in found.in_wrong_slot
        )
        self._say(
            f"Stock check {walk.id}: not found {missed}; in the wrong slot {misplaced or 'none'}."
        )
        self._command(f"hardstand stock-check compare {walk.id}")

    def today(self, incidents: Sequence[Incident], verdicts: Mapping[UUID, Verdict]) -> None:
        """Say what went wrong, what the verdicts were, and where to look."""
        self._heading("What happened today")
        self._say(
            "Below each is where to look. `hardstand` is .venv/bin/hardstand where it is not on "
            "the path; run it in this folder, in another terminal while this one serves."
        )
        for number, incident in enumerate(incidents, start=1):
            self._console.print(f"\n{number}. {incident.title}", style="bold")
            self._console.print(Padding(incident.says, _INDENT))
            for report in incident.reports:
                self._verdict(report.kind, verdicts[report.id])
            for command in incident.look:
                self._command(command)

    def due(self, alerts: Sequence[Mapping[str, Any]]) -> None:
        """Say what the daily round found to be due."""
        self._heading("What falls due")
        for _, of_kind in groupby(sorted(alerts, key=_kind), _kind):
            told = list(of_kind)
            for alert in told[:_OF_A_KIND]:
                self._alert(alert)
            if (more := len(told) - _OF_A_KIND) > 0:
                self._console.print(Padding(f"and {more} more of this kind", (0, 0, 0, 6)))
        self._command("hardstand alerts")

    def mail(self, by_state: Mapping[str, int], where: str) -> None:
        """Say which mails went, and where they can be read."""
        told = ", ".join(f"{count} {state}" for state, count in sorted(by_state.items()))
        self._heading("Mail")
        self._console.print(Padding(f"{told or 'none'}; {where}", _INDENT))

    def sound(self, *, streams: int, rows: int, root: str) -> None:
        """Say that the histories were walked and found unbroken."""
        self._heading("Proof")
        told = f"{rows} rows in {streams} histories, chain unbroken. Root of all: {root[:16]}…"
        self._console.print(Padding(told, _INDENT))
        self._command("hardstand verify")
        self._command("hardstand rebuild --check")

    def next_steps(self, steps: Sequence[NextStep]) -> None:
        """Say what each of the four would do next, and on which page."""
        self._heading("What each would do next")
        for who, theirs in groupby(steps, lambda step: step.who):
            self._console.print(Padding(who, _INDENT), style="bold")
            for step in theirs:
                self._console.print(Padding(step.says, (0, 0, 0, 6)))
                self._console.print(Text(f"        {step.path}", style="cyan"), soft_wrap=True)

    def sign_ins(self, people: Sequence[SignIn]) -> None:
        """List who can sign in."""
        self._heading("Who can sign in")
        table = Table(box=None, header_style="bold", pad_edge=False)
        for heading in ("name", "password", "is", "at"):
            table.add_column(heading)
        for one in people:
            depot = "every depot" if one.depot == "*" else one.depot
            table.add_row(one.name, one.password, one.shown_as, depot)
        self._console.print(Padding(table, _INDENT))

    def address(self, url: str) -> None:
        """Say where it is served, and how it ends."""
        self._heading("Serving")
        self._console.print(Padding(f"{url}", _INDENT), style="bold cyan")
        self._console.print(Padding("Ctrl-C ends it; what is recorded stays.", _INDENT))

    def farewell(self) -> None:
        """Say how to go on."""
        self._heading("Next")
        self._console.print(
            Padding("hardstand serve   serves pages and API of this house", _INDENT)
        )

    def _alert(self, alert: Mapping[str, Any]) -> None:
        self._console.print(Padding(f"{alert['mark']} at {alert['depot']}", _INDENT))
        told = f"due {alert['due_on']}, told to {alert['role']}: {alert['says']}"
        self._console.print(Padding(told, (0, 0, 0, 6)), style="yellow")
        if alert["put_off_until"] is not None:
            words = f"put off until {alert['put_off_until']}: {alert['reason']}"
            self._console.print(Padding(words, (0, 0, 0, 6)))

    def _verdict(self, kind: str, verdict: Verdict) -> None:
        line = Text("    → ").append(kind).append(": ")
        line.append(verdict.verdict.value, style=_STYLES[verdict.verdict.value])
        self._console.print(line)
        for finding in verdict.findings:
            if finding.severity in _TOLD:
                told = Text(f"{finding.severity.value} {finding.id}", style="yellow")
                self._console.print(Padding(told.append(f": {finding.message}"), (0, 0, 0, 8)))

    def _command(self, command: str) -> None:
        # Broken by the terminal alone, so that it can be copied whole.
        self._console.print(Text(f"    $ {command}", style="cyan"), soft_wrap=True)

    def _heading(self, words: str) -> None:
        self._console.print()
        self._console.rule(Text(words, style="bold"), align="left")

    def _say(self, words: str) -> None:
        self._console.print(words)


def _kind(alert: Mapping[str, Any]) -> str:
    return str(alert["kind"])
