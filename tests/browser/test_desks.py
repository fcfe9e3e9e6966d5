"""The sales desk's and the manager's day in a real browser, at phone and desk size."""

from __future__ import annotations

import contextlib
import re
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from shared.clock import SystemClock
from tests.support.accessibility import find_barriers
from tests.support.depot import BOX, OTHER, report, wait_until

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Page

    from tests.browser.conftest import Device


NOW = SystemClock().now
SUM = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}


def ago(**by: int) -> str:
    return (NOW() - timedelta(**by)).isoformat()


def arrive(device: Device, mark: str = BOX, **said: object) -> None:
    device.live.depot.record(
        report(
            "gate-in",
            mark,
            **{"size_type": "22G1", "masses": SUM, "happened_at": ago(hours=3)} | said,
        )
    )


def reserve(page: Page, buyer: str) -> None:
    """Fill the form in and send it; whether it was granted stands on the page that follows."""
    page.fill("#r-buyer", buyer)
    page.fill("#r-until", (NOW() + timedelta(days=7)).date().isoformat())
    page.get_by_role("button", name="Reserve", exact=True).click()
    page.wait_for_selector(".told, .fault")


def test_two_sellers_reserve_one_unit_and_one_is_told_why_not(device: Device) -> None:
    arrive(device)
    first = device.sign_in("NORTH:sales", to="/sales")
    first.goto(f"/sales/deal?unit={BOX}")
    assert device.context is not None
    browser = device.playwright.chromium.launch(
        executable_path=str(device.chromium), args=["--no-sandbox"]
    )
    try:
        second = browser.new_context(viewport=device.size, base_url=device.live.url).new_page()  # type: ignore[arg-type] - a plain dict will do
        name, password = device.live.add_person("NORTH:sales", shown_as="Edda Finch")
        second.goto(f"/sign-in?next=/sales/deal?unit={BOX}")
        second.fill("#name", name)
        second.fill("#password", password)
        second.click("main button")
        second.wait_for_selector("#r-buyer")
        # Both have the free unit before them; both ask.
        reserve(first, "Tolly Wick")
        reserve(second, "Bram Oskell")
        assert "Recorded." in first.inner_text("main")
        refused = second.inner_text(".fault")
        assert "It is reserved for another buyer until" in refused
        assert second.input_value("#r-buyer") == "Bram Oskell"
    finally:
        browser.close()
    buyer = device.live.depot.show(BOX).record["reservation"]["buyer"]
    assert buyer == "Tolly Wick"


def test_manager_sees_any_day_of_the_past(device: Device) -> None:
    arrive(device, happened_at=ago(days=3))
    device.live.depot.record(report("restow", slot="B7-1", happened_at=ago(days=1)))
    page = device.sign_in("NORTH:manager", to="/stock")
    page.fill("#mark", BOX)
    page.get_by_role("button", name="Find").click()
    page.wait_for_url(re.compile(r"/units/"))
    assert "B7-1" in page.inner_text("section[aria-labelledby=record]")
    assert page.locator(".line > li").count() == 2
    page.fill("#as_of", (NOW() - timedelta(days=2)).strftime("%Y-%m-%dT%H:%M"))
    page.get_by_role("button", name="Show").click()
    page.wait_for_selector("text=The past.")
    assert "B7-1" not in page.inner_text("section[aria-labelledby=record]")
    assert page.locator(".line > li").count() == 1
    page.get_by_role("link", name="Back to today").click()
    page.wait_for_selector("text=B7-1")


def test_question_appears_by_itself_and_is_answered(device: Device) -> None:
    page = device.sign_in("NORTH:manager", to="/questions")
    assert "No question is open" in page.inner_text("main")
    arrive(device, masses=SUM | {"payload_kg": 28000})
    page.wait_for_selector("main .card a.button")
    page.locator("main .card a.button").click()
    page.get_by_label("Payload, net (kg)").fill("28250")
    page.get_by_label("I give the right value").check()
    page.get_by_role("button", name="Answer", exact=True).click()
    page.wait_for_selector(".told")
    assert "No question is open" in page.inner_text("main")
    assert device.live.depot.show(BOX).record["payload_kg"] == 28250


def test_wrong_tare_is_corrected_from_its_place_in_the_line(device: Device) -> None:
    arrive(device, masses=SUM | {"tare_kg": 2320, "payload_kg": 28160})
    page = device.sign_in("NORTH:gate", to=f"/units/{BOX}")
    assert "2\u202f320" in page.inner_text("section[aria-labelledby=record]")
    page.get_by_role("link", name="Correct it").click()
    page.get_by_label("Why it is corrected").fill("Misread in the rain, read again")
    page.get_by_label("Tare (kg)", exact=True).fill("2230")
    page.get_by_role("button", name="Correct it").click()
    page.wait_for_selector(".fault")
    assert "With these values it still cannot be right" in page.inner_text(".fault")
    page.get_by_label("Payload (kg)", exact=True).fill("28250")
    page.get_by_role("button", name="Correct it").click()
    page.wait_for_selector(".told")
    assert "2\u202f230" in page.inner_text("section[aria-labelledby=record]")
    corrected, arrived = page.locator(".line > li").all_inner_texts()
    assert "2\u202f320" in arrived
    for told in ("2\u202f320", "2\u202f230", "Misread in the rain, read again", "Ada Quill"):
        assert told in corrected
    assert "This stands otherwise now" in arrived
    assert device.live.depot.show(BOX).record["tare_kg"] == 2230


def test_pages_are_for_those_who_have_the_role_and_nobody_after_signing_out(device: Device) -> None:
    page = device.sign_in("NORTH:gate", to="/stock")
    links = page.locator("nav[aria-label=Main] a").all_inner_texts()
    assert links == ["Gate", "Stacks", "Stock", "Questions", "Alerts"]
    answer = page.goto("/sales")
    assert answer is not None
    assert answer.status == 403
    assert "This is not open to you" in page.inner_text("main")
    page.goto("/stock")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(re.compile("/sign-in"))
    page.goto("/stock")
    assert "/sign-in?next=" in page.url


def test_signing_out_from_any_page_leaves_no_page_and_no_draft_on_the_device(
    device: Device,
) -> None:
    page = device.sign_in("NORTH:gate", to="/gate")
    page.wait_for_function("() => navigator.serviceWorker.controller")
    kept = "async () => (await (await caches.open('hardstand-pages')).keys()).length"
    page.wait_for_function(kept)
    page.evaluate("() => localStorage.setItem('hardstand-draft ada inspection', '[]')")
    page.goto("/stock")
    assert page.evaluate("() => localStorage.length") == 1
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(re.compile("/sign-in"))
    assert page.evaluate("() => localStorage.length") == 0
    page.wait_for_function("async () => !(await caches.has('hardstand-pages'))")


def test_wrong_password_signs_nobody_in_and_says_what_to_do(device: Device) -> None:
    name, _ = device.live.add_person("NORTH:gate")
    page = device.open()
    page.goto("/sign-in")
    page.fill("#name", name)
    page.fill("#password", "not the password at all")
    page.click("main button")
    page.wait_for_selector(".fault")
    assert "do not belong together" in page.inner_text(".fault")


@contextlib.contextmanager
def without_script(device: Device) -> Iterator[Page]:
    """Provide a page of whoever is signed in on a device, in a browser that runs no script."""
    assert device.context is not None
    state = device.context.storage_state()
    browser = device.playwright.chromium.launch(
        executable_path=str(device.chromium), args=["--no-sandbox"]
    )
    with contextlib.closing(browser):
        yield browser.new_context(
            viewport=device.size,  # type: ignore[arg-type] - a plain dict will do
            base_url=device.live.url,
            storage_state=state,
            java_script_enabled=False,
        ).new_page()


def test_unit_is_sold_and_released_without_script(device: Device) -> None:
    arrive(device)
    device.sign_in("NORTH:sales", to="/sales")
    with without_script(device) as page:
        page.goto(f"/sales/deal?unit={BOX}")
        page.locator("summary", has_text="Sell it").click()
        page.fill("#s-buyer", "Tolly Wick")
        page.check("[name='paid:bool']")
        page.get_by_role("button", name="Sell", exact=True).click()
        page.get_by_role("button", name="Release", exact=True).click()
        reference = page.inner_text(".big")
    assert reference == device.live.depot.show(BOX).record["release"]["reference"]


def test_report_is_corrected_without_script(device: Device) -> None:
    arrive(device, slot="A1-1")
    arrival = device.live.depot.show(BOX).history[0]["id"]
    device.sign_in("NORTH:gate", to="/stock")
    with without_script(device) as page:
        page.goto(f"/corrections/{arrival}")
        page.fill("#reason", "Put down elsewhere")
        page.get_by_label("Slot").fill("B2-1")
        page.get_by_role("button", name="Correct it").click()
        assert "Recorded." in page.inner_text(".told")
    assert device.live.depot.show(BOX).record["slot"] == "B2-1"


def test_notice_is_given_and_the_claim_closed_without_script(device: Device) -> None:
    arrive(device, damage_on_lorry="left door dented", haulier="Stonebridge Haulage")
    device.sign_in("NORTH:sales", to="/sales")
    with without_script(device) as page:
        page.goto(f"/units/{BOX}")
        page.get_by_role("link", name="Notice, and how it ended").click()
        assert page.input_value("#n-to") == "Stonebridge Haulage"
        page.fill("#n-reference", "letter 12")
        page.get_by_role("button", name="Record the notice").click()
        assert "Recorded." in page.inner_text(".told")
        page.locator("summary", has_text="Close it").click()
        page.select_option("#c-outcome-1", "paid")
        page.get_by_role("button", name="Close the claim").click()
        assert "says the amount and its currency" in page.inner_text(".fault")
        page.fill("#c-amount-1", "180.00")
        page.get_by_role("button", name="Close the claim").click()
        assert "No claim stands open on it." in page.inner_text("main")
    closed = device.live.depot.show(BOX).history[-1]["event"]
    assert (closed["outcome"], closed["amount"], closed["currency"]) == ("paid", "180.00", "EUR")


def test_no_page_shuts_anybody_out(device: Device) -> None:
    arrive(device, masses=SUM | {"payload_kg": 28000}, damage_on_lorry="left door dented")
    arrive(device, OTHER, plate={"manufactured_in": "2020-01", "next_examination": "2027-05"})
    device.live.depot.record(
        report("inspection", OTHER, condition="as-is", happened_at=ago(hours=2))
    )
    device.live.depot.record(report("sale", OTHER, happened_at=ago(hours=1)))
    page = device.open()
    page.goto("/sign-in")
    barriers = {"/sign-in": find_barriers(page)}
    device.close()
    page = device.sign_in("*:manager", to="/questions")
    question = page.locator("main .card a.button").get_attribute("href")
    arrival = device.live.depot.show(BOX).history[0]["id"]
    paths = (
        *("/", "/questions", str(question), "/alerts", "/people", "/orders", "/nowhere"),
        *("/stock", "/stock?length=45", "/stock/glance", "/sales"),
        *(f"/units/{BOX}", f"/units/{OTHER}?as_of=2020-01-01"),
        *(f"/sales/deal?unit={BOX}", f"/sales/deal?unit={OTHER}"),
        f"/sales/compare?unit={BOX}&unit={OTHER}",
        *(f"/corrections/{arrival}", f"/claims?unit={BOX}"),
    )
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        for path in paths:
            page.goto(path)
            page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
            barriers[f"{path} {scheme}"] = find_barriers(page)
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path
    assert {path: found for path, found in barriers.items() if found} == {}


@pytest.mark.parametrize("path", ["/", "/questions"])
def test_open_page_follows_the_record(device: Device, path: str) -> None:
    page = device.sign_in("NORTH:manager", to=path)
    arrive(device)
    device.live.depot.record(report("gate-out", happened_at=ago(minutes=5)))

    def follows() -> bool:
        says = " ".join(page.inner_text("#live").split())
        return "1 breach to" in says or "it happened" in says

    wait_until(follows)
