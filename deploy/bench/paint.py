"""How soon a page shows something, in a real browser, with a large stock behind it."""

from __future__ import annotations

import contextlib
from datetime import date
from statistics import median
from typing import Final

from playwright.sync_api import Page, sync_playwright

from deploy.bench import stock
from deploy.bench.bench_house import House
from deploy.bench.rows import Row
from deploy.browser import FLAGS, provide_browser
from deploy.run import serving
from tracker.services import accounts
from tracker.services.actor import EVERY_DEPOT, Grant, Role
from tracker.store.house import set_depot

_REPEATS: Final = 5
_MOST_MS: Final = 300
_NAME, _PASSWORD = "paint", "grey kettle on the seventh step"
_FIRST_PAINT: Final = """() => new Promise((resolve) => {
    const told = () => performance.getEntriesByName("first-contentful-paint")[0];
    if (told()) resolve(told().startTime);
    new PerformanceObserver(() => told() && resolve(told().startTime)).observe({ type: "paint" });
})"""

PAGES: Final = {
    "the start": "/",
    "arrival": "/gate",
    "departure": "/gate/departure",
    "the workshop": "/workshop",
    "the sales list": "/sales?length=20&condition=cargo-worthy",
    "orders": "/orders",
    "the stock": "/stock?presence=in-depot",
    "a search that finds nothing": "/stock?mark=QQXU",
    "the stock at a glance": "/stock/glance",
    "questions": "/questions",
    "alerts": "/alerts",
    "a unit": "/units/ZZQU0050000",
}


def measure(house: House, units: int, today: date) -> list[Row]:
    """Return a row for each page; the house must be empty."""
    stock.plant(house)
    stock.grow(house, 0, units - 1, today)
    with house.web.engine.begin() as connection:
        set_depot(connection, "NORTH", "North", "UTC")
    grants = [Grant(EVERY_DEPOT, role) for role in Role]
    accounts.add_account(house.web, _NAME, shown_as="Paint", password=_PASSWORD, grants=grants)
    with serving(house.settings), sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=str(provide_browser()), args=list(FLAGS)
        )
        with contextlib.closing(browser):
            address = f"http://{house.settings.web_host}:{house.settings.web_port}"
            # Without a service worker: a page it keeps would be painted sooner still.
            page = browser.new_context(base_url=address, service_workers="block").new_page()
            _sign_in(page)
            return [
                Row(f"first paint of {name}, {units:,} units", _paint_ms(page, path), "ms",
                    target=_MOST_MS, most=True, units=units)
                for name, path in PAGES.items()
            ]  # fmt: skip


def _sign_in(page: Page) -> None:
    page.goto("/sign-in")
    page.fill("#name", _NAME)
    page.fill("#password", _PASSWORD)
    page.click("main button[type=submit]")
    page.wait_for_url("**/")


def _paint_ms(page: Page, path: str) -> float:
    return median(_once(page, path) for _ in range(_REPEATS))


def _once(page: Page, path: str) -> float:
    answer = page.goto(path)
    if answer is None or not answer.ok:
        raise RuntimeError(f"{path} answered {answer and answer.status}")
    first_ms: float = page.evaluate(_FIRST_PAINT)
    return first_ms
