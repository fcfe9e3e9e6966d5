"""No page of any role is wider than a phone's screen, and no place of the bar lies out of sight."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.browser.conftest import PHONE
from tests.browser.test_desks import ago, arrive
from tests.support.depot import BOX, OTHER, report
from tracker.services.actor import Role
from tracker.services.daily_round import make_rounds
from tracker.web.access import access_of
from tracker.web.app import ROUTERS
from tracker.web.pages.navigation import PLACES

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page

    from tests.browser.conftest import Device

_NO_PAGE = (
    *("/api/", "/capture/", "/live", "/metrics", "/health", "/ready"),
    *("/stock.csv", "/sign-in/"),
)
_TOO_WIDE = """() => {
  const widest = Math.min(innerWidth, document.documentElement.clientWidth);
  return [...document.querySelectorAll("body *")]
    .filter(one => one.getBoundingClientRect().right > widest + 1 && !one.closest(".scroll"))
    .filter(one => !one.closest(".unseen, .skip"))
    .map(one => `${one.tagName}.${one.className} ${one.textContent.trim().slice(0, 30)}`)
    .slice(0, 5);
}"""
_MAY_SCROLL = {"By size and condition, table", "Units side by side"}
"""Tables of two dimensions, which are read across; all else fits."""
_SCROLLS = """() => [...document.querySelectorAll(".scroll, .top nav")]
  .filter(one => one.scrollWidth > one.clientWidth + 1)
  .map(one => one.getAttribute("aria-label"))"""


def page_paths(device: Device) -> Iterator[tuple[str, frozenset[Role]]]:
    """Give the path of each page there is, filled with what the site knows, and whose it is."""
    depot = device.live.depot
    question = depot.one("SELECT id::text FROM questions LIMIT 1")
    arrival = depot.show(BOX).history[0]["id"]
    filled = {"{question_id}": question, "{event_id}": arrival, "{mark:path}": BOX}
    asked = {
        "/gate": ("", f"?mark={OTHER}"),
        "/gate/departure": ("", "?mark=30", f"?mark={BOX}&reference=COLLECT-71"),
        "/workshop/unit": (f"?name={BOX}", f"?name={OTHER}"),
        "/workshop/inspection": (f"?name={BOX}",),
        "/sales": ("", "?length=20&stands=sold"),
        "/sales/compare": (f"?unit={BOX}&unit={OTHER}",),
        "/sales/deal": (f"?unit={BOX}", f"?unit={OTHER}&use=export"),
        "/claims": (f"?unit={OTHER}",),
        "/holds": (f"?unit={BOX}",),
        "/work-orders": (f"?unit={BOX}",),
        "/orders": ("", "?state=open&reference=none"),
        "/reports": (f"?unit={BOX}",),
        "/alerts": ("", "?show=all", "?show=answered"),
        "/batches": ("", "?batch=B-7"),
    }
    for router in ROUTERS:
        for route in router.routes:
            path = getattr(route, "path", "")
            if "GET" not in getattr(route, "methods", ()) or path.startswith(_NO_PAGE):
                continue
            access = access_of(getattr(route, "endpoint", None))
            for name, value in filled.items():
                path = path.replace(name, value)
            if access.roles and "{" not in path:
                for query in asked.get(path, ("",)):
                    yield path + query, access.roles


def open_all(page: Page) -> None:
    """Open what is folded, and tap what makes a form longer."""
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    more = page.locator("#more-damage")
    if more.count():
        more.wait_for()


@pytest.mark.parametrize("role", list(Role))
def test_no_page_of_a_role_is_wider_than_the_phone(phone: Device, role: Role) -> None:
    depot = phone.live.depot
    arrive(phone, masses={"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28000})
    arrive(phone, OTHER, damage_on_lorry="left door dented", haulier="Ridge Haulage")
    depot.record(
        report("pre-advice", "ZZZU3000094", happened_at=ago(hours=2), expected_on="2026-01-02"),
        report("work-order", lines=[{"work": "louvre-vent", "count": 4}], due_on="2026-01-02"),
        report("inspection", OTHER, condition="as-is", happened_at=ago(hours=1)),
        report("gate-out", "ZZZU3000108", happened_at=ago(minutes=30)),
    )
    depot.record(report("sale", OTHER, happened_at=ago(minutes=20)))
    make_rounds(depot.worker)
    page = phone.sign_in(f"*:{role}", to="/")
    visible = page.locator(".top nav a")
    named = [place.says for place in PLACES if role in place.roles]
    assert [one.strip() for one in visible.all_inner_texts()][: len(named)] == named
    wide, looked_at = {}, 0
    for path, roles in page_paths(phone):
        if role not in roles:
            continue
        answer = page.goto(path)
        assert answer is not None
        assert answer.status < 400, path
        open_all(page)
        looked_at += 1
        if found := page.evaluate(_TOO_WIDE):
            wide[path] = found
        width = page.evaluate("document.documentElement.scrollWidth")
        if width > PHONE["width"]:
            wide[f"{path} is"] = width
        if hidden := {*page.evaluate(_SCROLLS)} - _MAY_SCROLL:
            wide[f"{path} hides"] = hidden
    assert wide == {}
    assert looked_at >= len(named) + 2
