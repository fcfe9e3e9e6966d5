"""A box is found by the last digits of its number, or by its tag, with one thumb."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playwright.sync_api import expect

from shared import marks
from tests.support.depot import BOX, OTHER, THIRD, report
from tests.support.marks import make_mark

if TYPE_CHECKING:
    from tests.browser.conftest import Device
    from tests.support.live_site import LiveSite

TWIN = make_mark(f"HQXU{BOX[4:10]}")


def test_departure_is_asked_for_by_the_last_digits(phone: Device, live: LiveSite) -> None:
    live.depot.record(*(report("gate-in", mark) for mark in (BOX, TWIN, OTHER)))
    page = phone.sign_in("NORTH:gate", to="/gate/departure")
    page.fill("#mark", BOX[6:10])
    offers = page.locator("#mark-offers button")
    expect(offers).to_have_text(sorted(marks.written(one) for one in (BOX, TWIN)))
    expect(page.locator("#mark-says")).to_contain_text("compare the whole number")
    expect(page.locator("#mark-says")).not_to_contain_text("belongs")
    page.locator("#mark-offers button", has_text=marks.written(TWIN)).click()
    expect(page.locator("#mark-split")).to_contain_text("digit right")
    page.click("text=May it leave?")
    expect(page.locator("#answer")).to_contain_text(TWIN)
    expect(page.locator("#out-mark")).to_have_value(TWIN)


def test_walk_finds_by_digits_and_by_tag_also_typed_without_its_sign(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("gate-in", BOX), report("gate-in", None, tag="T-12"))
    page = phone.sign_in("NORTH:workshop", to="/walk")
    page.fill("#slot", "B7")
    page.fill("#mark", BOX[4:])
    page.locator("#mark-offers button", has_text=marks.written(BOX)).click()
    page.click("text=Record it")
    expect(page.locator("#told")).to_contain_text(": recorded")
    page.fill("#mark", "t-12")
    page.locator("#mark-offers button", has_text="#T-12").click()
    expect(page.locator("#known")).to_contain_text("Here by the record")
    page.click("text=Record it")
    expect(page.locator("#told")).to_contain_text("T-12: recorded")
    for name in (BOX, "#NORTH/T-12"):
        assert live.depot.show(name).record["slot"] == "B7", name


def test_arrival_offers_what_may_come_and_not_what_stands_here(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("pre-advice", BOX), report("gate-in", TWIN), report("gate-in", THIRD))
    live.depot.record(report("gate-out", THIRD, purpose="scrap"))
    page = phone.sign_in("NORTH:gate", to="/gate")
    page.fill("#mark", BOX[4:10])
    expect(page.locator("#mark-offers button")).to_have_text([marks.written(BOX)])
    page.fill("#mark", THIRD[4:])
    page.locator("#mark-offers button", has_text=marks.written(THIRD)).click()
    expect(page.locator("#known")).to_contain_text("was here before and left")
    page.fill("#mark", "9999999")
    expect(page.locator("#mark-says")).to_contain_text("Type the whole number")


def test_box_without_a_number_arrives_and_leaves_by_its_tag(phone: Device, live: LiveSite) -> None:
    page = phone.sign_in("NORTH:gate", to="/gate")
    page.fill("#mark", "#t-12")
    expect(page.locator("#mark-says")).to_contain_text("tag number")
    page.click("text=Record arrival")
    expect(page.locator("#told")).to_contain_text("recorded")
    assert live.depot.show("#NORTH/T-12").record["presence"] == "in-depot"
    page.goto("/gate/departure")
    page.fill("#mark", "t-12")
    page.click("text=May it leave?")
    expect(page.locator("#out-mark")).to_have_value("#T-12")
    page.locator("#leaving summary").click()
    page.click("text=Record departure")
    expect(page.locator("#told")).to_contain_text("recorded")
    assert live.depot.show("#NORTH/T-12").record["presence"] == "away"
    # What left is not offered as the next that leaves, and what is said of it is in sight.
    expect(page.locator("#mark")).to_have_value("")
    expect(page.locator("#out-mark")).to_have_value("")
    expect(page.locator("#told")).to_be_in_viewport()
    assert page.evaluate("scrollY") == 0
