"""Fill a form of a rendered page with what was typed into it, so that nobody types it twice."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from html.parser import HTMLParser
from typing import Final, TypeAlias

from typing_extensions import override

_KEPT_AS_RENDERED: Final = frozenset({"hidden", "file", "submit", "button"})
_TICKED: Final = frozenset({"checkbox", "radio"})

_Attributes: TypeAlias = list[tuple[str, str | None]]


def refill(page: str, form_id: str, typed: Iterable[tuple[str, str]]) -> str:
    """Return a page with the fields of one form as a browser had sent them.

    Hidden fields stay as the page renders them; files cannot be filled in again.
    """
    filler = _Filler(form_id, typed)
    filler.feed(page)
    filler.close()
    return "".join(filler.out)


class _Filler(HTMLParser):
    """Copies a page, and writes what was typed into the fields of one form."""

    def __init__(self, form_id: str, typed: Iterable[tuple[str, str]]) -> None:
        super().__init__(convert_charrefs=False)
        self.out: list[str] = []
        self._form_id = form_id
        self._typed: dict[str, list[str]] = {}
        for name, value in typed:
            self._typed.setdefault(name, []).append(value)
        self._inside = False
        self._select = ""
        self._text_area = False

    @override
    def handle_starttag(self, tag: str, attrs: _Attributes) -> None:
        said = dict(attrs)
        if tag == "form":
            self._inside = said.get("id") == self._form_id
        if tag == "select":
            self._select = said.get("name") or ""
        written = self._filled(tag, said) if self._inside else None
        self.out.append(self.get_starttag_text() or "" if written is None else written)
        if self._inside and tag == "textarea":
            self.out.append(escape(self._first(said)))
            self._text_area = True

    @override
    def handle_startendtag(self, tag: str, attrs: _Attributes) -> None:
        self.handle_starttag(tag, attrs)

    @override
    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._inside = False
        if tag == "textarea":
            self._text_area = False
        self.out.append(f"</{tag}>")

    @override
    def handle_data(self, data: str) -> None:
        self._copy(data)

    @override
    def handle_entityref(self, name: str) -> None:
        self._copy(f"&{name};")

    @override
    def handle_charref(self, name: str) -> None:
        self._copy(f"&#{name};")

    @override
    def handle_comment(self, data: str) -> None:
        self._copy(f"<!--{data}-->")

    @override
    def handle_decl(self, decl: str) -> None:
        self._copy(f"<!{decl}>")

    def _copy(self, text: str) -> None:
        if not self._text_area:
            self.out.append(text)

    def _first(self, said: dict[str, str | None]) -> str:
        return self._typed.get(said.get("name") or "", [""])[0]

    def _filled(self, tag: str, said: dict[str, str | None]) -> str | None:
        """Return a tag as it is to stand, None where it stays as it is."""
        kind = said.get("type") or "text"
        if tag == "option":
            chosen = (said.get("value") or "") in self._typed.get(self._select, [""])
            return _write(tag, said, "selected", is_set=chosen)
        if tag != "input" or kind in _KEPT_AS_RENDERED:
            return None
        if kind in _TICKED:
            ticked = said.get("value") in self._typed.get(said.get("name") or "", [])
            return _write(tag, said, "checked", is_set=ticked)
        return _write(tag, said | {"value": self._first(said)}, "", is_set=False)


def _write(tag: str, said: dict[str, str | None], flag: str, *, is_set: bool) -> str:
    kept = {name: value for name, value in said.items() if name != flag}
    if is_set:
        kept[flag] = None
    told = "".join(
        f" {name}" if value is None else f' {name}="{escape(value)}"'
        for name, value in kept.items()
    )
    return f"<{tag}{told}>"
