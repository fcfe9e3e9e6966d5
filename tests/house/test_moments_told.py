"""No page quotes a moment in UTC: what the record says is told in the depot's own time."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TEMPLATES = sorted((ROOT / "tracker/web/templates").rglob("*.html"))
SHOWN = re.compile(r"\{\{(.*?)\}\}")
QUOTES = re.compile(r"\.(?:message|asks)\b|\b(?:told_of|refused)\(")
NAMES_ZONE = re.compile(r"told\(.*zone|\b(?:told_of|refused)\([\w.]+, zone\)")


def untold(text: str) -> list[str]:
    """Return what a template shows of the record's sentences without naming a zone."""
    return [one for one in SHOWN.findall(text) if QUOTES.search(one) and not NAMES_ZONE.search(one)]


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.stem)
def test_sentences_of_the_record_are_told_in_a_zone(template: Path) -> None:
    assert untold(template.read_text(encoding="utf-8")) == []


def test_what_is_shown_without_a_zone_is_found() -> None:
    for shown in ("{{ found.message }}", "{{ one.asks | words }}", "{{ told_of(told) }}"):
        assert len(untold(f"<p>{shown}</p>")) == 1, shown
    for shown in ("{{ one.asks | told(zones.get(one.depot)) }}", "{{ told_of(told, zone) }}"):
        assert untold(f"<p>{shown}</p>") == [], shown
