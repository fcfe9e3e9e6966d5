"""`check`: say whether marks, a size-type code and masses can be right. Needs no service."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import Annotated, Final

import orjson
import typer

from schemas.readings import Masses
from tracker.cli.checking import check_many
from tracker.cli.output import (
    AsJson,
    end,
    in_words,
    say,
    write_json_list,
    write_json_texts,
    write_table,
)
from tracker.judge.painted import Beside, Painted, judge_beside, judge_painted

EXAMPLES: Final = (
    "Examples:\n\nhardstand check CSQU3054383 TASU1170000 --json\n\n"
    "hardstand check 'CSQU 305438 3' --size-type 22G1 --gross-kg 30480 --tare-kg 2230\n\n"
    "hardstand check < marks.txt"
)

_Kilograms = Annotated[int | None, typer.Option(min=0, max=999_999, metavar="KG")]
_Pounds = Annotated[int | None, typer.Option(min=0, max=2_200_000, metavar="LB")]


def check(  # noqa: PLR0913 - one argument per option of the command
    marks: Annotated[
        list[str] | None,
        typer.Argument(help="Marks as read; none, or -, reads one per line from standard input."),
    ] = None,
    *,
    size_type: Annotated[str | None, typer.Option(help="The size-type code as painted.")] = None,
    gross_kg: _Kilograms = None,
    tare_kg: _Kilograms = None,
    payload_kg: _Kilograms = None,
    gross_lb: _Pounds = None,
    tare_lb: _Pounds = None,
    payload_lb: _Pounds = None,
    as_json: AsJson = False,
) -> None:
    """Check marks, and with them what is painted beside: is it right, and if not, what may it be?

    Fine unless there is a doubt. JSON is always one array, with one result for each mark.
    """
    masses = Masses(
        gross_kg=gross_kg,
        tare_kg=tare_kg,
        payload_kg=payload_kg,
        gross_lb=gross_lb,
        tare_lb=tare_lb,
        payload_lb=payload_lb,
    )
    beside = judge_beside(size_type, masses)
    if marks == ["-"] or not (marks or beside.decoded):
        _check_input(beside, as_json=as_json)
        return
    results = [judge_painted(mark, beside) for mark in marks or (None,)]
    if as_json:
        write_json_list(result.told() for result in results)
    else:
        _show(results)
    end(well=all(result.ok for result in results))


def _check_input(beside: Beside, *, as_json: bool) -> None:
    """Check one mark per line of standard input; people are shown those in doubt, and a count."""
    if sys.stdin.isatty():
        raise typer.BadParameter("Give marks, or something that is painted beside them.")
    texts = [line for line in map(str.strip, sys.stdin) if line]
    wrong = 0

    def told() -> Iterator[bytes]:
        nonlocal wrong
        for result in check_many(texts, beside):
            wrong += isinstance(result, Painted) and not result.ok
            yield orjson.dumps(result.told()) if isinstance(result, Painted) else result

    if as_json:
        write_json_texts(told())
    else:
        for result in check_many(texts, beside):
            if isinstance(result, Painted) and not result.ok:
                wrong += 1
                say(f"{result.mark}\t{_says(result)}")
        say(f"{len(texts)} marks: {len(texts) - wrong} fine, {wrong} in doubt.")
    end(well=not wrong)


def _show(results: list[Painted]) -> None:
    rows = [(one.mark or "", "yes" if one.ok else "NO", _says(one)) for one in results]
    write_table(("Mark", "Fine", "What was found"), rows, none="")
    for one in results:
        if readable := {name: value for name, value in one.decoded.items() if value is not None}:
            say(f"{one.mark or 'Painted'}: {in_words(readable)}")


def _says(result: Painted) -> str:
    says = [f"{found.severity.value}: {found.message}" for found in result.findings]
    if result.suggestions:
        says.append(f"It may be {', '.join(result.suggestions)}.")
    return " ".join(says)
