"""How long code is: lines that are not blank, comment or docstring."""

from __future__ import annotations

import ast
import io
import tokenize
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

_DOCUMENTED = ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef
_SILENT = {
    tokenize.COMMENT,
    tokenize.NL,
    tokenize.NEWLINE,
    tokenize.INDENT,
    tokenize.DEDENT,
    tokenize.ENCODING,
    tokenize.ENDMARKER,
}


def code_lines(source: str) -> set[int]:
    """Return the numbers of the lines that hold code."""
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    spoken = {
        line
        for token in tokens
        if token.type not in _SILENT
        for line in range(token.start[0], token.end[0] + 1)
    }
    return spoken - _docstring_lines(ast.parse(source))


def functions(tree: ast.Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Give every function and method, nested ones included."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def gives_reason(node: ast.Module | ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """Tell whether a docstring says why its code is long."""
    return "Long because" in (ast.get_docstring(node) or "")


def _docstring_lines(tree: ast.Module) -> set[int]:
    lines: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, _DOCUMENTED) and ast.get_docstring(node) is not None:
            docstring = node.body[0]
            lines.update(range(docstring.lineno, (docstring.end_lineno or 0) + 1))
    return lines
