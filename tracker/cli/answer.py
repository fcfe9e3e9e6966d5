"""`answer`: settle an open question."""

from __future__ import annotations

from typing import Annotated, Any, Final

import orjson
import typer

from schemas.events.settling import Settlement
from shared.addresses import Role
from shared.errors import HardstandError
from shared.ids import new_id
from tracker.cli.depot_time import DepotTime
from tracker.cli.event_files import Line
from tracker.cli.handing_in import Answered, hand_in
from tracker.cli.means import Running, services
from tracker.cli.moments import read_moment
from tracker.cli.output import AsJson, end, say, write_json
from tracker.services.cells import as_event
from tracker.services.listings import open_questions
from tracker.services.reading import EventUnreadableError, read_event

EXAMPLES: Final = (
    "Examples:\n\nhardstand answer 5f1c0a3e --mark CSQU3054383 --by 'Ada Quill' --depot NORTH\n\n"
    "hardstand answer 5f1c0a3e --payload-kg 28250 --by 'Ada Quill' --depot NORTH\n\n"
    "hardstand answer 5f1c0a3e --plate next_examination=2029-05 --by 'Ada Quill' --depot NORTH\n\n"
    "hardstand answer 5f1c0a3e --as-painted --by 'Ada Quill' --depot NORTH"
)

_Kilograms = Annotated[str | None, typer.Option(metavar="KG")]
_Pounds = Annotated[str | None, typer.Option(metavar="LB")]
_PlateLines = Annotated[
    list[str] | None, typer.Option(metavar="LINE=VALUE", help="A line of the plate, by name.")
]
_PAINTED_SO: Final = "It is really painted so."
_HAPPENED: Final = "What was reported did happen."
_MISTAKE: Final = "The report was a mistake."


class QuestionUnknownError(HardstandError):
    """No open question has such an id, or several begin so; carries what was given."""

    def __init__(self, given: str, found: int) -> None:
        self.given = given
        how_many = f"{found} open questions begin" if found else "No open question begins"
        super().__init__(
            f"{how_many} with {given!r}",
            expected="the id of one, or as much of it as is needed",
            remedy="`hardstand questions` lists them",
        )


def answer(  # noqa: PLR0913 - one argument per option of the command
    ctx: typer.Context,
    question: Annotated[str, typer.Argument(help="Its id, or how that begins.")],
    *,
    by: Annotated[str, typer.Option(help="Who answers.")],
    depot: Annotated[str, typer.Option(help="Code of the depot where it was looked at.")],
    mark: Annotated[str | None, typer.Option(help="The right mark.")] = None,
    size_type: Annotated[str | None, typer.Option(help="The right size-type code.")] = None,
    gross_kg: _Kilograms = None,
    tare_kg: _Kilograms = None,
    payload_kg: _Kilograms = None,
    gross_lb: _Pounds = None,
    tare_lb: _Pounds = None,
    payload_lb: _Pounds = None,
    cube_m3: Annotated[str | None, typer.Option(metavar="M3")] = None,
    plate: _PlateLines = None,
    at: Annotated[str | None, typer.Option(help="The right moment, ISO 8601 with zone.")] = None,
    as_painted: Annotated[bool, typer.Option("--as-painted", help=_PAINTED_SO)] = False,
    confirmed: Annotated[bool, typer.Option("--confirmed", help=_HAPPENED)] = False,
    withdrawn: Annotated[bool, typer.Option("--withdrawn", help=_MISTAKE)] = False,
    note: Annotated[str | None, typer.Option(help="Anything to add.")] = None,
    as_json: AsJson = False,
) -> None:
    """Settle a question: with the right value, or as painted, confirmed or withdrawn."""
    cells = {
        "right_mark": mark,
        "size_type": size_type,
        "masses.gross_kg": gross_kg,
        "masses.tare_kg": tare_kg,
        "masses.payload_kg": payload_kg,
        "masses.gross_lb": gross_lb,
        "masses.tare_lb": tare_lb,
        "masses.payload_lb": payload_lb,
        "masses.cube_m3": cube_m3,
        "at": None if at is None else read_moment(at).isoformat(),
        **_plate_lines(plate or []),
    }
    values = {name: value for name, value in cells.items() if value is not None}
    ways = (bool(values), as_painted, confirmed, withdrawn)
    said = {"settlement": _one_of(ways), "reported_by": by, "depot": depot, **values}
    if note is not None:
        said["note"] = note
    with services(ctx) as running:
        told = _hand_in(running, _find(running, question), said)
        time = DepotTime.of(running.context(Role.WEB))
    _tell(told, time, as_json=as_json)


def _plate_lines(given: list[str]) -> dict[str, str]:
    lines = {}
    for text in given:
        name, equals, value = text.partition("=")
        if not (equals and name and value):
            raise typer.BadParameter(f"--plate {text!r} is not a line and its value: LINE=VALUE.")
        lines[f"plate.{name}"] = value
    return lines


def _one_of(ways: tuple[bool, ...]) -> str:
    """Return the one settlement that is given, in the order of `Settlement`."""
    given = [way.value for way, is_given in zip(Settlement, ways, strict=True) if is_given]
    if len(given) != 1:
        raise typer.BadParameter(
            "Give either the right value, or one of --as-painted, --confirmed and --withdrawn."
        )
    return given[0]


def _find(running: Running, given: str) -> str:
    asked = open_questions(running.context(Role.WEB))
    found = [one["id"] for one in asked if one["id"].startswith(given.lower())]
    if len(found) != 1:
        raise QuestionUnknownError(given, len(found))
    return str(found[0])


def _hand_in(running: Running, question: str, said: dict[str, str]) -> Answered:
    cells = {
        "kind": "answer",
        "id": str(new_id()),
        "happened_at": running.clock.now().isoformat(),
        "question": question,
        **said,
    }
    return next(hand_in(running, [Line(1, _checked(as_event(cells)))], wait=True))


def _checked(said: dict[str, Any]) -> bytes:
    """Return an answer that can be read; what cannot is wrong usage, and is not kept."""
    body = orjson.dumps(said)
    try:
        read_event(body)
    except EventUnreadableError as fault:
        raise typer.BadParameter(fault.wrong) from fault
    return body


def _tell(told: Answered, time: DepotTime, *, as_json: bool) -> None:
    if as_json:
        write_json(_without_line(told.to_json(waited=True)))
    else:
        outcome = told.verdict.verdict.value if told.verdict else told.receipt.state
        say(f"The answer is {outcome}.")
        for found in told.verdict.findings if told.verdict else ():
            say(time.told(found.message, told.depot))
    end(well=told.is_well)


def _without_line(told: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in told.items() if name != "line"}
