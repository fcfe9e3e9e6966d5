"""`catalogue`: the work that the house does, and what it says of each piece of it."""

from __future__ import annotations

from typing import Annotated, Any, Final

import typer
from pydantic import TypeAdapter, ValidationError

from schemas.work_items import ListedWork, WorkName, WorkTerms
from shared.addresses import Role
from shared.work import ApprovalEffect, ReportedAs
from tracker.cli.means import services
from tracker.cli.output import AsJson, say, write_json, write_json_list, write_table
from tracker.services import catalogue

_NAME: Final[TypeAdapter[str]] = TypeAdapter(WorkName)

_Work = Annotated[str, typer.Argument(metavar="WORK", help="Its name, such as louvre-vent.")]
_Kilograms = Annotated[int | None, typer.Option(min=0, max=999_999, metavar="KG")]


def make_catalogue_group() -> typer.Typer:
    """Return the commands about the catalogue of work."""
    group = typer.Typer(
        name="catalogue", no_args_is_help=True, help="The work that the house does."
    )
    group.command("list")(list_work)
    group.command(
        "set",
        epilog="Examples:\n\nhardstand catalogue set louvre-vent --mass-kg 4 --price 52.50\n\n"
        "hardstand catalogue set hatch --words 'Hatch in the roof' --mass-kg 18 "
        "--cuts 'an opening in the roof panel' --cut-out-kg 7",
    )(set_work)
    group.command("remove")(remove_work)
    return group


def list_work(ctx: typer.Context, *, as_json: AsJson = False) -> None:
    """List the work that the house does: masses, labour, price, what it does to the approval."""
    with services(ctx) as running:
        items = catalogue.list_work(running.context(Role.WEB))
    if as_json:
        write_json_list(item.model_dump(mode="json") for item in items)
        return
    headings = ("Work", "What", "kg", "Cuts", "kg out", "Min", "Price", "Approval", "Certificate")
    write_table(headings, map(_row, items), none="The catalogue is empty.")


def set_work(  # noqa: PLR0913 - one argument per option of the command
    ctx: typer.Context,
    work: _Work,
    *,
    words: Annotated[str | None, typer.Option(help="What it is; needed for new work.")] = None,
    mass_kg: _Kilograms = None,
    cuts: Annotated[str | None, typer.Option(help="The steel taken out, and where.")] = None,
    cut_out_kg: _Kilograms = None,
    permanent: Annotated[
        bool | None, typer.Option("--permanent/--loose", help="Whether the tare counts it.")
    ] = None,
    labour_min: Annotated[int | None, typer.Option(min=0, metavar="MINUTES")] = None,
    price: Annotated[str | None, typer.Option(help="Of one piece, without tax: 52.50")] = None,
    approval_effect: Annotated[
        ApprovalEffect | None, typer.Option(help="Left out, new work that cuts asks.")
    ] = None,
    caution: Annotated[str | None, typer.Option(help="Words that stand beside it.")] = None,
    certificate: Annotated[str | None, typer.Option(help="What must come with it.")] = None,
    reported_as: Annotated[ReportedAs | None, typer.Option(help="How it is told done.")] = None,
    as_json: AsJson = False,
) -> None:
    """Change work in the catalogue, or add some; what no option names stays as it is."""
    given = {
        "words": words,
        "mass_kg": mass_kg,
        "cuts": cuts,
        "cut_out_kg": cut_out_kg,
        "permanent": permanent,
        "labour_min": labour_min,
        "price": price,
        "approval_effect": approval_effect,
        "caution": caution,
        "certificate": certificate,
        "reported_as": reported_as,
    }
    changes = {name: value for name, value in given.items() if value is not None}
    name = _read_name(work)
    with services(ctx) as running:
        context = running.context(Role.WEB)
        item = catalogue.put(context, name, _changed(catalogue.find_terms(context, name), changes))
    if as_json:
        write_json(item.model_dump(mode="json"))
    else:
        say(f"{item.name}: {item.words}, approval {item.approval_effect}.")


def remove_work(ctx: typer.Context, work: _Work) -> None:
    """Take work out of the catalogue; what was reported with it stays."""
    with services(ctx) as running:
        catalogue.remove(running.context(Role.WEB), work)


def _read_name(work: str) -> str:
    try:
        return _NAME.validate_python(work)
    except ValidationError:
        raise typer.BadParameter(
            f"{work!r} is no name of work: 2 to 40 small letters, digits and hyphens."
        ) from None


def _changed(known: WorkTerms | None, changes: dict[str, Any]) -> WorkTerms:
    """Return the terms with the changes; cutting that is new asks the approving body by itself."""
    if known is None and "words" not in changes:
        raise typer.BadParameter(
            "The catalogue does not know this work yet: say what it is (--words)."
        )
    said = {} if known is None else known.model_dump()
    if "cuts" in changes and not said.get("cuts") and said.get("approval_effect") == "none":
        said["approval_effect"] = None
    try:
        return WorkTerms.model_validate(said | changes)
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_input=False)[0]
        raise typer.BadParameter(f"{first['loc'][0]}: {first['msg']}") from None


def _row(item: ListedWork) -> tuple[object, ...]:
    return (
        item.name,
        item.words,
        item.mass_kg if item.permanent else f"{item.mass_kg} loose",
        item.cuts,
        item.cut_out_kg or None,
        item.labour_min,
        item.price,
        item.approval_effect,
        item.certificate,
    )
