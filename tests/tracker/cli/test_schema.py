import json

import pytest

from schemas.events.union import KINDS
from tests.support.command_line import CommandLine, GivenMeans


@pytest.fixture
def bare_shell() -> CommandLine:
    """A shell without any service: a schema needs none."""
    return CommandLine(GivenMeans(None, None))


@pytest.mark.parametrize("kind", KINDS)
def test_schema_of_a_kind_names_it_and_refuses_unknown_fields(
    bare_shell: CommandLine, kind: str
) -> None:
    told = json.loads(bare_shell.run("schema", kind).stdout)
    assert told["properties"]["kind"]["const"] == kind
    assert told["additionalProperties"] is False


def test_schema_of_all_events_tells_kinds_apart_by_kind(bare_shell: CommandLine) -> None:
    told = json.loads(bare_shell.run("schema").stdout)
    assert told["discriminator"]["propertyName"] == "kind"
    assert set(told["discriminator"]["mapping"]) == set(KINDS)


def test_schema_of_an_answer_is_published_too(bare_shell: CommandLine) -> None:
    told = json.loads(bare_shell.run("schema", "verdict").stdout)
    assert {"id", "verdict", "findings"} <= set(told["properties"])


def test_schema_of_an_unknown_kind_is_wrong_usage_and_names_the_known(
    bare_shell: CommandLine,
) -> None:
    result = bare_shell.run("schema", "teleport")
    assert result.exit_code == 2
    assert "gate-in" in result.stderr
