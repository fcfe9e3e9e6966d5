"""The workshop in a real browser: fitting, painting, mending, inspecting; also without signal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from playwright.sync_api import expect

from tests.support.depot import BOX, report
from tests.support.pictures import make_photo

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page, Route

    from tests.browser.conftest import Device
    from tests.support.live_site import LiveSite

MASSES = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
NOTE = "Wall two metres from the doors"
PHOTO = {"name": "p.jpg", "mimeType": "image/jpeg", "buffer": make_photo()}
LINES = [{"work": "lock-box", "count": 1}, {"work": "partition", "count": 1}]


def order_work(live: LiveSite) -> None:
    live.depot.record(
        report("gate-in", size_type="22G1", masses=MASSES, slot="B2-1"),
        report("work-order", lines=LINES, due_on="2026-03-03", note=NOTE),
    )


def test_fitting_changes_the_tare_which_is_then_painted(device: Device, live: LiveSite) -> None:
    order_work(live)
    page = device.sign_in("NORTH:workshop", to="/workshop")
    expect(page.locator(".job")).to_contain_text("Lock box welded")
    page.click(".job-link")
    expect(page.locator(".where-to")).to_have_text(NOTE)
    photograph(page, "#fit-photo-1")
    page.click("text=Done as ticked")
    expect(page.locator("#new-tare")).to_have_text("2 399 kg")
    record = live.depot.show(BOX).record
    assert (record["tare_kg"], record["payload_kg"]) == (2230 + 9 + 160, 30480 - 2399)
    assert (record["orders"], record["repaint"]) == ([], ["masses"])
    page.click("text=Painted as shown")
    expect(page.locator("#new-tare")).to_have_count(0)
    record = live.depot.show(BOX).record
    assert (record["repaint"], record["painted_tare_kg"], record["questions"]) == ([], 2399, [])


def test_order_of_fitting_mending_and_paint_is_done_line_by_line(
    device: Device, live: LiveSite
) -> None:
    lines = [{"work": "lock-box"}, {"work": "floor-mend"}, {"work": "door-marking"}]
    live.depot.record(report("gate-in", size_type="22G1"), report("work-order", lines=lines))
    page = device.sign_in("NORTH:workshop", to=f"/workshop/unit?name={BOX}")
    for words, left in (("Board of the floor", 2), ("Lock box welded", 1), ("Tare and payload", 0)):
        form = page.locator("section form", has_text=words)
        form.locator("button.wide").click()
        expect(form).to_have_count(0)
        orders = live.depot.show(BOX).record["orders"]
        assert [len(one["lines"]) - len(one["done"]) for one in orders] == ([left] if left else [])


def test_a_photo_taken_before_the_script_has_come_is_kept(phone: Device, live: LiveSite) -> None:
    order_work(live)
    page = phone.sign_in("NORTH:workshop", to="/alerts")

    def choose_before(route: Route) -> None:
        page.set_input_files("#fit-photo-1", PHOTO)  # type: ignore[arg-type] - a plain dict will do
        route.continue_()

    page.route("**/static/photos.js", choose_before)
    page.goto(f"/workshop/unit?name={BOX}")
    expect(shot_says(page, "#fit-photo-1")).to_have_text("clear")


def test_verdict_that_comes_late_is_shown_without_being_asked_for(
    phone: Device, live: LiveSite
) -> None:
    order_work(live)
    page = phone.sign_in("NORTH:workshop", to=f"/workshop/unit?name={BOX}")

    def answer_nothing_yet(route: Route) -> None:
        route.fulfill(status=202, json={"state": "waiting"})

    page.route("**/api/events/*", answer_nothing_yet, times=1)
    page.click("text=Done as ticked")
    expect(page.locator("#new-tare")).to_have_text("2 399 kg")


def test_work_without_a_signal_is_kept_and_recorded_later(phone: Device, live: LiveSite) -> None:
    order_work(live)
    page = phone.sign_in("NORTH:workshop", to="/workshop")
    wait_for_kept(page, f"/workshop/unit?name={BOX}")
    live.switch_off()
    page.goto("/workshop")
    page.click(".job-link")
    page.locator("input[value=partition]").uncheck()
    page.click("text=Done as ticked")
    expect(page.locator("#told")).to_contain_text("until there is a signal")
    live.switch_on()
    page.goto("/workshop")
    expect(page.locator("#entries .entry-state")).to_have_text("recorded")
    record = live.depot.show(BOX).record
    assert (record["fittings"], record["tare_kg"]) == ({"lock-box": 1}, 2239)


def test_labels_are_taken_off_in_the_workshop_with_the_caution_of_the_air(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("gate-in", size_type="22G1", placards="METHYL BROMIDE"))
    page = phone.sign_in("NORTH:workshop", to="/workshop")
    job = page.locator(".job", has_text=BOX)
    expect(job).to_contain_text("Labels to take off: METHYL BROMIDE, air it first")
    job.locator("a").click()
    expect(page.locator(".caution", has_text="Air it first")).to_be_visible()
    page.wait_for_load_state()  # what is kept on the device is kept by the script
    page.click("text=They are off")
    expect(page.locator("#entries .entry-state")).to_have_text("recorded")
    expect(page.locator("text=Take the labels off")).to_have_count(0)
    assert live.depot.show(BOX).record["placards"] is None


def test_inspection_asks_for_the_air_first_and_reads_the_plate(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("gate-in", size_type="22G1", masses=MASSES, placards="METHYL BROMIDE"))
    page = phone.sign_in("NORTH:workshop", to="/workshop")
    page.fill("#name", BOX)
    page.click("text=Begin")
    expect(page.locator(".known-already", has_text="METHYL BROMIDE")).to_be_visible()
    page.evaluate("for (const room of document.querySelectorAll('.room')) room.open = true")
    floor = page.locator("input[name='answers.floor.found'][value=good]")
    expect(floor).to_be_disabled()
    page.locator("input[name='gas.ventilated_by']").check()
    expect(floor).to_be_enabled()
    floor.check()
    page.fill("#plate-approval_reference", "ZZ-1234/25")
    page.fill("#plate-manufactured_in", "2025-01")
    page.fill("#plate-gross_kg", "30 480")
    page.fill("#plate-next_examination", "2029-12")
    photograph(page, "#plate-photo")
    page.select_option("#d0-component", "door-gasket")
    page.select_option("#d0-kind", "cut")
    page.fill("#d0-place", "db1n")
    page.click("text=One more damage")
    page.select_option("#d1-component", "side-panel")
    page.select_option("#d1-kind", "dented")
    page.fill("#d1-mm", "35")
    page.select_option("#condition", "wind-and-watertight")
    page.click("text=Record inspection")
    expect(page.locator("#told")).to_contain_text("recorded")
    record = live.depot.show(BOX).record
    assert (record["air"], record["condition"]) == ("ventilated", "wind-and-watertight")
    assert [one["component"] for one in record["damages"]] == ["door-gasket", "side-panel"]
    plate = record["plate"]
    assert (plate["gross_kg"], plate["next_examination"], len(plate["photo"])) == (
        30480,
        "2029-12",
        64,
    )


def test_damage_is_asked_for_what_it_lacks_and_all_that_was_typed_stays(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("gate-in", size_type="22G1"))
    page = phone.sign_in("NORTH:workshop", to=f"/workshop/inspection?name={BOX}")
    page.wait_for_load_state("networkidle")
    record = page.get_by_role("button", name="Record inspection")
    record.click()
    expect(page.locator("#told")).to_contain_text("Nothing was filled in")
    page.select_option("#d0-kind", "cracked")
    page.fill("#d0-mm", "3,5")
    record.click()
    assert page.evaluate("document.activeElement.id") == "d0-component"
    page.select_option("#d0-component", "corner-fitting")
    record.click()
    assert page.evaluate("document.activeElement.validationMessage").startswith(
        "Whole numbers only"
    )
    assert live.depot.show(BOX).record["damages"] == []
    page.fill("#d0-mm", "12")
    photograph(page, "#d0-photo")
    record.click()
    expect(page.get_by_role("button", name="Hold it: do not lift")).to_be_visible()
    expect(page.locator(".fault").first).to_contain_text("Take care with it now")
    (damage,) = live.depot.show(BOX).record["damages"]
    assert (damage["measured_mm"], len(damage["photos"])) == (12, 1)
    page.get_by_role("button", name="Hold it: do not lift").click()
    expect(page.locator(".hold")).to_contain_text("Do not lift")
    assert [one["hold"] for one in live.depot.show(BOX).record["holds"]] == ["do-not-lift"]


def test_photo_of_the_second_damage_stands_with_it_though_the_first_row_is_empty(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("gate-in", size_type="22G1"))
    page = phone.sign_in("NORTH:workshop", to=f"/workshop/inspection?name={BOX}")
    page.click("text=One more damage")
    page.click("text=One more damage")
    for number, component in ((1, "floor"), (2, "door-panel")):
        page.select_option(f"#d{number}-component", component)
        page.select_option(f"#d{number}-kind", "worn")
    photograph(page, "#d2-photo")
    page.click("text=Record inspection")
    expect(page.locator("#told")).to_contain_text("recorded")
    floor, door = live.depot.show(BOX).record["damages"]
    assert (floor["photos"], len(door["photos"])) == ([], 1)


def test_what_was_typed_outlives_another_intended_use_and_goes_once_recorded(
    phone: Device, live: LiveSite
) -> None:
    live.depot.record(report("gate-in", size_type="22G1"))
    page = phone.sign_in("NORTH:workshop", to=f"/workshop/inspection?name={BOX}")
    page.wait_for_load_state("networkidle")
    page.click("text=One more damage")
    page.select_option("#d1-component", "floor")
    page.select_option("#d1-kind", "worn")
    page.fill("#note", "swept out")
    page.select_option("#use", "export")
    expect(page.locator("#told")).to_contain_text("is back")
    expect(page.locator("#d1-component")).to_have_value("floor")
    page.reload()
    expect(page.locator("#note")).to_have_value("swept out")
    page.click("text=Record inspection")
    expect(page.locator("#told")).to_contain_text(": recorded")
    page.reload()
    expect(page.locator("#note")).to_have_value("")
    assert [one["component"] for one in live.depot.show(BOX).record["damages"]] == ["floor"]


def test_hold_without_a_signal_is_kept_and_recorded_later(phone: Device, live: LiveSite) -> None:
    order_work(live)
    page = phone.sign_in("NORTH:workshop", to=f"/workshop/unit?name={BOX}")
    wait_for_kept(page, f"/workshop/unit?name={BOX}")
    live.switch_off()
    page.goto(f"/workshop/unit?name={BOX}")
    page.click("summary:has-text('Hold it')")
    page.select_option("#hold-kind", "do-not-enter")
    page.fill("#hold-reason", "it smells of almonds")
    page.locator("#hold button").click()
    expect(page.locator("#told")).to_contain_text("until there is a signal")
    live.switch_on()
    page.goto("/workshop")
    expect(page.locator("#entries .entry-state")).to_have_text("recorded")
    (hold,) = live.depot.show(BOX).record["holds"]
    assert (hold["hold"], hold["reason"]) == ("do-not-enter", "it smells of almonds")


def test_mending_takes_the_damage_that_is_ticked(phone: Device, live: LiveSite) -> None:
    damages = [
        {"component": "floor", "kind": "holed", "urgency": "before-release"},
        {"component": "paint", "kind": "paint-failed"},
    ]
    live.depot.record(report("gate-in"), report("inspection", damages=damages))
    page = phone.sign_in("NORTH:workshop", to="/workshop")
    page.click(".job-link")
    page.wait_for_load_state()  # what is asked for is asked for by the script
    page.get_by_role("button", name="Mended", exact=True).click()
    expect(page.locator("#told")).to_contain_text("Tick what it is about")
    page.locator(".tick", has_text="Floor: holed").click()
    page.get_by_role("button", name="Mended", exact=True).click()
    expect(page.locator(".tick", has_text="Floor: holed")).to_have_count(0)
    assert [one["component"] for one in live.depot.show(BOX).record["damages"]] == ["paint"]
    # Of one damage alone there is nothing to choose.
    expect(page.locator("input[name='damages:list']")).to_be_checked()


def test_former_owners_marks_come_off_with_a_photo(phone: Device, live: LiveSite) -> None:
    bought = {"owner": "Northquay Boxes", "previous_owner": "Farline Leasing"}
    proof = {"title_evidence": "sale note 2026-120", "title_passed_on": "2026-03-01"}
    live.depot.record(report("gate-in"), report("acquisition", **bought, **proof))
    page = phone.sign_in("NORTH:manager", to=f"/sales/deal?unit={BOX}")
    condition = page.locator(".conditions li", has_text="No other owner's marks are on it")
    condition.get_by_role("link", name="Report it once it is done").click()
    expect(page.locator("#marks")).to_contain_text("It still bears the marks of Farline Leasing")
    photograph(page, "#marks-photo")
    page.get_by_role("button", name="The marks are off").click()
    expect(page.locator("#marks")).to_have_count(0)
    assert live.depot.show(BOX).record["previous_owner"] is None
    assert len(live.depot.show(BOX).history[-1]["event"]["photos"]) == 1


def photograph(page: Page, field: str) -> None:
    page.set_input_files(field, PHOTO)  # type: ignore[arg-type] - a plain dict will do
    expect(shot_says(page, field)).to_have_text("clear")


def shot_says(page: Page, field: str) -> Locator:
    return page.locator("[data-photo]", has=page.locator(field)).locator(".shot-says")


def wait_for_kept(page: Page, path: str) -> None:
    """Wait until the device keeps a page."""
    page.evaluate(
        """async (path) => {
            const isKept = async () => await (await caches.open("hardstand-pages")).match(path);
            while (!(await isKept())) await new Promise((resolve) => setTimeout(resolve, 30));
        }""",
        path,
    )
