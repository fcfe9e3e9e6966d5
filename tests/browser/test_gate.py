"""The gate in a real browser: arrivals, misread numbers, whether it may leave, and no signal."""

from __future__ import annotations

import re
from html import unescape
from importlib import resources
from typing import TYPE_CHECKING

import pytest
from PIL import Image
from playwright.sync_api import expect

from shared import marks
from tests.support.depot import BOX, OTHER, id_of, report
from tests.support.pictures import make_photo
from tracker.web.pages.form_fields import read_fields

if TYPE_CHECKING:
    from playwright.sync_api import FilePayload, Page

    from tests.browser.conftest import Device
    from tests.support.live_site import LiveSite

MASSES = {"gross_kg": 32500, "tare_kg": 3900, "payload_kg": 28600}
PAIRS = [
    ("mark", " ZZZU3000014 "),
    ("note", ""),
    ("masses.tare_kg:int", "2,230"),
    ("masses.gross_kg:int", "about 30000"),
    ("masses.payload_kg:int", "28\u202f250"),
    ("plate.stacking_lb:int", "423.280"),
    ("plate.racking_n:int", "1500,00"),
    ("damages.2.count:int", "1.5"),
    ("damages.10.measured_mm:int", "3,5"),
    ("gas.entered:bool", "yes"),
    ("light_test.daylight_seen:bool", "no"),
    ("photos:list", "one"),
    ("photos:list", "two"),
    ("!damages", "component"),
    ("damages.0.kind", "bent"),
    ("damages.10.component", "floor"),
    ("damages.2.component", "roof-panel"),
    ("damages.2.measured_mm:int", "40"),
    ("answers.roof.found", "good"),
    ("plate.approval_reference", ""),
    ("price:money", "1.450,50"),
    ("tare_price:money", "1,450,50"),
]
EIGHT = "2026-03-02T08:00:00+00:00"
WRONG_DIGIT = BOX[:10] + str((int(BOX[10]) + 4) % 10)


def test_arrival_with_a_misread_number_is_mended_by_one_tap(device: Device, live: LiveSite) -> None:
    live.depot.record(report("pre-advice", BOX, size_type="22G1"))
    page = device.sign_in("NORTH:gate", to="/gate")
    page.fill("#mark", WRONG_DIGIT)
    expect(page.locator("#mark-says")).to_contain_text("check digit")
    page.locator("#mark-offers button", has_text=marks.written(BOX)).click()
    expect(page.locator("#mark-split")).to_contain_text("digit right")
    expect(page.locator("#known")).to_contain_text("Expected")
    page.fill("#size_type", "22G1")
    expect(page.locator("#size-says")).to_contain_text("20 ft")
    page.fill("#gross", "30480")
    page.fill("#tare", "2230")
    page.fill("#payload", "28260")
    expect(page.locator("#sum")).to_contain_text("10 kg too much")
    page.fill("#payload", "28250")
    expect(page.locator("#sum")).to_contain_text("✓")
    page.click("text=Record arrival")
    expect(page.locator("#told")).to_contain_text("recorded")
    record = live.depot.show(BOX).record
    assert (record["presence"], record["tare_kg"], record["questions"]) == ("in-depot", 2230, [])


@pytest.mark.parametrize(("path", "more"), [("/gate", ""), ("/gate/departure", "&leaves=true")])
def test_numbers_are_checked_with_what_is_likely_at_the_depot(
    phone: Device, path: str, more: str
) -> None:
    page = phone.sign_in("NORTH:gate", "SOUTH:gate", to=f"{path}?depot=SOUTH")
    with page.expect_request(re.compile("/api/check")) as asked:
        page.fill("#mark", WRONG_DIGIT)
    assert asked.value.url.endswith(f"/api/check?mark={WRONG_DIGIT}&depot=SOUTH{more}")


def test_expected_unit_arrives_by_two_taps_with_its_photo(phone: Device, live: LiveSite) -> None:
    live.depot.record(
        report(
            "pre-advice", OTHER, size_type="45G1", purpose="transfer", masses=MASSES, batch="B-9"
        )
    )
    page = phone.sign_in("NORTH:gate", to="/gate")
    page.click(".pick")
    expect(page.locator("#known")).to_contain_text("batch B-9")
    page.click("text=The doors say the same")
    page.set_input_files(
        "#photo", file("dark.jpg", make_photo(Image.new("RGB", (900, 700), "black")))
    )
    expect(page.locator(".shot-says")).to_contain_text("dark")
    page.click("text=Remove")
    page.set_input_files("#photo", file("box.jpg", make_photo()))
    expect(page.locator(".shot-says")).to_have_text("clear")
    page.click("text=Record arrival")
    expect(page.locator("#told")).to_contain_text("recorded")
    expect(page.locator("#entries")).to_contain_text("recorded")
    view = live.depot.show(OTHER)
    arrival = view.history[-1]["event"]
    assert (arrival["purpose"], arrival["batch"], len(arrival["photos"])) == ("transfer", "B-9", 1)
    assert view.record["payload_kg"] == MASSES["payload_kg"]


def test_may_it_leave_no_then_yes_then_it_leaves_signed_for(device: Device, live: LiveSite) -> None:
    live.depot.record(report("gate-in"), report("sale"))
    page = device.sign_in("NORTH:gate", to="/gate/departure")
    page.fill("#mark", BOX)
    page.click("text=May it leave?")
    expect(page.locator("#answer.no")).to_contain_text("No, it stays here")
    expect(page.locator("#answer .reasons").first).not_to_be_empty()
    live.depot.record(report("release"))
    page.fill("#asked-reference", "COLLECT-71")
    page.click("text=May it leave?")
    expect(page.locator("#answer.yes")).to_contain_text("Yes, it may leave")
    page.fill("#clear-haulier", "Vale Haulage")
    page.get_by_role("button", name="Clear it").click()
    expect(page.locator("#leaving")).to_have_attribute("open", "")
    sign(page)
    page.click("text=Record departure")
    expect(page.locator("#told")).to_contain_text("recorded")
    view = live.depot.show(BOX)
    assert [row["kind"] for row in view.history][-2:] == ["clearance", "gate-out"]
    assert len(view.history[-1]["event"]["photos"]) == 1
    assert (view.record["presence"], view.record["breaches"]) == ("away", [])


def test_wrong_haulier_turns_the_answer_red_and_nothing_is_called_cleared(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("gate-in"), report("sale"), report("release", haulier="Tarn Haulage"))
    page = phone.sign_in("NORTH:gate", to=f"/gate/departure?mark={BOX}&reference=COLLECT-71")
    expect(page.locator("#answer.yes")).to_contain_text("Yes, it may leave")
    page.fill("#clear-haulier", "Nobody Ltd")
    page.get_by_role("button", name="Clear it").click()
    expect(page.locator("#answer.no")).to_contain_text("given to Tarn Haulage, not to Nobody Ltd")
    expect(page.locator("#attention .entry-kind")).to_contain_text("asked to clear")
    expect(page.locator("#attention .entry-state")).to_have_text("refused")
    expect(page.get_by_role("button", name="Clear it")).to_have_count(0)


def test_manager_lets_another_haulier_pass_on_an_orders_reference(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("gate-in", size_type="22G1"))
    wanted = {"buyer": "Orin Vale", "description": {"length_ft": 20}, "count": 1, "paid": True}
    live.depot.record(order := report("order", None, **wanted))
    given = {"order": id_of(order), "reference": "BAND-3XX7QQ", "haulier": "Tarn Haulage"}
    live.depot.record(report("release", None, **given))
    page = phone.sign_in("NORTH:manager", to=f"/gate/departure?mark={BOX}&reference=BAND-3XX7QQ")
    page.fill("#clear-haulier", "Moss Carriers")
    page.get_by_role("button", name="Clear it").click()
    page.fill("#clear-reason", "their lorry broke down, Tarn sent these")
    page.get_by_role("button", name="Let it pass").click()
    expect(page.locator("#answer.yes")).to_contain_text("Cleared, it may pass")
    expect(page.locator("#out-haulier")).to_have_value("Moss Carriers")
    page.click("text=Record departure")
    expect(page.locator("#told")).to_contain_text("recorded")
    expect(page.locator("#answer")).to_have_count(0)
    assert live.depot.show(BOX).record["breaches"] == []


def test_departure_against_the_answer_says_that_the_manager_is_told(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("gate-in"), report("sale"), report("release", haulier="Tarn Haulage"))
    page = phone.sign_in("NORTH:gate", to=f"/gate/departure?mark={BOX}&reference=COLLECT-71")
    page.click("summary:has-text('It leaves')")
    page.fill("#out-reference", "WRONG-REF")
    page.fill("#out-haulier", "Nobody Ltd")
    page.click("text=Record departure")
    expect(page.locator("#told")).to_contain_text("the manager is told")
    expect(page.locator("#attention")).to_contain_text("nobody had cleared it at the barrier")
    (breach,) = live.depot.show(BOX).record["breaches"]
    assert breach["finding"] == "release.left-against-the-answer"


def test_transfer_asks_where_it_goes(phone: Device, live: LiveSite) -> None:
    live.depot.record(report("gate-in"))
    page = phone.sign_in("NORTH:gate", to=f"/gate/departure?mark={BOX}")
    page.click("summary:has-text('It leaves')")
    expect(page.locator("#to_depot")).to_be_hidden()
    page.select_option("#out-purpose", "transfer")
    page.click("text=Record departure")
    assert page.evaluate("document.getElementById('to_depot').validity.valueMissing")
    page.select_option("#to_depot", "SOUTH")
    page.click("text=Record departure")
    expect(page.locator("#told")).to_contain_text("recorded")
    record = live.depot.show(BOX).record
    assert (record["presence"], record["depot"]) == ("expected", "SOUTH")


def test_offline_arrival_with_photo_is_recorded_once_after_the_browser_was_closed(
    device: Device, live: LiveSite
) -> None:
    page = device.sign_in("NORTH:gate", to="/gate")
    wait_for_kept(page)
    live.switch_off()
    page.reload()
    page.fill("#mark", WRONG_DIGIT)
    expect(page.locator("#mark-says")).to_contain_text("check digit")
    page.fill("#mark", BOX)
    expect(page.locator("#mark-split")).to_contain_text("digit right")
    page.set_input_files("#photo", file("box.jpg", make_photo()))
    expect(page.locator(".shot-says")).to_contain_text("kept on this device")
    page.click("text=Record arrival")
    expect(page.locator("#told")).to_contain_text("until there is a signal")
    expect(page.locator("#entries")).to_contain_text("1 photo to send")
    device.close()
    page = device.open()
    page.goto("/gate")
    expect(page.locator("#entries")).to_contain_text("No signal")
    device.close()
    live.switch_on()
    page = device.open()
    page.goto("/gate")
    expect(page.locator("#entries .entry-state")).to_have_text("recorded")
    arrivals = [row for row in live.depot.show(BOX).history if row["kind"] == "gate-in"]
    assert len(arrivals) == 1
    (digest,) = arrivals[0]["event"]["photos"]
    assert page.request.get(f"/api/photos/{digest}").ok


def test_offline_entries_keep_their_order_and_a_refusal_comes_back(
    phone: Device, live: LiveSite
) -> None:
    page = phone.sign_in("NORTH:gate", to="/gate")
    wait_for_kept(page)
    page.goto("/gate/departure")
    live.switch_off()
    # Two arrivals of one box and a departure at a depot where this person has no role.
    for number, mark in enumerate((BOX, OTHER), start=1):
        page.goto("/gate")
        page.fill("#mark", mark)
        page.click("text=Record arrival")
        expect(page.locator("#entries .entry")).to_have_count(number)
    page.evaluate(
        """async () => {
            const { add, list } = await import("/static/outbox.js");
            const [first] = await list();
            const id = crypto.randomUUID();
            const event = { ...first.event, id, depot: "SOUTH" };
            await add({ id, by: first.by, event, said: "came in" });
        }"""
    )
    live.switch_on()
    page.goto("/gate")
    expect(page.locator("#attention")).to_contain_text("no role at SOUTH")
    expect(page.locator("#entries .entry[data-state=recorded]")).to_have_count(2)
    page.reload()
    expect(page.locator("#attention .entry")).to_have_count(1)
    page.click("text=Seen, take it off")
    expect(page.locator("#attention")).to_be_hidden()
    moments = [live.depot.show(mark).record["arrived_at"] for mark in (BOX, OTHER)]
    assert moments == sorted(moments)
    received = live.depot.rows("SELECT event_id FROM receipts ORDER BY event_id")
    assert len(received) == 2


def test_arrival_works_without_script(phone: Device, live: LiveSite) -> None:
    # Not from the gate: its service worker would bring the script from what it keeps.
    page = phone.sign_in("NORTH:gate", to="/alerts")
    page.route("**/*.js", lambda route: route.abort())
    page.goto("/gate")
    page.fill("#mark", BOX)
    page.fill("#tare", "2 230")
    page.click("text=Record arrival")
    expect(page.locator("h1")).to_have_text("Recorded")
    page.reload()
    expect(page.locator("h1")).to_have_text("Recorded")
    view = live.depot.show(BOX)
    assert (view.record["tare_kg"], len(view.history)) == (2230, 1)
    page.click("text=Go on")
    page.fill("#mark", OTHER)
    page.set_input_files("#photo", file("box.jpg", make_photo()))
    page.click("text=Record arrival")
    expect(page.locator("h1")).to_have_text("Recorded")
    assert len(live.depot.show(OTHER).history[0]["event"]["photos"]) == 1


def test_check_digits_of_the_page_are_those_of_the_judge(phone: Device) -> None:
    page = phone.sign_in("NORTH:gate", to="/gate")
    heads = [
        f"{owner}{serial:06d}"
        for owner in ("ZZZU", "HQXJ", "ABKZ")
        for serial in range(0, 999999, 71429)
    ]
    found = page.evaluate(
        """async (heads) => {
            const { checkDigit } = await import("/static/marks.js");
            const tables = await (await fetch("/capture/marks.json")).json();
            return heads.map((head) => checkDigit(tables, head));
        }""",
        heads,
    )
    assert found == [marks.check_digit(head) for head in heads]


def test_form_fields_say_the_same_on_the_page_and_on_the_server(phone: Device) -> None:
    page = phone.sign_in("NORTH:gate", to="/gate")
    said = page.evaluate(
        """async (pairs) => (await import("/static/form_fields.js")).readFields(pairs)""", PAIRS
    )
    assert said == read_fields((name, value) for name, value in PAIRS)


@pytest.mark.parametrize("typed", ["#T-12", "# T-12", "#NORTH/T-12", "#SOUTH/T-12", "#", "T#12"])
def test_tag_number_is_told_from_a_mark_on_the_page_as_on_the_server(
    phone: Device, typed: str
) -> None:
    page = phone.sign_in("NORTH:gate", to="/gate")
    pairs = [("mark", typed), ("depot", "NORTH"), ("tag", "")]
    said = page.evaluate(
        """async (pairs) => (await import("/static/form_fields.js")).readFields(pairs)""", pairs
    )
    assert said == read_fields(pairs)


def file(name: str, content: bytes) -> FilePayload:
    return {"name": name, "mimeType": "image/jpeg", "buffer": content}


def sign(page: Page) -> None:
    """Write on the glass as a finger does."""
    page.locator("#glass canvas").scroll_into_view_if_needed()
    box = page.locator("#glass canvas").bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 20, box["y"] + 40)
    page.mouse.down()
    for step in range(1, 6):
        page.mouse.move(box["x"] + 20 + 30 * step, box["y"] + 40 + 25 * (step % 2))
    page.mouse.up()


def wait_for_kept(page: Page) -> None:
    """Wait until the device keeps what it takes to open the gate without a signal."""
    page.evaluate(
        """async () => {
            const wanted = ["/gate", "/gate/departure", "/capture/marks.json"];
            const isKept = async () => {
                const pages = await caches.open("hardstand-pages");
                const kept = await Promise.all(wanted.map((path) => pages.match(path)));
                return kept.every(Boolean) && navigator.serviceWorker.controller !== null;
            };
            while (!(await isKept())) await new Promise((resolve) => setTimeout(resolve, 30));
        }"""
    )


def test_slot_that_cannot_be_one_is_put_right_on_the_device_and_nothing_is_typed_twice(
    phone: Device, live: LiveSite
) -> None:
    page = phone.sign_in("NORTH:gate", to="/gate")
    page.fill("#mark", BOX)
    page.click("summary:has-text('Purpose, haulier')")
    page.fill("#haulier", "Tarn Haulage")
    page.fill("#slot", "by the fence")
    page.click("text=Record arrival")
    assert page.evaluate("document.getElementById('slot').validity.patternMismatch")
    # As from a page whose browser does not know patterns, or that was kept from before.
    page.evaluate("document.getElementById('slot').removeAttribute('pattern')")
    page.click("text=Record arrival")
    asked = page.locator("#attention .entry")
    expect(asked).to_contain_text("put this right")
    expect(asked).to_contain_text("Letters, digits, dots")
    assert live.depot.one("SELECT count(*) FROM unreadable") == 0
    asked.get_by_label("Where it is set down").fill("f1")
    asked.get_by_role("button", name="Send it again").click()
    expect(page.locator("#attention")).to_be_hidden()
    expect(page.locator("#entries .entry-state")).to_have_text("recorded")
    view = live.depot.show(BOX)
    assert (view.record["slot"], view.history[0]["event"]["haulier"]) == ("F1", "Tarn Haulage")


def test_sold_unit_that_left_comes_as_a_take_back_unless_somebody_says_otherwise(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("gate-in"), report("sale"), report("gate-out", happened_at=EIGHT))
    live.depot.record(
        report("gate-in", OTHER), report("gate-out", OTHER, purpose="scrap", happened_at=EIGHT)
    )
    page = phone.sign_in("NORTH:gate", to="/gate")
    page.fill("#mark", OTHER)
    expect(page.locator("#known")).to_contain_text("Choose below why it comes")
    page.click("text=Record arrival")
    assert page.evaluate("document.getElementById('purpose').validity.valueMissing")
    page.fill("#mark", BOX)
    expect(page.locator("#known")).to_contain_text("taken as “Take back”")
    expect(page.locator("#purpose")).to_be_visible()
    page.click("text=Record arrival")
    expect(page.locator("#told")).to_contain_text("recorded")
    assert live.depot.show(BOX).record["purpose"] == "take-back"


def test_patterns_of_all_pages_are_regular_expressions_to_the_browser(phone: Device) -> None:
    page = phone.sign_in("NORTH:gate", to="/gate")
    folder = resources.files("tracker.web") / "templates"
    with resources.as_file(folder) as templates:
        found = {
            unescape(pattern)
            for file in templates.rglob("*.html")
            for pattern in re.findall(r' pattern="([^"{]*(?:\{\d[^"]*)?)"', file.read_text())
        }
    assert found
    wrong = page.evaluate(
        """(patterns) => patterns.filter((one) => {
            try { return !new RegExp(`^(?:${one})$`, "v"); } catch { return true; }
        })""",
        sorted(found),
    )
    assert wrong == []
