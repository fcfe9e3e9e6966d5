"""Past these sizes a file or function says in its docstring why: "Long because ..."."""

import ast
from pathlib import Path

import pytest

from tests.support.code_lines import code_lines, functions, gives_reason

ROOT = Path(__file__).parents[2]
PACKAGES = ("deploy", "workers", "tracker", "schemas", "shared", "tests")
LONGEST_FILE = 300
LONGEST_TESTS = 450
LONGEST_FUNCTION = 50
LONGEST_TEMPLATE = 150


def python_files() -> list[str]:
    paths = [path for package in PACKAGES for path in (ROOT / package).rglob("*.py")]
    names = sorted(str(path.relative_to(ROOT)) for path in paths)
    # A migration is as long as what it changes, and never touched again.
    return [name for name in names if "/migrations/versions/" not in name]


def limit_of(name: str) -> int:
    return LONGEST_TESTS if name.startswith("tests/") else LONGEST_FILE


def test_there_is_something_to_measure() -> None:
    assert len(python_files()) > 20


@pytest.mark.parametrize("name", python_files())
def test_file_is_short_or_says_why_not(name: str) -> None:
    source = (ROOT / name).read_text(encoding="utf-8")
    length = len(code_lines(source))
    assert length <= limit_of(name) or gives_reason(ast.parse(source)), f"{length} code lines"


@pytest.mark.parametrize("name", python_files())
def test_functions_are_short_or_say_why_not(name: str) -> None:
    source = (ROOT / name).read_text(encoding="utf-8")
    spoken = code_lines(source)
    too_long = {
        function.name: length
        for function in functions(ast.parse(source))
        if not gives_reason(function)
        and (length := len(spoken & set(range(function.lineno, (function.end_lineno or 0) + 1))))
        > LONGEST_FUNCTION
    }
    assert too_long == {}


def test_templates_are_short() -> None:
    templates = (ROOT / "tracker").rglob("*.html")
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for path in templates
    }
    assert {name: length for name, length in lengths.items() if length > LONGEST_TEMPLATE} == {}


def test_code_lines_leaves_out_blanks_comments_and_docstrings() -> None:
    source = (
        '"""Doc\n\nmore."""\n\n# why\nx = """a\nb"""\n\n\ndef f():\n    """Doc."""\n    return 1\n'
    )
    assert code_lines(source) == {6, 7, 10, 12}


def test_gives_reason_wants_the_words_in_the_docstring() -> None:
    assert gives_reason(ast.parse('"""Tables. Long because they belong together."""'))
    assert not gives_reason(ast.parse('"""Tables."""\n# Long because I say so'))
