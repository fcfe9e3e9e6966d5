"""`depot` and `contact`: the house's depots, and who gets which mail."""

from __future__ import annotations

from typing import Annotated, Final

import typer
from pydantic import TypeAdapter, ValidationError

from schemas.events.base import Depot
from shared.addresses import Role
from tracker.cli.depot_time import DepotTime
from tracker.cli.means import services
from tracker.cli.output import AsJson, end, write_json_list, write_table
from tracker.services import keep_house, listings, on_duty

_DEPOT: Final[TypeAdapter[str]] = TypeAdapter(Depot)

_Code = Annotated[str, typer.Argument(metavar="DEPOT", help="Code of the depot, or * for all.")]
_Role = Annotated[str, typer.Argument(help="Such as manager or workshop.")]
_Address = Annotated[str, typer.Argument(help="The mail address.")]


def make_depot_group() -> typer.Typer:
    """Return the commands about depots."""
    group = typer.Typer(name="depot", no_args_is_help=True, help="The house's depots.")
    group.command("set", epilog="Example:\n\nhardstand depot set NORTH 'North yard' Europe/Lisbon")(
        set_depot
    )
    group.command("list")(list_depots)
    return group


def make_contact_group() -> typer.Typer:
    """Return the commands about who gets mail."""
    group = typer.Typer(name="contact", no_args_is_help=True, help="Who gets which mail.")
    group.command(
        "add", epilog="Example:\n\nhardstand contact add NORTH manager ada@example.org --name Ada"
    )(add_contact)
    group.command("remove")(remove_contact)
    group.command("list")(list_contacts)
    group.command(
        "on-duty",
        epilog="Example:\n\nhardstand contact on-duty NORTH tom@example.org --name Tom --by Ada",
    )(put_on_duty)
    group.command("off-duty")(take_off_duty)
    group.command("duties")(list_duties)
    return group


def set_depot(
    ctx: typer.Context,
    code: Annotated[str, typer.Argument(help="Capital letters, digits and hyphens.")],
    name: Annotated[str, typer.Argument(help="Its name.")],
    zone: Annotated[str, typer.Argument(help="Its time zone, such as Europe/Lisbon.")],
) -> None:
    """Make a depot known, or change its name and its time zone."""
    _check_code(code)
    with services(ctx) as running:
        keep_house.set_depot(running.context(Role.WEB), code, name, zone)


def list_depots(ctx: typer.Context, *, as_json: AsJson = False) -> None:
    """List the depots."""
    with services(ctx) as running:
        rows = listings.depots(running.context(Role.WEB))
    if as_json:
        write_json_list(rows)
        return
    shown = [(one["code"], one["name"], one["zone"]) for one in rows]
    write_table(("Depot", "Name", "Zone"), shown, none="No depot is known.")


def add_contact(
    ctx: typer.Context,
    depot: _Code,
    role: _Role,
    address: _Address,
    *,
    name: Annotated[str | None, typer.Option(help="Whose address it is.")] = None,
) -> None:
    """Let an address get the mail of a role at a depot."""
    if depot != "*":
        _check_code(depot)
    if "@" not in address:
        raise typer.BadParameter(f"{address!r} is no mail address.")
    with services(ctx) as running:
        keep_house.set_contact(running.context(Role.WEB), depot, role, address, name)


def remove_contact(ctx: typer.Context, depot: _Code, role: _Role, address: _Address) -> None:
    """Take an address away; status 1 when it was not there."""
    with services(ctx) as running:
        was_there = keep_house.remove_contact(running.context(Role.WEB), depot, role, address)
    end(well=was_there)


def list_contacts(ctx: typer.Context, *, as_json: AsJson = False) -> None:
    """List who gets which mail."""
    with services(ctx) as running:
        rows = listings.contacts(running.context(Role.WEB))
    if as_json:
        write_json_list(rows)
        return
    shown = [(one["depot"], one["role"], one["address"], one["name"]) for one in rows]
    write_table(("Depot", "Role", "Address", "Name"), shown, none="Nobody gets mail yet.")


def put_on_duty(
    ctx: typer.Context,
    depot: _Code,
    address: _Address,
    *,
    by: Annotated[str, typer.Option(help="Who says so.")],
    name: Annotated[str | None, typer.Option(help="Whose address it is.")] = None,
) -> None:
    """Put somebody on duty: breaches and new questions are mailed to them at once."""
    with services(ctx) as running:
        on_duty.begin(running.context(Role.WEB), depot, address, name=name, by=by)


def take_off_duty(ctx: typer.Context, depot: _Code, address: _Address) -> None:
    """Take somebody off duty; status 1 when they were not on."""
    with services(ctx) as running:
        was_on = on_duty.end(running.context(Role.WEB), depot, address)
    end(well=was_on)


def list_duties(ctx: typer.Context, *, as_json: AsJson = False) -> None:
    """List who is on duty, since when, and who said so."""
    with services(ctx) as running:
        context = running.context(Role.WEB)
        rows = on_duty.list_all(context)
        time = DepotTime.of(context)
    if as_json:
        write_json_list(rows)
        return
    shown = [
        (
            one["depot"],
            one["address"],
            one["name"],
            time.moment(one["since"], one["depot"]),
            one["set_by"],
        )
        for one in rows
    ]
    headings = ("Depot", "Address", "Name", "Since", "Said by")
    write_table(headings, shown, none="Nobody is on duty: the manager is told.")
    time.write_zones()


def _check_code(code: str) -> None:
    try:
        _DEPOT.validate_python(code)
    except ValidationError:
        raise typer.BadParameter(
            f"{code!r} is no depot code: 2 to 16 capital letters, digits and hyphens."
        ) from None
