"""Where things are: top level, names of modules, what an `__init__` may hold."""

import ast
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGES = ("deploy", "workers", "tracker", "schemas", "shared")
TOP_LEVEL = {
    *PACKAGES,
    "CHANGELOG.md",
    "DEVELOPERS.md",
    "Makefile",
    "README.md",
    "docs",
    "pyproject.toml",
    "requirements-run.lock",
    "requirements.lock",
    "tests",
}
SAYS_NOTHING = {"util", "utils", "helper", "helpers", "common", "misc", "manager", "managers"}


def tracked_files() -> list[str]:
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode != 0:
        pytest.skip("not a git work tree")
    return listed.stdout.splitlines()


def test_top_level_holds_only_what_a_newcomer_expects() -> None:
    names = {name.partition("/")[0] for name in tracked_files()}
    assert {name for name in names - TOP_LEVEL if not name.startswith(".")} == set()


def test_modules_are_named_for_what_they_hold() -> None:
    modules = [path for package in PACKAGES for path in (ROOT / package).rglob("*.py")]
    assert modules
    assert [path for path in modules if SAYS_NOTHING & set(path.stem.split("_"))] == []


def test_inits_hold_a_docstring_and_names_only() -> None:
    inits = [path for package in PACKAGES for path in (ROOT / package).rglob("__init__.py")]
    assert inits
    with_logic = {
        str(path.relative_to(ROOT)): type(statement).__name__
        for path in inits
        for statement in ast.parse(path.read_text(encoding="utf-8")).body
        if not is_plain(statement)
    }
    assert with_logic == {}


def is_plain(statement: ast.stmt) -> bool:
    if isinstance(statement, ast.Assign):
        return [ast.unparse(target) for target in statement.targets] == ["__all__"]
    if isinstance(statement, ast.Expr):
        return isinstance(statement.value, ast.Constant)
    return isinstance(statement, ast.Import | ast.ImportFrom)


def test_every_house_rule_is_tried_both_ways() -> None:
    rules = {path.stem for path in (ROOT / "tests/house/rules").glob("*.yml")}
    tried = (ROOT / "tests/house/rule-tests").glob("*.yml")
    with_both = {
        path.stem.removesuffix("-test")
        for path in tried
        if {"valid:", "invalid:"} <= set(path.read_text(encoding="utf-8").splitlines())
    }
    assert rules == with_both
    assert rules


LOCKS = ("requirements.lock", "requirements-run.lock")


def pins(name: str) -> list[str]:
    """Return the lines of a lock that pin a package."""
    lines = (ROOT / name).read_text(encoding="utf-8").splitlines()
    return [line for line in lines if "==" in line and not line.startswith(" ")]


def test_what_a_depot_installs_is_what_was_tested_and_no_more() -> None:
    everything, run = (set(pins(name)) for name in LOCKS)
    assert run < everything
    named = {line.partition("==")[0].partition("[")[0] for line in run}
    assert {"celery", "fastapi", "hatchling", "sqlalchemy"} <= named
    assert named & {"pytest", "ruff", "mypy", "playwright", "pgqueuer", "hypothesis"} == set()


@pytest.mark.parametrize("name", LOCKS)
def test_lock_names_no_host_and_checks_every_package(name: str) -> None:
    lock = (ROOT / name).read_text(encoding="utf-8")
    assert "://" not in lock
    pinned = pins(name)
    assert len(pinned) > 50
    assert lock.count("--hash=sha256:") >= len(pinned)
    assert [line for line in pinned if not line.endswith("\\")] == []
