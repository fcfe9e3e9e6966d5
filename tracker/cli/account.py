"""`account` and `key`: who may sign in, and which machines come with a key."""

from __future__ import annotations

import sys
from typing import Annotated, Final

import typer
from pydantic import TypeAdapter, ValidationError

from schemas.events.base import Depot
from shared.addresses import Role
from tracker.cli.means import services
from tracker.cli.output import AsJson, say, write_json_list, write_table
from tracker.services import accounts, keys
from tracker.services.actor import EVERY_DEPOT, Scope

_DEPOT: Final[TypeAdapter[str]] = TypeAdapter(Depot)

_Name = Annotated[str, typer.Argument(help="The name typed at sign-in.")]
_Grants = Annotated[
    list[str],
    typer.Option("--role", help="DEPOT:ROLE, such as NORTH:gate or *:manager; once per role."),
]
_FromInput = Annotated[
    bool, typer.Option("--password-stdin", help="Read the password from standard input.")
]


def make_account_group() -> typer.Typer:
    """Return the commands about people's accounts."""
    group = typer.Typer(name="account", no_args_is_help=True, help="Who may sign in.")
    group.command(
        "add",
        epilog="Example:\n\nhardstand account add ada --shown-as 'Ada Quill' --role '*:manager'",
    )(add_account)
    group.command("list")(list_accounts)
    group.command("roles", epilog="Example:\n\nhardstand account roles ada --role NORTH:gate")(
        set_roles
    )
    group.command("password")(set_password)
    group.command("end-sessions")(end_sessions)
    group.command("unlink")(unlink)
    return group


def make_key_group() -> typer.Typer:
    """Return the commands about machines' keys."""
    group = typer.Typer(name="key", no_args_is_help=True, help="Machines that come with a key.")
    group.command(
        "add", epilog="Example:\n\nhardstand key add weighbridge --scope report --depot NORTH"
    )(add_key)
    group.command("list")(list_keys)
    group.command("remove")(remove_key)
    return group


def add_account(
    ctx: typer.Context,
    name: _Name,
    *,
    shown_as: Annotated[str, typer.Option(help="The full name, as reporter of events.")] = "",
    role: _Grants,
    password_stdin: _FromInput = False,
) -> None:
    """Make an account for one person; asks for the password."""
    grants = [accounts.parse_grant(text) for text in role]
    password = _ask_password(from_input=password_stdin)
    with services(ctx) as running:
        person = accounts.add_account(
            running.context(Role.WEB),
            name,
            shown_as=shown_as,
            password=password,
            grants=grants,
        )
    say(f"{person.name} may sign in.")


def list_accounts(ctx: typer.Context, *, as_json: AsJson = False) -> None:
    """List who may sign in, with their roles."""
    with services(ctx) as running:
        people = accounts.list_accounts(running.context(Role.WEB))
    rows = [
        {
            "name": person.name,
            "shown_as": person.shown_as,
            "roles": sorted(f"{grant.depot}:{grant.role}" for grant in person.grants),
        }
        for person in people
    ]
    if as_json:
        write_json_list(rows)
        return
    shown = [(one["name"], one["shown_as"], one["roles"]) for one in rows]
    write_table(("Name", "Shown as", "Roles"), shown, none="Nobody may sign in yet.")


def set_roles(ctx: typer.Context, name: _Name, *, role: _Grants) -> None:
    """Let a person have exactly these roles, from their next click on."""
    grants = [accounts.parse_grant(text) for text in role]
    with services(ctx) as running:
        accounts.set_grants(running.context(Role.WEB), name, grants)


def set_password(ctx: typer.Context, name: _Name, *, password_stdin: _FromInput = False) -> None:
    """Give a person a new password; ends their sessions."""
    password = _ask_password(from_input=password_stdin)
    with services(ctx) as running:
        ended = accounts.set_password(running.context(Role.WEB), name, password)
    say(f"{ended} sessions ended.")


def end_sessions(ctx: typer.Context, name: _Name) -> None:
    """Sign a person out everywhere."""
    with services(ctx) as running:
        ended = accounts.end_sessions(running.context(Role.WEB), name)
    say(f"{ended} sessions ended.")


def unlink(ctx: typer.Context, name: _Name) -> None:
    """Let whoever has a person's mail address now sign in by it; ends their sessions."""
    with services(ctx) as running:
        ended = accounts.unlink(running.context(Role.WEB), name)
    say(f"{ended} links to an OpenID provider forgotten.")


def add_key(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(help="What the key is for.")],
    *,
    scope: Annotated[list[Scope], typer.Option(help="What it opens; once per scope.")],
    depot: Annotated[list[str], typer.Option(help="For which depot, or * for all; repeatable.")],
) -> None:
    """Make a key and print it, this once."""
    for code in depot:
        _check_depot(code)
    with services(ctx) as running:
        context = running.context(Role.WEB)
        typer.echo(keys.add_key(context, name, scopes=scope, depots=depot))


def list_keys(ctx: typer.Context, *, as_json: AsJson = False) -> None:
    """List the machines that have a key; the keys themselves are kept nowhere."""
    with services(ctx) as running:
        machines = keys.list_keys(running.context(Role.WEB))
    rows = [
        {"name": one.name, "scopes": sorted(one.scopes), "depots": sorted(one.depots)}
        for one in machines
    ]
    if as_json:
        write_json_list(rows)
        return
    shown = [(one["name"], one["scopes"], one["depots"]) for one in rows]
    write_table(("Name", "Opens", "Depots"), shown, none="No machine has a key.")


def remove_key(ctx: typer.Context, name: Annotated[str, typer.Argument(help="Its name.")]) -> None:
    """Remove a key; it opens nothing from now on."""
    with services(ctx) as running:
        keys.remove_key(running.context(Role.WEB), name)


def _ask_password(*, from_input: bool) -> str:
    """Return a new password, never taken from the arguments, which other users can see."""
    if from_input:
        return sys.stdin.readline().rstrip("\r\n")
    typed: str = typer.prompt("Password", hide_input=True, confirmation_prompt=True)
    return typed


def _check_depot(code: str) -> None:
    if code == EVERY_DEPOT:
        return
    try:
        _DEPOT.validate_python(code)
    except ValidationError:
        raise typer.BadParameter(
            f"{code!r} is no depot code: 2 to 16 capital letters, digits and hyphens, or *."
        ) from None
