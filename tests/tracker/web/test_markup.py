"""Whatever somebody writes into a report stands in no page as markup, wherever it is shown."""

from __future__ import annotations

import html
from typing import TYPE_CHECKING

import pytest

from tests.support.depot import OTHER, id_of, report
from tests.support.marks import make_mark
from tests.tracker.web.test_other_depot import asked, norths
from tracker.services.actor import Role

if TYPE_CHECKING:
    from tests.support.web import Site

__all__ = ["norths"]

HOSTILE = """<script>x()</script><b onload='y()'>"{{ 7*7 }}"""
TAGS = ("<script>x", "<b onload")
DAMAGE = {"component": "door-panel", "kind": "dented", "place": HOSTILE, "on_lorry": True}


@pytest.fixture
def written(site: Site, norths: dict[str, str]) -> dict[str, str]:
    """What NORTH has, written over with markup in all that is free text."""
    free, coming = make_mark("ZZZU300006"), make_mark("ZZZU300007")
    looked_at = report("inspection", OTHER, damages=[DAMAGE], note=HOSTILE)
    sale = report("sale", OTHER, buyer=HOSTILE, reference=HOSTILE, note=HOSTILE)
    order = report("order", None, buyer=HOSTILE, reference=HOSTILE, count=1, on_credit=True,
                   description={"length_ft": 20})  # fmt: skip
    came = {"purpose": "purchase", "haulier": HOSTILE, "vehicle": HOSTILE, "driver": HOSTILE,
            "seal": HOSTILE, "last_cargo": HOSTILE, "batch": norths["batch"]}  # fmt: skip
    sold = site.depot.show(OTHER).record["sale"]["id"]
    for events in (
        [report("gate-in", free, size_type="22G1", note=HOSTILE, **came)],
        [report("inspection", free, condition="wind-and-watertight")],
        [report("pre-advice", coming, batch=norths["batch"], supplier=HOSTILE)],
        [looked_at, report("complaint", OTHER, about=HOSTILE)],
        [report("survey", OTHER, by=HOSTILE, certificate=HOSTILE)],
        [report("cancellation", OTHER, cancels=sold, reason=HOSTILE)],
        [sale, order],
        [report("hold", OTHER, hold="do-not-lift", reason=HOSTILE)],
    ):
        told = site.depot.record(*events)
        assert {one.state for one in told} == {"recorded"}, told
    changed = {"told": id_of(sale), "{order_id}": id_of(order), "{event_id}": id_of(looked_at)}
    return norths | changed


def test_no_page_takes_what_is_written_for_markup(site: Site, written: dict[str, str]) -> None:
    everything = site.person(*(f"*:{role}" for role in Role), shown_as=HOSTILE)
    everything.headers["Accept"] = "text/html"
    shown, broken = set(), set()
    for path, answer in asked(everything, written):
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        said = answer.text
        times = said.count(html.escape("<script>x"))
        # The name of who is signed in stands on most pages: what is shown besides counts.
        if times > 1:
            shown.add(path)
        if any(tag in said for tag in TAGS) or said.count("{{ 7*7 }}") < times:
            broken.add(path)
    assert broken == set()
    assert shown >= {
        "/units/{mark:path}", "/sales/deal", "/orders", "/orders/{order_id}",
        "/gate/departure", "/holds", "/corrections/{event_id}",
    }  # fmt: skip
