import pytest

from tests.support.command_line import CommandLine


def listed(shell: CommandLine) -> dict[str, dict[str, object]]:
    return {one["name"]: one for one in shell.ask("catalogue", "list")}


def test_list_shows_the_shipped_set(shell: CommandLine) -> None:
    vent = listed(shell)["louvre-vent"]
    assert (vent["mass_kg"], vent["price"], vent["approval_effect"]) == (3, "48.00", "ask")
    shown = shell.run("catalogue", "list").stdout
    assert "Louvre vent let into a panel" in shown
    assert "65 loose" in shown


def test_set_changes_what_is_named_and_nothing_else(shell: CommandLine) -> None:
    before = listed(shell)["louvre-vent"]
    shell.ask("catalogue", "set", "louvre-vent", "--mass-kg", "4", "--price", "52.5")
    after = listed(shell)["louvre-vent"]
    changed = {name for name, value in after.items() if value != before[name]}
    assert changed == {"mass_kg", "price", "source"}
    assert (after["mass_kg"], after["price"]) == (4, "52.50")


def test_set_adds_new_work_and_remove_takes_it_away(shell: CommandLine) -> None:
    words = ("--words", "Hatch in the roof", "--loose")
    assert shell.ask("catalogue", "set", "hatch", *words)["approval_effect"] == "none"
    cut = shell.ask("catalogue", "set", "hatch", "--cuts", "the roof panel", "--permanent")
    assert (cut["approval_effect"], cut["permanent"]) == ("ask", True)
    kept = shell.ask("catalogue", "set", "hatch", "--approval-effect", "none")
    assert kept["cuts"] == "the roof panel"
    assert listed(shell)["hatch"]["approval_effect"] == "none"
    assert shell.run("catalogue", "set", "hatch", "--labour-min", "90").exit_code == 0
    assert listed(shell)["hatch"]["approval_effect"] == "none"
    assert shell.run("catalogue", "remove", "hatch").exit_code == 0
    assert "hatch" not in listed(shell)
    assert shell.run("catalogue", "remove", "hatch").exit_code == 1


@pytest.mark.parametrize(
    "words",
    [
        ("hatch",),
        ("Hatch", "--words", "Hatch in the roof"),
        ("louvre-vent", "--price", "dear"),
        ("louvre-vent", "--price", "1.005"),
        ("louvre-vent", "--approval-effect", "perhaps"),
    ],
)
def test_set_wrong_usage_changes_nothing(shell: CommandLine, words: tuple[str, ...]) -> None:
    before = listed(shell)
    assert shell.run("catalogue", "set", *words).exit_code == 2
    assert listed(shell) == before
