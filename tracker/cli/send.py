"""`send`: hand in a file of events, and say what became of each."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Annotated, Final

import typer

from schemas.findings import Severity
from shared.addresses import Role
from tracker.cli.depot_time import DepotTime
from tracker.cli.event_files import read_events
from tracker.cli.handing_in import Answered, hand_in
from tracker.cli.means import services
from tracker.cli.output import AsJson, end, say, write_json_list, write_table

EXAMPLES: Final = (
    "Examples:\n\nhardstand send today.jsonl --wait\n\n"
    "hardstand send arrivals.csv --wait --json > verdicts.json\n\ncat one.json | hardstand send -"
)

_TELLING: Final = (Severity.REFUSE, Severity.BREACH, Severity.DOUBT)


def send(
    ctx: typer.Context,
    file: Annotated[
        Path, typer.Argument(help="JSON lines, a JSON array, or CSV; - reads standard input.")
    ],
    *,
    wait: Annotated[bool, typer.Option("--wait", help="Wait for the verdict on each.")] = False,
    as_json: AsJson = False,
) -> None:
    """Hand in events: durable before the receipt, each on its own, the same one only once.

    In CSV the headings are the names of the fields, dotted for nested ones: masses.gross_kg.
    """
    lines = list(read_events(_read(file), name=file.name))
    with services(ctx) as running:
        answers = hand_in(running, lines, wait=wait)
        time = DepotTime.of(running.context(Role.WEB))
        well = _tell_json(answers, waited=wait) if as_json else _tell(answers, time)
    end(well=well)


def _read(file: Path) -> bytes:
    if str(file) == "-":
        return sys.stdin.buffer.read()
    try:
        return file.read_bytes()
    except OSError as fault:
        raise typer.BadParameter(f"{file} cannot be read: {fault.strerror}.") from fault


def _tell_json(answers: Iterable[Answered], *, waited: bool) -> bool:
    all_well = True

    def told() -> Iterator[dict[str, object]]:
        nonlocal all_well
        for one in answers:
            all_well &= one.is_well
            yield one.to_json(waited=waited)

    write_json_list(told())
    return all_well


def _tell(answers: Iterable[Answered], time: DepotTime) -> bool:
    """Show those that have something to tell, and count them all."""
    counts: Counter[str] = Counter()
    rows, well = [], True
    for one in answers:
        outcome = one.verdict.verdict.value if one.verdict else one.receipt.state
        counts[outcome] += 1
        well &= one.is_well
        if says := _says(one, time):
            rows.append((one.line.number, outcome, one.receipt.id, says))
    write_table(("Line", "Verdict", "Event", "Because"), rows, none="Nothing was found wrong.")
    told = ", ".join(f"{count} {outcome}" for outcome, count in sorted(counts.items()))
    say(f"{counts.total()} events: {told or 'none'}.")
    if counts["waiting"]:
        say(
            "Those that wait are safe, and are judged by the workers of `hardstand serve`, or by "
            "the next `send --wait`."
        )
    return well


def _says(one: Answered, time: DepotTime) -> str:
    if one.error is not None:
        return one.error
    findings = one.verdict.findings if one.verdict else ()
    says = " ".join(found.message for found in findings if found.severity in _TELLING)
    return time.told(says, one.depot)
