"""Signing in at a provider of another site, in a real browser, with the pages' policy in force."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from shared.clock import SystemClock
from tests.browser.conftest import DESK, Device, using
from tests.support.depot import open_up
from tests.support.live_site import free_port, go_live
from tests.support.openid import EMAIL, OpenIdServer, serve_openid

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Playwright

    from shared.settings import Settings


@pytest.fixture
def provider() -> Iterator[OpenIdServer]:
    """A provider at another name than the pages."""
    with serve_openid(SystemClock()) as provider:
        yield provider


def test_person_goes_to_the_provider_and_comes_back_to_where_they_wanted_to_go(
    settings: Settings,
    provider: OpenIdServer,
    playwright: Playwright,
    chromium: Path,
    tmp_path: Path,
) -> None:
    port = free_port()
    provider.answer_address = f"http://127.0.0.1:{port}/sign-in/openid/answer"
    with open_up(provider.set_in(settings), SystemClock()) as depot, go_live(depot, port) as live:
        live.site.add_person(EMAIL, "NORTH:gate", shown_as="Ada Quill")
        with using(Device(playwright, chromium, tmp_path / "browser", live, DESK)) as desk:
            page = desk.open()
            page.goto("/gate")
            page.get_by_role("link", name="Sign in through your organisation").click()
            expect(page).to_have_url(f"{live.url}/gate")
            expect(page.get_by_text("Ada Quill")).to_be_visible()
    assert "/people/authorize" in provider.seen
