"""`checklist`: say what to look at on one unit, and why, before anybody goes in."""

from __future__ import annotations

from typing import Annotated, Any, Final

import typer

from schemas.events.deal import IntendedUse
from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.output import AsJson, say, write_json
from tracker.services import inspect

EXAMPLES: Final = (
    "Examples:\n\nhardstand checklist CSQU3054383 --for export\n\n"
    "hardstand checklist '#NORTH/T-12' --json"
)


def checklist(
    ctx: typer.Context,
    mark: Annotated[
        str, typer.Argument(help="Any mark it ever bore, a tag #DEPOT/TAG, or its id.")
    ],
    *,
    intended_use: Annotated[
        IntendedUse, typer.Option("--for", help="What it is inspected for.")
    ] = IntendedUse.STORAGE,
    as_json: AsJson = False,
) -> None:
    """List what an inspector looks at on this unit: what, why, what is expected, what is known."""
    with services(ctx) as running:
        found = inspect.checklist(running.context(Role.WEB), mark, intended_use)
    if as_json:
        write_json(found)
    else:
        _show(found)


def _show(found: dict[str, Any]) -> None:
    about = ", ".join(filter(None, (found["size_type"], found["provenance"]))) or "size not known"
    say(f"{found['mark']} ({about}), inspected for {found['intended_use']}")
    room, told = "", set()
    for number, item in enumerate(found["items"], start=1):
        if item["room"] != room:
            room = item["room"]
            say(f"\n{room.upper()}")
        say(f"{number:3} [{item['id']}] {item['words']}")
        for words in _beside(item):
            say(f"      {words}")
        if item["caution"] and item["caution"] not in told:
            told.add(item["caution"])
            say(f"      CAUTION: {item['caution']}")


def _beside(item: dict[str, Any]) -> list[str]:
    return [
        f"Why: {item['why']} ({item['source']}; {item['certainty']})",
        *(f"Known: {words}" for words in item["known"]),
        *(f"Usual: {one['words']} ({one['certainty']})" for one in item["expected"]),
        *(f"Line: {words}" for words in item["lines"]),
    ]
