"""A real Chromium, headless, and a site for it to use."""

from __future__ import annotations

import contextlib
import time
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect, sync_playwright

from deploy.browser import FLAGS, BrowserMissingError, provide_browser
from shared.clock import SystemClock
from tests.support.depot import open_up
from tests.support.live_site import LiveSite, go_live
from tracker.web.access import COOKIE

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import BrowserContext, Page, Playwright

    from shared.settings import Settings

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 800}


@dataclass
class Device:
    """Somebody's phone or desk: its browser can be closed and opened again, and forgets nothing."""

    playwright: Playwright
    chromium: Path
    folder: Path
    live: LiveSite
    size: dict[str, int]
    context: BrowserContext | None = None
    faults: list[str] = field(default_factory=list)

    def open(self) -> Page:
        """Open the browser and return its page."""
        self.context = self.playwright.chromium.launch_persistent_context(
            str(self.folder),
            executable_path=str(self.chromium),
            args=list(FLAGS),
            headless=True,
            viewport=self.size,  # type: ignore[arg-type] - a plain dict will do
            has_touch=self.size is PHONE,
            base_url=self.live.url,
        )
        self.context.set_default_timeout(30_000)
        page = self.context.pages[0]
        page.on("pageerror", lambda fault: self.faults.append(str(fault)))
        page.on("console", self._hear)
        return page

    def close(self) -> None:
        """Close the browser."""
        if self.context is not None:
            self.context.close()
            self.context = None

    def sign_in(self, *roles: str, to: str) -> Page:
        """Open the browser with somebody new signed in, and go to a page."""
        page = self.open()
        cookie = {"name": COOKIE, "value": self.live.begin_session(*roles), "url": self.live.url}
        page.context.add_cookies([cookie | {"expires": time.time() + 86_400}])  # type: ignore[list-item] - a plain dict will do
        page.goto(to)
        return page

    def _hear(self, message: object) -> None:
        text = getattr(message, "text", "")
        # A page that breaks the policy on content says so here and nowhere else.
        if "Content Security Policy" in text:
            self.faults.append(text)


@pytest.fixture(scope="session")
def chromium() -> Path:
    """The browser's program; installed where that is allowed."""
    try:
        return provide_browser()
    except BrowserMissingError as fault:
        pytest.fail(str(fault))


@pytest.fixture
def live(settings: Settings) -> Iterator[LiveSite]:
    """A site that browsers reach, on the machine's own time, with depots NORTH and SOUTH."""
    with open_up(settings, SystemClock()) as depot, go_live(depot) as live:
        yield live


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    """What drives the browsers."""
    # Long for a machine that is busy with other tests; what is as it should be passes at once.
    expect.set_options(timeout=30_000)
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture
def phone(
    playwright: Playwright, chromium: Path, live: LiveSite, tmp_path: Path
) -> Iterator[Device]:
    """A phone; fails afterwards if a page threw, or broke the content policy."""
    with using(Device(playwright, chromium, tmp_path / "browser", live, PHONE)) as device:
        yield device


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def device(
    request: pytest.FixtureRequest,
    playwright: Playwright,
    chromium: Path,
    live: LiveSite,
    tmp_path: Path,
) -> Iterator[Device]:
    """A device of each size; fails afterwards as `phone` does."""
    with using(Device(playwright, chromium, tmp_path / "browser", live, request.param)) as device:
        yield device


@contextlib.contextmanager
def using(device: Device) -> Iterator[Device]:
    """Provide a device that is closed afterwards, and tell of faults on its pages."""
    try:
        yield device
    finally:
        device.close()
    assert device.faults == []
