"""Whether a page can be used by everybody, as the axe engine sees it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from axe_playwright_python.sync_playwright import Axe

if TYPE_CHECKING:
    from playwright.sync_api import Page

_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_OPTIONS = {"resultTypes": ["violations"], "runOnly": {"type": "tag", "values": _TAGS}}
_SERIOUS = ("serious", "critical")


def find_barriers(page: Page) -> list[str]:
    """Return what is serious or critical of what axe finds on the page, each in a line."""
    found = Axe().run(page, options=_OPTIONS).response["violations"]
    return [
        f"{one['id']}: {node['html'][:200]} ({node['failureSummary'][:300]})"
        for one in found
        if one["impact"] in _SERIOUS
        for node in one["nodes"]
    ]
