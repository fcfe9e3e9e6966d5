"""docs/commands.md and the command line tell of the same commands and options."""

import re
from pathlib import Path

import pytest
from typer.main import get_command

from deploy.hardstand import make_hardstand

PAGE = (Path(__file__).parents[2] / "docs/commands.md").read_text(encoding="utf-8")
# Whose options the page leaves to their --help.
WORKSHEETS = {"siting", "airflow"}


def list_commands() -> dict[str, set[str]]:
    """Return every command as one types it, with its own options."""
    found = {}
    for name, command in get_command(make_hardstand()).commands.items():
        inside = dict(getattr(command, "commands", {}))
        if not inside or command.invoke_without_command:
            inside[""] = command
        for inner, one in inside.items():
            options = {
                option for param in one.params for option in param.opts if option[:2] == "--"
            }
            found[f"{name} {inner}".strip()] = options - {"--help"}
    return found


COMMANDS = list_commands()


def told_commands() -> set[str]:
    headings = [line for line in PAGE.splitlines() if line.startswith("### ")]
    spans = re.findall(r"`hardstand ([^`]+)`", "\n".join(headings))
    return {re.split(r" (?=[A-Z\[\-])", span)[0] for span in spans}


def test_page_tells_of_exactly_the_commands_there_are() -> None:
    assert told_commands() == set(COMMANDS)


@pytest.mark.parametrize("command", sorted(COMMANDS.keys() - WORKSHEETS))
def test_page_tells_of_every_option_under_its_command(command: str) -> None:
    heading = re.compile(rf".*`hardstand {command}(`| [A-Z\[\-])")
    sections = [part for part in PAGE.split("\n### ") if heading.match(part)]
    assert len(sections) == 1
    assert {option for option in COMMANDS[command] if option not in sections[0]} == set()


def test_every_command_says_what_it_does_first() -> None:
    for command in get_command(make_hardstand()).commands.values():
        assert command.help
        assert len(command.help.splitlines()[0]) <= 110
