"""What a form of a page sends, as a browser without script would."""

from __future__ import annotations

import re
from html import unescape

_UNSENT = frozenset({"file", "submit"})


def form_of(page: str, name: str) -> dict[str, list[str]]:
    """Return what the form with an id sends when nobody touches it; of inputs, no other fields."""
    found = re.search(rf'<form[^>]*id="{name}".*?</form>', page, re.S)
    assert found is not None, f"no form {name}"
    sent: dict[str, list[str]] = {}
    for field in re.findall(r"<input[^>]*>", found.group()):
        said = {key: unescape(value) for key, value in re.findall(r'([\w-]+)="([^"]*)"', field)}
        kind = said.get("type", "text")
        is_sent = kind not in _UNSENT and (kind != "checkbox" or re.search(r"\bchecked\b", field))
        if is_sent and said["name"] != "csrf_token":
            sent.setdefault(said["name"], []).append(said.get("value", ""))
    return sent
