"""What a phone says of its entries tells moments in the time of the depot."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pytest
from playwright.sync_api import expect

from shared.moments import in_zone
from tests.support.depot import BOX, report
from tracker.services import keep_house

if TYPE_CHECKING:
    from tests.browser.conftest import Device
    from tests.support.live_site import LiveSite

SENTENCES = [
    "It came in 2026-03-02 23:30 UTC, by the record.",
    "From 2026-03-29 00:59 UTC to 2026-03-29 01:00 UTC.",
    "It left 2026-09-14 08:05 UTC",
    "At 2026-13-99 08:05 UTC nobody came.",
    "No moment at all.",
]


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/St_Johns", "UTC"])
def test_page_tells_moments_in_a_zone_as_the_server_does(phone: Device, zone: str) -> None:
    page = phone.sign_in("NORTH:gate", to="/gate")
    told = page.evaluate(
        """async ([sentences, zone]) => {
            const { inZone } = await import("/static/moments.js");
            return sentences.map((one) => inZone(one, zone));
        }""",
        [SENTENCES, zone],
    )
    assert told == [in_zone(one, ZoneInfo(zone)) for one in SENTENCES]


def test_question_of_an_entry_is_told_in_the_depots_time(phone: Device, live: LiveSite) -> None:
    keep_house.set_depot(live.depot.web, "NORTH", "North", "Asia/Kathmandu")
    live.depot.record(report("gate-in", BOX, happened_at="2026-03-02T07:00:00+00:00"))
    page = phone.sign_in("NORTH:gate", to="/gate")
    page.fill("#mark", BOX)
    page.click("text=Record arrival")
    says = page.locator("#attention .entry-says")
    expect(says).to_contain_text("2 Mar 2026, 12:45")
    expect(says).not_to_contain_text("UTC")
