"""`pre-advise`: announce a batch, from a list of marks or by numbers in sequence."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Final

import orjson
import typer

from schemas.events.gate import Provenance, Purpose
from shared.addresses import Role
from tracker.cli.depot_time import DepotTime
from tracker.cli.event_files import Line, with_id
from tracker.cli.handing_in import Answered, hand_in
from tracker.cli.means import services
from tracker.cli.output import AsJson, end, say, write_json_list, write_table
from tracker.services import announcing
from tracker.services.announcing import Advised, AnnouncementError

EXAMPLES: Final = (
    "Examples:\n\nhardstand pre-advise --from ZZZU3000013 --count 20 --batch B-14 --depot NORTH "
    "--by 'Ada Quill' --size-type 22G1 --gross-kg 30480 --tare-kg 2230\n\n"
    "hardstand pre-advise marks.csv --batch B-14 --depot NORTH --by 'Ada Quill'"
)

_File = Annotated[
    Path | None,
    typer.Argument(
        exists=True, dir_okay=False, help="CSV with a column `mark`, others as fields are named."
    ),
]
_First = Annotated[
    str | None, typer.Option("--from", metavar="MARK", help="The first mark of a sequence.")
]
_Count = Annotated[int, typer.Option(min=1, max=1000, help="How many in sequence.")]
_KeepTens = Annotated[
    bool, typer.Option("--keep-tens", help="Do not leave out serials of remainder 10.")
]
_Shared = Annotated[str | None, typer.Option()]
_Kilograms = Annotated[int | None, typer.Option(min=0, max=999_999, metavar="KG")]


def pre_advise(  # noqa: PLR0913 - one argument per option of the command
    ctx: typer.Context,
    file: _File = None,
    *,
    first: _First = None,
    count: _Count = 1,
    keep_tens: _KeepTens = False,
    batch: Annotated[str, typer.Option(help="The batch's name.")],
    depot: Annotated[str, typer.Option(help="The depot where it is expected.")],
    by: Annotated[str, typer.Option(metavar="NAME", help="Who announces it.")],
    purpose: Annotated[Purpose, typer.Option(help="Why it comes.")] = Purpose.PURCHASE,
    supplier: _Shared = None,
    expected_on: Annotated[str | None, typer.Option(metavar="YYYY-MM-DD")] = None,
    size_type: _Shared = None,
    gross_kg: _Kilograms = None,
    tare_kg: _Kilograms = None,
    manufactured_in: Annotated[str | None, typer.Option(metavar="YYYY-MM")] = None,
    colour: _Shared = None,
    provenance: Annotated[Provenance | None, typer.Option()] = None,
    approval_reference: _Shared = None,
    as_json: AsJson = False,
) -> None:
    """Announce a batch: one pre-advice for each unit, with what all of them share.

    What a line of the file says goes before what an option says for all.
    """
    shared = {
        "batch": batch,
        "depot": depot,
        "reported_by": by,
        "purpose": purpose.value,
        "supplier": supplier,
        "expected_on": expected_on,
        "size_type": size_type,
        "masses.gross_kg": gross_kg,
        "masses.tare_kg": tare_kg,
        "manufactured_in": manufactured_in,
        "colour": colour,
        "provenance": provenance and provenance.value,
        "approval_reference": approval_reference,
    }
    said = {name: str(value) for name, value in shared.items() if value is not None}
    _announce(ctx, _units(file, first, count, keep_tens=keep_tens), said, as_json=as_json)


def _announce(
    ctx: typer.Context, units: Sequence[Advised], said: dict[str, str], *, as_json: bool
) -> None:
    with services(ctx) as running:
        now = {"happened_at": running.clock.now().isoformat()}
        lines = [Line(unit.line, orjson.dumps(with_id(unit.event(now | said)))) for unit in units]
        answers = list(hand_in(running, lines, wait=True))
        time = DepotTime.of(running.context(Role.WEB))
    if as_json:
        write_json_list(one.to_json(waited=True) for one in answers)
    else:
        _tell(answers, said["batch"], time)
    end(well=all(one.is_well for one in answers))


def _units(file: Path | None, first: str | None, count: int, *, keep_tens: bool) -> list[Advised]:
    if file is not None and first is None:
        return _listed(file)
    if first is not None and file is None:
        return announcing.of_sequence(first, count, keep_tens=keep_tens)
    raise typer.BadParameter("Give a file of marks, or --from and --count.")


def _listed(file: Path) -> list[Advised]:
    """Read a list of marks, or CSV; empty cells are left to what all share."""
    try:
        content = file.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise typer.BadParameter(f"{file} is not written in UTF-8.") from fault
    try:
        return announcing.of_list(content)
    except AnnouncementError as fault:
        raise typer.BadParameter(f"{file}: {fault}") from fault


def _tell(answers: list[Answered], batch: str, time: DepotTime) -> None:
    rows = []
    for one in answers:
        found = one.verdict.findings if one.verdict else ()
        told = " ".join(finding.message for finding in found)
        says = one.error or time.told(told, one.depot)
        if says:
            rows.append((one.line.number, orjson.loads(one.line.body).get("mark"), says))
    write_table(("Line", "Unit", "Because"), rows, none="Nothing was found wrong.")
    well = sum(one.is_well for one in answers)
    say(f"{well} of {len(answers)} announced as {batch}.")
