"""Making the first user, and keys for machines, at a shell."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

import pytest

from shared.addresses import Role as DatabaseRole
from tests.support.command_line import CommandLine
from tracker.services import keys, sign_in
from tracker.services.context import Context
from tracker.services.sign_in import SignInRefusedError

PASSWORD = "grey kettle on the seventh step"


@pytest.fixture
def web(shell: CommandLine) -> Iterator[Context]:
    with shell.means.running() as running, contextlib.closing(running):
        yield running.context(DatabaseRole.WEB)


def test_person_made_at_the_shell_can_sign_in(shell: CommandLine, web: Context) -> None:
    add = ("account", "add", "Ada", "--shown-as", "Ada Quill", "--role", "*:manager")
    asked = shell.run(*add, given=f"{PASSWORD}\n{PASSWORD}\n")
    assert asked.exit_code == 0, asked.output
    assert PASSWORD not in asked.output
    signed_in = sign_in.sign_in(web, "ada", PASSWORD, "192.0.2.1")
    assert signed_in.person.shown_as == "Ada Quill"
    assert shell.ask("account", "list") == [
        {"name": "ada", "shown_as": "Ada Quill", "roles": ["*:manager"]}
    ]
    assert "Ada Quill" in shell.run("account", "list").stdout
    assert shell.run("account", "end-sessions", "ada").stdout == "1 sessions ended.\n"
    assert sign_in.find_person(web, signed_in.token) is None


def test_password_and_roles_are_changed_at_the_shell(shell: CommandLine, web: Context) -> None:
    add = ("account", "add", "ada", "--role", "NORTH:gate", "--password-stdin")
    assert shell.run(*add, given=f"{PASSWORD}\n").exit_code == 0
    changed = shell.run(
        "account", "password", "ada", "--password-stdin", given="another long one\n"
    )
    assert changed.exit_code == 0
    with pytest.raises(SignInRefusedError):
        sign_in.sign_in(web, "ada", PASSWORD, "192.0.2.1")
    assert shell.run("account", "roles", "ada", "--role", "SOUTH:sales").exit_code == 0
    (person,) = shell.ask("account", "list")
    assert person == {"name": "ada", "shown_as": "ada", "roles": ["SOUTH:sales"]}


@pytest.mark.parametrize(
    ("words", "given", "says"),
    [
        (("add", "ada", "--role", "NORTH:boss"), PASSWORD, "'NORTH:boss' is no role at a depot"),
        (("add", "ada", "--role", "north:gate"), PASSWORD, "'north:gate' is no role at a depot"),
        (("add", "a b", "--role", "NORTH:gate"), PASSWORD, "'a b' is no sign-in name"),
        (("add", "bea", "--role", "NORTH:gate"), PASSWORD, "name 'bea' already"),
        (("add", "ada", "--role", "NORTH:gate"), "short", "The password has 5 characters"),
        (("password", "ada"), PASSWORD, "no account with the name 'ada'"),
    ],
)
def test_wrong_accounts_are_refused_with_what_is_wrong(
    shell: CommandLine, words: tuple[str, ...], given: str, says: str
) -> None:
    bea = ("account", "add", "bea", "--role", "NORTH:gate", "--password-stdin")
    shell.run(*bea, given=f"{PASSWORD}\n")
    result = shell.run("account", *words, "--password-stdin", given=f"{given}\n")
    assert result.exit_code == 1
    assert says in result.stderr
    assert [one["name"] for one in shell.ask("account", "list")] == ["bea"]


def test_key_is_printed_once_and_opens_until_it_is_removed(
    shell: CommandLine, web: Context
) -> None:
    assert shell.ask("key", "list") == []
    made = shell.run("key", "add", "scales", "--scope", "report", "--depot", "NORTH")
    assert made.exit_code == 0, made.output
    key = made.stdout.strip()
    machine = keys.find_machine(web, key)
    assert machine is not None
    assert machine.name == "scales"
    assert shell.ask("key", "list") == [
        {"name": "scales", "scopes": ["report"], "depots": ["NORTH"]}
    ]
    assert key not in shell.run("key", "list").output
    assert shell.run("key", "remove", "scales").exit_code == 0
    assert keys.find_machine(web, key) is None
    assert shell.run("key", "remove", "scales").exit_code == 1
    wrong = shell.run("key", "add", "scales", "--scope", "report", "--depot", "north")
    assert wrong.exit_code == 2
