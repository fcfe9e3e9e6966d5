"""The gate's pages without script: what the barrier answers, and what a form that is wrong says."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pytest

from shared.clock import StandingClock
from shared.ids import new_id
from tests.support.depot import BOX, OTHER, id_of, report
from tests.support.draining import draining
from tests.support.forms import form_of
from tests.support.pictures import make_photo
from tracker.services import keep_house
from tracker.web.pages.put_right import LABELS

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

OWN = "QUILL-7K4M2P"
ORDERS = "BAND-3XX7QQ"
AGAIN = "A box that leaves all the same"


def look(client: TestClient, mark: str = BOX, **driver: str) -> tuple[str, str]:
    """Return the word and the text of the barrier's answer, and what can be done about it."""
    page = client.get("/gate/departure", params={"depot": "NORTH", "mark": mark, **driver}).text
    word = re.search(r'id="answer-word">.*?</svg>\s*(.*?)</h2>', page, re.S)
    assert word is not None, page
    return word.group(1).strip(), page


def clear(client: TestClient, **said: str) -> Any:  # noqa: ANN401 - httpx's answer
    """Send the form that clears a box."""
    form = {"kind": "clearance", "depot": "NORTH", "mark": BOX, "form": str(new_id())}
    return client.post("/gate/departure", data=form | said)


@pytest.fixture
def gate(site: Site) -> TestClient:
    """A gate clerk, at the depot where one box stands that is sold and released to a haulier."""
    site.depot.record(report("gate-in", size_type="22G1"))
    site.depot.record(report("sale"), report("release", reference=OWN, haulier="Tarn Haulage"))
    return site.person("NORTH:gate", name="gil")


@pytest.fixture
def on_order(site: Site) -> TestClient:
    """A gate clerk, where a free box stands, and an order's reference lets two of its kind pass."""
    site.depot.record(
        report("gate-in", size_type="22G1"), report("gate-in", OTHER, size_type="22G1")
    )
    wanted = {"buyer": "Orin Vale", "description": {"length_ft": 20}, "count": 2, "paid": True}
    site.depot.record(order := report("order", None, **wanted))
    given = {"order": id_of(order), "count": 2, "reference": ORDERS, "haulier": "Tarn Haulage"}
    site.depot.record(report("release", None, **given))
    return site.person("NORTH:gate", name="gil")


def test_released_box_without_a_reference_is_no_yes_but_asks_for_it(gate: TestClient) -> None:
    word, page = look(gate)
    assert word == "Released: ask for the reference"
    assert 'class="answer yes"' not in page
    assert "Released to the haulier <b>Tarn Haulage</b>" in page
    assert OWN not in page
    word, page = look(gate, reference=OWN)
    assert word == "Yes, it may leave"
    assert "Clear it at the barrier" in page


def test_wrong_haulier_at_the_barrier_draws_the_answer_red(gate: TestClient, site: Site) -> None:
    with draining(site):
        told = clear(gate, reference=OWN, haulier="Nobody Ltd")
    assert "<h1>Refused</h1>" in told.text
    back = re.search(r'href="(/gate/departure[^"]*)">Go on', told.text)
    assert back is not None
    page = gate.get(back.group(1).replace("&amp;", "&")).text
    assert "No, it stays here" in page
    assert "given to Tarn Haulage, not to Nobody Ltd" in page.replace("&#39;", "'")
    assert "override_reason" not in page


def test_manager_lets_pass_what_is_commercial_with_a_reason_and_nothing_else(
    gate: TestClient, site: Site
) -> None:
    manager = site.person("NORTH:manager", name="mo")
    _, page = look(manager, reference=OWN, haulier="Nobody Ltd")
    assert 'name="override_reason" required' in page
    with draining(site):
        said = {"reference": OWN, "haulier": "Nobody Ltd", "override_reason": "their lorry broke"}
        assert "<h1>Recorded</h1>" in clear(manager, **said).text
    assert look(gate, reference=OWN, haulier="Nobody Ltd")[0] == "Cleared, it may pass"
    _, page = look(manager, reference="WRONG-REF", haulier="Nobody Ltd")
    assert "override_reason" not in page


def test_order_reference_lets_a_free_box_pass_once_it_is_cleared_and_uses_its_count(
    on_order: TestClient, site: Site
) -> None:
    word, page = look(on_order, reference=ORDERS, haulier="Tarn Haulage")
    assert word == "Yes, it may leave"
    assert "it lets 2 more\n    boxes of the order pass" in page
    assert "Clear it at the barrier" in page
    with draining(site):
        said = {"reference": ORDERS, "haulier": "Tarn Haulage"}
        assert "<h1>Recorded</h1>" in clear(on_order, **said).text
    word, page = look(on_order, reference=ORDERS)
    assert word == "Cleared, it may pass"
    assert '<details class="fold" id="leaving" open>' in page
    assert "it lets 1 more\n    box of the order pass" in look(on_order, OTHER, reference=ORDERS)[1]
    with draining(site):
        out = {"kind": "gate-out", "purpose": "sale", **said}
        assert "<h1>Recorded</h1>" in clear(on_order, **out).text
    record = site.depot.show(BOX).record
    assert (record["presence"], record["breaches"]) == ("away", [])


def test_free_box_without_a_reference_leads_to_asking_for_it(on_order: TestClient) -> None:
    word, page = look(on_order)
    assert word == "No, it stays here"
    assert "Does the driver collect on an order?" in page


def test_reference_that_nobody_gave_is_said_to_be_unknown(on_order: TestClient) -> None:
    word, page = look(on_order, reference="NOBODY-KNOWS")
    assert word == "No, it stays here"
    assert "No collection reference NOBODY-KNOWS is known." in page


@pytest.mark.parametrize(
    ("hold", "says"),
    [
        ("do-not-lift", "Nobody stands under or beside it"),
        ("do-not-stack", "The allowable stacking load"),
        ("do-not-enter", "A closed unit may hold gas"),
    ],
)
def test_hold_for_safety_gives_its_caution_and_the_competent_person(
    gate: TestClient, site: Site, hold: str, says: str
) -> None:
    site.depot.record(report("hold", hold=hold, reason="a corner post is bent"))
    _, page = look(gate, reference=OWN)
    assert says in page
    assert "Only a competent person" in page
    assert "The desk can settle this" not in page
    assert AGAIN in page


def test_hold_of_the_desk_is_for_the_desk(gate: TestClient, site: Site) -> None:
    site.depot.record(report("hold", hold="do-not-release", reason="the cheque bounced"))
    _, page = look(gate, reference=OWN)
    assert "Only a competent person" not in page
    assert "Ask the desk" in page


def test_transfer_may_go_to_any_depot_of_the_house(gate: TestClient) -> None:
    _, page = look(gate)
    assert '<option value="SOUTH">South</option>' in page
    assert '<option value="NORTH">' not in page


def arrive(client: TestClient, **said: str) -> Any:  # noqa: ANN401 - httpx's answer
    """Send the form of an arrival, without script."""
    form = {"kind": "gate-in", "depot": "NORTH", "mark": BOX, "form": str(new_id())}
    return client.post("/gate/arrival", data=form | said)


def test_slot_typed_in_small_letters_is_taken_in_capitals(site: Site) -> None:
    with draining(site):
        assert "<h1>Recorded</h1>" in arrive(site.person("NORTH:gate"), slot="a1-2").text
    assert site.depot.show(BOX).record["slot"] == "A1-2"


def test_form_that_cannot_be_read_is_asked_for_again_by_the_fields_label(site: Site) -> None:
    client = site.person("NORTH:gate")
    photo = {"@photos": ("box.jpg", make_photo(), "image/jpeg")}
    form = {"kind": "gate-in", "depot": "NORTH", "mark": BOX, "form": str(new_id())}
    said = {"slot": "by the fence", "haulier": "Tarn Haulage", "masses.tare_kg:int": "2,230"}
    asked = client.post("/gate/arrival", data=form | said, files=photo)
    assert asked.status_code == 422
    assert "Where it is set down</label>" in asked.text
    assert "hardstand schema" not in asked.text
    assert site.depot.one("SELECT count(*) FROM unreadable") == 0
    again = form_of(asked.text, "put-right")
    assert again["slot"] == ["by the fence"]
    with draining(site):
        done = client.post("/gate/arrival", data=again | {"slot": ["F1"]})
    assert "<h1>Recorded</h1>" in done.text
    view = site.depot.show(BOX)
    assert (view.record["slot"], view.record["tare_kg"]) == ("F1", 2230)
    event = view.history[0]["event"]
    assert (event["haulier"], len(event["photos"])) == ("Tarn Haulage", 1)


def test_labels_of_what_is_to_be_put_right_are_those_of_the_pages(site: Site) -> None:
    client = site.person("NORTH:gate")
    pages = client.get("/gate/departure").text + client.get("/gate").text
    inputs = re.findall(r'<\w+[^>]*? id="([\w-]+)"[^>]*? name="([^"]+)"', pages)
    named = dict(inputs)
    labels = {
        named[known]: re.sub(r"<.*", "", said, flags=re.S).strip()
        for known, said in re.findall(r'<label for="([\w-]+)">(.*?)</label>', pages, re.S)
        if known in named
    }
    paths = {name.partition(":")[0]: label for name, label in labels.items()}
    assert {path: paths[path] for path in LABELS} == LABELS


def test_transfer_without_a_destination_is_asked_where_it_goes(
    gate: TestClient, site: Site
) -> None:
    out = {"kind": "gate-out", "purpose": "transfer", "seal": "QX 1"}
    asked = clear(gate, **out)
    assert asked.status_code == 422
    assert '<option value="SOUTH">South</option>' in asked.text
    again = form_of(asked.text, "put-right")
    with draining(site):
        done = gate.post("/gate/departure", data=again | {"to_depot": ["SOUTH"]})
    assert "<h1>Recorded</h1>" in done.text
    record = site.depot.show(BOX).record
    assert (record["presence"], record["depot"]) == ("expected", "SOUTH")


def test_misread_number_of_a_departure_leads_to_what_stands_here_before_what_is_expected(
    site: Site,
) -> None:
    here, coming, misread = "HQXU4121022", "HQXU4171023", "HQXU4121023"
    site.depot.record(report("gate-in", here), report("pre-advice", coming))
    client = site.person("NORTH:gate", "SOUTH:gate")

    def offered(**how: str) -> str:
        asked = {"mark": misread, "depot": "NORTH", **how}
        first: str = client.get("/api/check", params=asked).json()["suggestions"][0]
        return first

    assert offered() == coming
    assert offered(leaves="true") == here
    assert offered(leaves="true", depot="SOUTH") != here


def test_arrival_sent_again_after_the_way_back_is_asked_about_before_it_is_recorded(
    site: Site, clock: StandingClock
) -> None:
    client = site.person("NORTH:gate")
    form = str(new_id())
    with draining(site):
        assert "<h1>Recorded</h1>" in arrive(client, form=form, slot="a1").text
        clock.move(timedelta(minutes=1))
        assert "<h1>Recorded</h1>" in arrive(client, form=form, slot="a1").text, "loaded again"
        asked = arrive(client, slot="a1")
    assert asked.status_code == 409
    assert "<h1>It came in 1 minute ago</h1>" in asked.text
    assert len(site.depot.show(BOX).history) == 1
    with draining(site):
        done = client.post("/gate/arrival", data=form_of(asked.text, "again"))
    assert "<h1>Recorded</h1>" in done.text
    assert [one["finding"] for one in site.depot.show(BOX).record["questions"]] == [
        "presence.missed-departure"
    ]


def test_sold_unit_that_left_is_asked_why_it_comes_with_the_take_back_proposed(
    site: Site, clock: StandingClock
) -> None:
    site.depot.record(report("gate-in"))
    site.depot.record(report("sale"), report("release", reference=OWN))
    site.depot.record(report("clearance", reference=OWN))
    clock.move(timedelta(hours=2))
    site.depot.record(report("gate-out", happened_at="2026-03-02T09:00:00Z"))
    client = site.person("NORTH:gate")
    asked = arrive(client, purpose="purchase", seal="QX 1")
    assert asked.status_code == 422
    assert "It was sold and left. Why does it come?" in asked.text
    assert '<option value="take-back" selected>' in asked.text
    again = form_of(asked.text, "put-right")
    with draining(site):
        done = client.post("/gate/arrival", data=again | {"purpose": ["take-back"]})
    assert "<h1>Recorded</h1>" in done.text
    record = site.depot.show(BOX).record
    assert (record["presence"], record["purpose"]) == ("in-depot", "take-back")


def test_unit_that_left_unsold_is_asked_why_it_comes_with_nothing_proposed(
    site: Site, clock: StandingClock
) -> None:
    site.depot.record(report("gate-in"))
    clock.move(timedelta(hours=2))
    out = {"purpose": "scrap", "happened_at": "2026-03-02T09:00:00Z"}
    site.depot.record(report("gate-out", **out))
    client = site.person("NORTH:gate")
    asked = arrive(client, purpose="purchase")
    assert "It was here before and left. Why does it come?" in asked.text
    assert "selected" not in asked.text
    with draining(site):
        again = form_of(asked.text, "put-right") | {"purpose": ["purchase"]}
        done = client.post("/gate/arrival", data=again)
    assert "<h1>Recorded</h1>" in done.text, "a purchase is one of the answers"


def test_what_a_form_came_to_is_told_in_the_depots_time_and_leads_to_the_box(site: Site) -> None:
    keep_house.set_depot(site.depot.web, "NORTH", "North", "Asia/Kathmandu")
    site.depot.record(report("gate-in", happened_at="2026-03-02T07:00:00+00:00"))
    client = site.person("NORTH:gate")
    said = {"kind": "gate-in", "depot": "NORTH", "mark": BOX, "purpose": "purchase", "sure": "yes"}
    with draining(site):
        page = client.post("/gate/arrival", data=said | {"form": str(new_id())}).text
    assert "2 Mar 2026, 12:45" in page
    assert "UTC" not in page
    assert f'href="/units/{BOX}">See the box' in page
