"""`paper`: the papers that are signed or shown: interchange receipt, release note, warnings."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final
from uuid import UUID

import typer

from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.output import end
from tracker.cli.paper_files import keep
from tracker.papers.acknowledgement import acknowledgement_pdf
from tracker.papers.collection_note import collection_note_pdf
from tracker.papers.interchange import interchange_pdf
from tracker.papers.release_note import release_note_pdf
from tracker.services.acknowledgements import acknowledgement_of
from tracker.services.collection_notes import collection_note_by
from tracker.services.interchange_receipts import receipt_of
from tracker.services.release_notes import note_of
from tracker.services.sight import Sight
from tracker.services.unit_view import show_unit

EXAMPLES: Final = (
    "Examples:\n\nhardstand paper release CSQU3054383 --out release.pdf\n\n"
    "hardstand paper acknowledgement CSQU3054383 --out told.pdf\n\n"
    "hardstand paper collection K7QM-4XRT-92HB --out release.pdf\n\n"
    "hardstand paper interchange 0190f4c2-7b1e-7c3a-8d52-3a1b2c4d5e6f --out receipt.pdf"
)

_Mark = Annotated[str, typer.Argument(help="Any mark it ever bore, a tag #DEPOT/TAG, or its id.")]
_Out = Annotated[Path, typer.Option("--out", dir_okay=False, help="The PDF to write.")]


def make_paper_group() -> typer.Typer:
    """Return the commands that write papers."""
    group = typer.Typer(
        name="paper",
        no_args_is_help=True,
        help="Write a paper as PDF, with a code that leads to the record.",
        epilog=EXAMPLES,
    )
    group.command()(interchange)
    group.command()(release)
    group.command()(acknowledgement)
    group.command()(collection)
    return group


def interchange(
    ctx: typer.Context,
    event: Annotated[UUID, typer.Argument(help="The id of the gate-in or the gate-out.")],
    *,
    out: _Out,
) -> None:
    """Write the interchange receipt of one arrival or departure."""
    with services(ctx) as running:
        receipt = receipt_of(running.context(Role.WEB), Sight(None), event)
    keep(interchange_pdf(receipt), out)


def release(ctx: typer.Context, mark: _Mark, *, out: _Out) -> None:
    """Write the release note of a unit: its collection reference, or what is not met.

    Fine when it releases the unit.
    """
    with services(ctx) as running:
        context = running.context(Role.WEB)
        note = note_of(context, show_unit(context, mark))
    keep(release_note_pdf(note), out)
    end(well=note.may_leave)


def acknowledgement(ctx: typer.Context, mark: _Mark, *, out: _Out) -> None:
    """Write what the buyer of a unit sold for storage signs to have been told."""
    with services(ctx) as running:
        context = running.context(Role.WEB)
        paper = acknowledgement_of(context, show_unit(context, mark))
    keep(acknowledgement_pdf(paper), out)


def collection(
    ctx: typer.Context,
    reference: Annotated[str, typer.Argument(help="The collection reference.")],
    *,
    out: _Out,
) -> None:
    """Write the release note of a collection reference that an order by quantity has given.

    Fine while anything may be collected on it.
    """
    with services(ctx) as running:
        paper = collection_note_by(running.context(Role.WEB), Sight(None), reference)
    keep(collection_note_pdf(paper), out)
    end(well=paper.left > 0)
