"""Write the page that lists every setting, from the settings themselves."""

from __future__ import annotations

import sys
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING

from shared.settings import PREFIX, Settings

if TYPE_CHECKING:
    from pydantic.fields import FieldInfo

_HEAD = """\
# Settings

Each is read from the environment when a process starts. None needs to be set. A name with the
prefix that is not listed here is refused. This page is made by `make docs`.

| name | if not set | meaning |
|---|---|---|
"""


def render() -> str:
    """Return the page as Markdown, one row per setting in the order of the code."""
    rows = [_row(name, field) for name, field in Settings.model_fields.items()]
    return _HEAD + "\n".join(rows) + "\n"


def _row(name: str, field: FieldInfo) -> str:
    return f"| `{PREFIX}{name.upper()}` | {_show(field.default)} | {field.description} |"


def _show(default: object) -> str:
    match default:
        case None:
            return "none"
        case tuple():
            return f"`{','.join(map(str, default))}`"
        case Enum():
            return f"`{default.value}`"
        case _:
            return f"`{default}`"


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(render(), encoding="utf-8")
