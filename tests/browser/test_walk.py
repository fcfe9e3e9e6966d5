"""Walking the stacks on a phone: mark after mark in one slot, also without a signal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.support.accessibility import find_barriers
from tests.support.depot import BOX, OTHER, THIRD, report

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from tests.browser.conftest import Device
    from tests.support.live_site import LiveSite


def stand_ready(phone: Device, live: LiveSite) -> Page:
    live.depot.record(*(report("gate-in", mark, slot="A1") for mark in (BOX, OTHER, THIRD)))
    page = phone.sign_in("NORTH:workshop", to="/walk")
    page.click("text=Begin a stock check")
    page.wait_for_load_state("networkidle")
    return page


def test_slot_stays_while_mark_after_mark_is_read_without_a_signal(
    phone: Device, live: LiveSite
) -> None:
    page = stand_ready(phone, live)
    page.wait_for_function(
        "async () => await (await caches.open('hardstand-pages')).match('/walk') !== undefined"
    )
    live.switch_off()
    page.fill("#slot", "b7-2")
    for left, mark in ((2, BOX), (1, OTHER)):
        page.fill("#mark", mark)
        page.click("text=Record it")
        expect(page.locator("#missed .pick")).to_have_count(left)
        expect(page.locator("#missed .count")).to_have_text(str(left))
        expect(page.locator("#slot")).to_have_value("B7-2")
        expect(page.locator("#mark")).to_have_value("")
    expect(page.locator("#told")).to_contain_text("until there is a signal")
    live.switch_on()
    page.goto("/walk")
    expect(page.locator("#entries .entry-state").first).to_have_text("recorded")
    expect(page.locator("#entries .entry-state").last).to_have_text("recorded")
    page.reload()
    expect(page.locator("#missed .pick")).to_have_count(1)
    expect(page.locator("#misplaced .pick")).to_have_count(2)
    assert live.depot.show(BOX).record["slot"] == "B7-2"


def test_misread_mark_is_offered_from_what_is_missed_and_a_move_is_told_as_one(
    phone: Device, live: LiveSite
) -> None:
    page = stand_ready(phone, live)
    page.fill("#slot", "C1")
    page.fill("#mark", BOX[:10] + str((int(BOX[10]) + 4) % 10))
    page.locator("#mark-offers button").first.click()
    expect(page.locator("#known")).to_contain_text("By the record at A1.")
    page.check("input[value=restow]")
    page.click("text=Record it")
    expect(page.locator("#told")).to_contain_text(": recorded")
    view = live.depot.show(BOX)
    assert (view.history[-1]["kind"], view.record["slot"]) == ("restow", "C1")
    assert find_barriers(page) == []
