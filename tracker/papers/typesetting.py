"""PDF pages out of a template and values, by the typst library. The same values, the same bytes.

What people wrote goes in as JSON and comes out as text: a template never takes a value for markup
or code. Fonts come with the Python packages, none from the machine, and nothing is fetched.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import datetime
from functools import cache, lru_cache
from importlib import resources
from io import BytesIO
from pathlib import Path
from typing import Any, Final

import segno
import typst

from shared.errors import HardstandError
from shared.legible import legible

_PICTURES: Final = {b"\x89PNG\r\n\x1a\n": "png", b"\xff\xd8\xff": "jpg", b"GIF8": "gif"}
_LONGEST_WORD: Final = 28
_UNBROKEN: Final = re.compile(rf"\S{{{_LONGEST_WORD},}}")
_PIECE: Final = 14
_MAY_BREAK: Final = "\u200b"


class PaperError(HardstandError):
    """A template could not be set; carries the template's name."""

    def __init__(self, template: str, fault: str) -> None:
        self.template = template
        super().__init__(
            f"The paper {template!r} could not be set: {fault}",
            remedy="Report it with the unit's mark; the record itself is not touched",
        )


def typeset(template: str, values: Mapping[str, Any], made_at: datetime) -> bytes:
    """Return the PDF of a template, dated inside with the moment the paper speaks of.

    Args:
        template: Name of a file in `templates`, without its ending.
        values: What the template asks for: texts, numbers, lists, mappings, and bytes of pictures.
        made_at: The moment on the paper, with its zone; a PDF keeps whole seconds.

    Raises:
        PaperError: the template and its values do not fit.
    """
    try:
        return typst.compile(
            _templates() / f"{template}.typ",
            root=_templates(),
            font_paths=_fonts(),
            sys_inputs={"data": json.dumps(_plain(values))},
            format="pdf",
            timestamp=int(made_at.timestamp()),
        )
    except RuntimeError as fault:
        raise PaperError(template, str(fault)) from fault


def qr_code(address: str) -> bytes:
    """Return a QR code as an SVG picture that leads to an address, readable with an eighth lost."""
    drawn = BytesIO()
    segno.make(address, error="m", micro=False).save(
        drawn, kind="svg", border=4, xmldecl=False, light="#fff"
    )
    return drawn.getvalue()


def picture(content: bytes | None) -> dict[str, Any] | None:
    """Return a picture as templates take it; None when there is none or it cannot be shown."""
    if content is None:
        return None
    kind = next((kind for head, kind in _PICTURES.items() if content.startswith(head)), None)
    if kind is None:
        return None
    return {"kind": kind, "content": content} if _opens(content, kind) else None


# A paper asks more than once about its one photo, and asking costs as much as setting it.
@lru_cache(maxsize=4)
def _opens(content: bytes, kind: str) -> bool:
    try:
        typst.compile(
            b"#let d = json(bytes(sys.inputs.data))\n#image(bytes(d.content), format: d.kind)",
            font_paths=_fonts(),
            sys_inputs={"data": json.dumps({"kind": kind, "content": list(content)})},
        )
    except RuntimeError:
        return False
    return True


def clean(text: str) -> str:
    """Return a text that can be set: no control characters, and words that find a line's end."""
    return _UNBROKEN.sub(_with_breaks, legible(text))


def _with_breaks(word: re.Match[str]) -> str:
    text = word[0]
    return _MAY_BREAK.join(text[at : at + _PIECE] for at in range(0, len(text), _PIECE))


def _plain(value: Any) -> Any:  # noqa: ANN401 - any JSON value
    if isinstance(value, str):
        return clean(value)
    if isinstance(value, bytes):
        return list(value)
    if isinstance(value, Mapping):
        return {key: _plain(held) for key, held in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(held) for held in value]
    return value


@cache
def _fonts() -> typst.Fonts:
    folder = Path(str(resources.files("font_source_sans_pro") / "files"))
    return typst.Fonts(include_system_fonts=False, font_paths=[folder])


@cache
def _templates() -> Path:
    return Path(str(resources.files("tracker.papers") / "templates"))
