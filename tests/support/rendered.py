"""Forms as a page renders them: where each goes, and what it sends when nobody touches it."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

from typing_extensions import override

_UNSENT = frozenset({"file", "submit", "button", "reset", "image"})


@dataclass(slots=True)
class Form:
    """A form, the values that it sends, and the further values that a choice in it offers."""

    action: str
    method: str = "get"
    is_multipart: bool = False
    fields: list[tuple[str, str]] = field(default_factory=list)
    choices: dict[str, list[str]] = field(default_factory=dict)
    files: list[str] = field(default_factory=list)
    """The names of its fields for files."""


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self._open: Form | None = None
        self._select = self._area = ""
        self._written: list[str] = []

    @override
    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        if tag == "form":
            multipart = said.get("enctype") == "multipart/form-data"
            self._open = Form(said.get("action", ""), said.get("method", "get").lower(), multipart)
            self.forms.append(self._open)
        elif self._open is not None:
            self._read(self._open, tag, said)

    @override
    def handle_data(self, data: str) -> None:
        if self._area:
            self._written.append(data)

    @override
    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea" and self._open is not None and self._area:
            self._open.fields.append((self._area, "".join(self._written)))
            self._area = ""
        elif tag == "select" and self._open is not None and self._select:
            chosen = [name for name, _ in self._open.fields if name == self._select]
            if not chosen and self._open.choices.get(self._select):
                self._open.fields.append((self._select, self._open.choices[self._select][0]))
            self._select = ""
        elif tag == "form":
            self._open = None

    def _read(self, form: Form, tag: str, said: dict[str, str]) -> None:
        name, value = said.get("name", ""), said.get("value", "")
        match tag:
            case "input" if name:
                self._read_input(form, name, said)
            case "button" if name:
                # Which of several is pressed decides: each is a choice, the first one is pressed.
                if name not in form.choices:
                    form.fields.append((name, value))
                form.choices.setdefault(name, []).append(value)
            case "select":
                self._select = name
            case "textarea":
                self._area, self._written = name, []
            case "option" if self._select:
                form.choices.setdefault(self._select, []).append(value)
                if "selected" in said:
                    form.fields.append((self._select, value))

    def _read_input(self, form: Form, name: str, said: dict[str, str]) -> None:
        kind, value = said.get("type", "text"), said.get("value", "")
        if kind == "file":
            form.files.append(name)
        elif kind in ("checkbox", "radio"):
            form.choices.setdefault(name, []).append(value or "on")
            if "checked" in said:
                form.fields.append((name, value or "on"))
        elif kind not in _UNSENT:
            form.fields.append((name, value))


def forms_of(page: str) -> list[Form]:
    """Return the forms of a page, in their order."""
    reader = _Reader()
    reader.feed(page)
    reader.close()
    return reader.forms
