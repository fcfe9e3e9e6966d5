"""The sales desk: found, compared, reserved, sold and released by forms alone."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from shared.clock import StandingClock
from shared.ids import new_id
from tests.support.depot import BOX, OTHER, THIRD, id_of, marks_of, report
from tests.support.draining import draining
from tests.support.web import Site
from tracker.services import deal_view
from tracker.services.daily_round import make_rounds

if TYPE_CHECKING:
    from starlette.testclient import TestClient

MASSES = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28250}
PLATE = {"manufactured_in": "2021-05", "next_examination": "2026-11"}


def deal(client: TestClient, mark: str, **fields: str) -> tuple[int, str]:
    """Send a form of the deal's page; return the status and the page that came in the end."""
    answer = client.post(f"/sales/deal?unit={mark}", data={"form": str(new_id()), **fields})
    if answer.status_code == 303:
        return 303, client.get(answer.headers["location"]).text
    return answer.status_code, answer.text


def marks_in(page: str) -> list[str]:
    return re.findall(r'class="mark" href="[^"]*">([A-Z]{4}\d{7})<', page)


@pytest.fixture
def stocked(site: Site) -> Site:
    site.depot.record(
        report("gate-in", BOX, size_type="22G1", masses=MASSES, plate=PLATE),
        report("inspection", BOX, condition="cargo-worthy"),
        report(
            "gate-in",
            OTHER,
            size_type="45G1",
            plate={"manufactured_in": "2010-02", "next_examination": "2028-03"},
        ),
        report("inspection", OTHER, condition="as-is"),
        report("modification", OTHER, fittings=[{"work": "lock-box", "mass_kg": 9}]),
        report("gate-in", THIRD, depot="SOUTH", size_type="22U1"),
    )
    return site


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("", [BOX, OTHER, THIRD]),
        ("length=20", [BOX, THIRD]),
        ("length=40&high=yes", [OTHER]),
        ("length=20&high=yes", []),
        ("high=no", [BOX, THIRD]),
        ("kind=U", [THIRD]),
        ("condition=as-is", [OTHER]),
        ("fitting=lock-box", [OTHER]),
        ("fitting=lock-box&fitting=roof-vent", []),
        ("made_from=2020", [BOX]),
        ("made_until=2010", [OTHER]),
        ("lasts=9", [OTHER]),
        ("lasts=8", [BOX, OTHER]),
        ("depot=SOUTH", [THIRD]),
        ("mark=zzzu 3", [BOX, OTHER]),
        ("fitting=&length=&colour=", [BOX, OTHER, THIRD]),
    ],
)
def test_units_are_found_by_what_the_buyer_wants(
    stocked: Site, query: str, found: list[str]
) -> None:
    page = stocked.person("*:sales").get(f"/sales?{query}").text
    assert marks_in(page) == sorted(found)


def test_sales_desk_of_one_depot_sees_its_own_units_only(stocked: Site) -> None:
    client = stocked.person("SOUTH:sales")
    assert marks_in(client.get("/sales").text) == [THIRD]
    assert client.get(f"/sales/deal?unit={BOX}").status_code == 404
    assert client.get(f"/sales/compare?unit={BOX}").status_code == 404


def test_three_units_stand_side_by_side_and_no_more(stocked: Site) -> None:
    client = stocked.person("*:sales")
    extra = stocked.depot.unit_id(BOX)
    page = client.get(f"/sales/compare?unit={BOX}&unit={OTHER}&unit={THIRD}&unit={extra}").text
    heads = re.findall(r'<th scope="col"><a class="mark"[^>]*>(\w+)<', page)
    assert heads == [BOX, OTHER, THIRD]
    assert f"left out: {extra}" in page
    assert "lock box" in page


def test_unit_is_reserved_sold_and_released_by_forms(stocked: Site) -> None:
    client = stocked.person("NORTH:sales")
    with draining(stocked):
        kept, page = deal(
            client,
            BOX,
            kind="reservation",
            buyer="Tolly Wick",
            until="2026-03-09",
            intended_use="storage",
        )
        assert kept == 303
        assert "Reserved for <b>Tolly Wick</b> until 9 Mar 2026, 23:59" in page
        sold, page = deal(
            client, BOX, kind="sale", buyer="Tolly Wick", intended_use="storage", price="1850.50",
            currency="EUR", **{"paid:bool": "yes"},
        )  # fmt: skip
        assert sold == 303
        assert "Sold to <b>Tolly Wick</b>" in page
        assert "Price in EUR" in page
        assert sums_in(page) == {
            "The unit as it is": "1850.50",
            "Net": "1850.50",
            "Tax 0 %": "0.00",
            "To be paid, EUR": "1850.50",
        }
        released, page = deal(client, BOX, kind="release", haulier="Hob and Cart")
    assert released == 303
    reference = stocked.depot.show(BOX).record["release"]["reference"]
    assert f'<p class="big">{reference}</p>' in page
    assert "Nobody stands under or beside it" in page


def sums_in(page: str) -> dict[str, str]:
    """Return the lines of a price as they stand on a page."""
    found = re.findall(r'<th scope="row">([^<]*)</th><td class="number">(?:<b>)?([\d.]*)', page)
    return dict(found)


def test_conversions_and_tax_are_sold_by_the_form(stocked: Site) -> None:
    client = stocked.person("NORTH:sales")
    lines = {
        "!lines": "what",
        "lines.0.what": "louvre-vent",
        "lines.0.count:int": "2",
        "lines.0.price_each": "48.05",
        "lines.1.count:int": "1",
    }
    said = {"buyer": "Tolly Wick", "intended_use": "storage", "price": "1850.50"}
    with draining(stocked):
        sold, page = deal(client, BOX, kind="sale", **said, **lines, tax_rate_percent="7.5")
    assert sold == 303
    assert sums_in(page) == {
        "The unit as it is": "1850.50",
        "2 \N{MULTIPLICATION SIGN} louvre vent at 48.05": "96.10",
        "Net": "1946.60",
        "Tax 7.5 %": "146.00",
        "To be paid, EUR": "2092.60",
    }
    kept = stocked.depot.show(BOX).record["sale"]
    assert (kept["net"], kept["tax"], kept["gross"]) == ("1946.60", "146.00", "2092.60")


def test_rate_and_reason_for_none_are_refused_in_words(stocked: Site) -> None:
    client = stocked.person("NORTH:sales")
    said = {"buyer": "Tolly Wick", "intended_use": "export", "price": "1850.50"}
    status, page = deal(
        client, BOX, kind="sale", **said, tax_rate_percent="20", untaxed_because="export to HQ"
    )
    assert status == 422
    assert "untaxed_because says that no tax is charged" in page
    assert 'value="export to HQ"' in page


def test_reference_is_passed_on_by_the_form_and_the_old_one_is_crossed_out(stocked: Site) -> None:
    stocked.depot.record(report("sale", BOX), report("release", BOX))
    client = stocked.person("NORTH:sales")
    said = {"reference": "COLLECT-71", "collector": "Wren Tolley", "haulier": "Reed Haulage"}
    with draining(stocked):
        passed, page = deal(client, BOX, kind="passing-on", **said)
    assert passed == 303
    reference = stocked.depot.show(BOX).record["release"]["reference"]
    assert f'<p class="big">{reference}</p>' in page
    assert '<s class="mark">COLLECT-71</s> opens nothing any more' in page
    assert "Tell it to Wren Tolley for Reed Haulage" in page


def test_proof_of_export_is_recorded_by_the_form_and_ends_its_alert(
    stocked: Site, clock: StandingClock
) -> None:
    depot = stocked.depot
    depot.open_depot("NORTH")
    at = {"happened_at": "2026-03-02T07:30:00+00:00"}
    depot.record(report("sale", BOX, intended_use="export"), report("gate-out", BOX, **at))
    clock.move(timedelta(days=40))
    make_rounds(depot.worker)
    client = stocked.person("NORTH:sales")

    def alerts() -> list[str]:
        return [one["kind"] for one in depot.show(BOX).record["alerts"]]

    assert "proof-of-export" in alerts()
    with draining(stocked):
        status, page = deal(client, BOX, kind="delivery", outcome="delivered")
        assert (status, "Proof of export:" in page) == (303, False)
        assert "proof-of-export" in alerts(), "delivered is not proved"
        proof = {"outcome": "delivered", "proof_of_export": "EX 26 0071"}
        status, page = deal(client, BOX, kind="delivery", **proof)
    assert status == 303
    assert "Proof of export: EX 26 0071." in page
    assert "proof-of-export" not in alerts()


def test_title_and_customs_entry_are_recorded_by_the_form(stocked: Site) -> None:
    client = stocked.person("NORTH:sales")
    said = {
        "owner": "Hardstand Trading",
        "title_evidence": "bill of sale 7",
        "title_passed_on": "2026-03-01",
        "customs": "free-circulation",
        "customs_entry": "ENTRY 4471",
    }
    with draining(stocked):
        status, page = deal(client, BOX, kind="acquisition", **said)
    assert status == 303
    assert "free circulation, ENTRY 4471" in page
    kept = stocked.depot.show(BOX).record
    assert (kept["owner"], kept["customs_entry"]) == ("Hardstand Trading", "ENTRY 4471")
    assert "ENTRY 4471" in client.get(f"/units/{BOX}").text


def test_refusal_stands_beside_the_form_with_reasons_and_what_was_typed(stocked: Site) -> None:
    stocked.depot.record(report("sale", BOX, buyer="Somebody Else"))
    client = stocked.person("NORTH:sales")
    with draining(stocked):
        status, page = deal(client, BOX, kind="release", haulier="Hob and Cart")
        assert status == 303
        status, page = deal(client, BOX, kind="sale", buyer="Tolly Wick", intended_use="storage")
    assert status == 409
    assert "Refused" in page
    assert "It is sold already" in page


def test_form_that_cannot_be_read_is_not_handed_in(stocked: Site) -> None:
    client = stocked.person("NORTH:sales")
    status, page = deal(
        client, BOX, kind="sale", buyer="Tolly Wick", intended_use="storage", price="much"
    )
    assert status == 422
    assert "Not handed in yet" in page
    assert 'value="Tolly Wick"' in page
    assert stocked.depot.one("SELECT count(*) FROM intake") == 0


def test_same_form_sent_twice_is_one_decision(stocked: Site) -> None:
    client, form = stocked.person("NORTH:sales"), str(new_id())
    said = {"form": form, "kind": "sale", "buyer": "Tolly Wick", "intended_use": "storage"}
    with draining(stocked):
        first = client.post(f"/sales/deal?unit={BOX}", data=said)
        stocked.depot.web.clock.move(timedelta(seconds=2))
        again = client.post(f"/sales/deal?unit={BOX}", data=said)
    assert first.status_code == again.status_code == 303
    assert first.headers["location"] == again.headers["location"]
    kinds = [row["kind"] for row in stocked.depot.show(BOX).history]
    assert kinds.count("sale") == 1


def test_release_page_shows_every_condition_and_why_it_is_not_met(stocked: Site) -> None:
    stocked.depot.record(report("sale", OTHER, intended_use="export", paid=False))
    page = stocked.person("NORTH:sales").get(f"/sales/deal?unit={OTHER}").text
    standings = re.findall(r'<li class="(met|warns|not-met)">', page)
    assert len(standings) == len(deal_view.CONDITIONS) + 1
    assert "It is neither paid nor sold on credit." in page
    assert "Its plate pack lacks" in page
    assert 'class="met"' in page


def test_buyer_of_unsold_unit_may_be_asked_about(stocked: Site) -> None:
    client = stocked.person("NORTH:sales")
    storage = client.get(f"/sales/deal?unit={BOX}").text
    export = client.get(f"/sales/deal?unit={BOX}&use=export").text
    assert "Its plate pack lacks" not in storage
    assert "Its plate pack lacks" in export


def test_seller_cancels_with_a_reason(stocked: Site) -> None:
    stocked.depot.record(report("sale", BOX))
    client = stocked.person("NORTH:sales")
    sale = stocked.depot.show(BOX).record["sale"]["id"]
    with draining(stocked):
        status, page = deal(client, BOX, kind="cancellation", cancels=sale, reason="moved away")
    assert status == 303
    assert "Free: nobody has it." in page


def test_only_a_manager_is_offered_to_let_a_refusal_pass(stocked: Site) -> None:
    seller = stocked.person("NORTH:sales", name="sel").get(f"/sales/deal?unit={BOX}").text
    manager = stocked.person("NORTH:manager", name="man").get(f"/sales/deal?unit={BOX}").text
    assert "override_reason" not in seller
    assert "override_reason" in manager


def test_order_is_placed_and_listed(stocked: Site) -> None:
    client = stocked.person("NORTH:sales")
    said = {
        "form": str(new_id()), "kind": "order", "depot": "NORTH", "buyer": "Mossgate Players",
        "count:int": "1", "description.length_ft:int": "20", "description.high:bool": "no",
        "description.conditions:list": "cargo-worthy", "paid:bool": "yes",
    }  # fmt: skip
    with draining(stocked):
        first = client.post("/orders", data=said)
        page = client.get(first.headers["location"]).text
        second = client.post("/orders", data=said | {"form": str(new_id())})
    assert "1 \u00d7 20 ft, not 9 ft 6 in high, cargo-worthy for Mossgate Players" in page
    listed = client.get("/orders").text
    assert "1 \u00d7 20 ft for Mossgate Players" in listed
    assert "1 still to go" in listed
    assert second.status_code == 409
    assert "Only 0 such units are free" in second.text


def test_list_goes_on_where_the_page_ended(site: Site) -> None:
    marks = marks_of(60)
    site.depot.record(*(report("gate-in", mark) for mark in marks))
    client = site.person("NORTH:sales")
    first = client.get("/sales?depot=NORTH").text
    link = re.search(r'rel="next" href="([^"]+)"', first)
    assert link is not None
    second = client.get(link.group(1).replace("&amp;", "&")).text
    assert marks_in(first) + marks_in(second) == sorted(marks)
    assert 'rel="next"' not in second


def test_verdict_of_somebody_elses_event_is_not_told(stocked: Site) -> None:
    other = new_id()
    page = stocked.person("NORTH:sales").get(f"/sales/deal?unit={BOX}&told={other}").text
    assert "Recorded." not in page


def test_what_left_with_papers_missing_is_listed_and_led_to_until_they_come(
    stocked: Site, clock: StandingClock
) -> None:
    at = {"happened_at": "2026-03-02T07:30:00+00:00"}
    stocked.depot.record(
        report("sale", BOX, intended_use="export"),
        report("gate-out", BOX, **at),
        report("sale", OTHER),
        report("gate-out", OTHER, **at),
    )
    clock.move(timedelta(days=1))
    client = stocked.person("NORTH:sales")
    assert marks_in(client.get("/sales?stands=left").text) == [BOX]
    unit = client.get(f"/units/{BOX}").text
    assert f'href="/sales/deal?unit={BOX}">Its deal and its papers</a>' in unit
    assert 'name="proof_of_export"' in client.get(f"/sales/deal?unit={BOX}").text
    assert "/sales/deal" not in stocked.person("NORTH:gate", name="bo").get(f"/units/{BOX}").text
    with draining(stocked):
        deal(client, BOX, kind="delivery", outcome="delivered", proof_of_export="EX 26 0071")
    page = client.get("/sales?stands=left").text
    assert marks_in(page) == []
    assert "Nothing is missing of what has left." in page


def test_what_storage_does_not_ask_for_is_not_said_to_be_met(stocked: Site) -> None:
    stocked.depot.record(report("sale", BOX))
    client = stocked.person("NORTH:sales")
    page = client.get(f"/sales/deal?unit={BOX}").text
    (pack,) = re.findall(
        r'<li class="([\w-]+)">(?:(?!</li>).)*Its plate pack is complete', page, re.S
    )
    assert pack == "not-asked"
    lacks = client.get(f"/api/units/{BOX}/pack.json").json()
    assert "the plate's photo" in str(lacks) or not lacks.get("photo")
    assert "Asked for export only. It lacks the plate" in page


@pytest.mark.parametrize("typed", ["450.500", "450,500"])
def test_price_that_could_be_two_is_asked_about_and_read_where_its_currency_tells(
    stocked: Site, typed: str
) -> None:
    client = stocked.person("NORTH:sales")
    said = {"buyer": "Tolly Wick", "intended_use": "storage", "price:money": typed}
    _, page = deal(client, BOX, kind="sale", **said)
    assert f"{typed} can be read as 450500 and as 450.5" in page
    assert f'value="{typed}"' in page
    assert stocked.depot.show(BOX).record["sale"] is None
    with draining(stocked):
        deal(client, BOX, kind="sale", **said, currency="BHD")
    sale = stocked.depot.show(BOX).record["sale"]
    assert (sale["currency"], sale["net"]) == ("BHD", "450.500")


@pytest.mark.parametrize("typed", ["1.450,50", "1,450.50", "1450,5"])
def test_price_is_taken_as_it_is_usually_written(stocked: Site, typed: str) -> None:
    client = stocked.person("NORTH:sales")
    said = {"buyer": "Tolly Wick", "intended_use": "storage", "price:money": typed}
    with draining(stocked):
        status, page = deal(client, BOX, kind="sale", **said)
    assert status == 303
    assert sums_in(page)["The unit as it is"] == "1450.50"


def test_price_that_cannot_be_read_is_told_of_by_an_example(stocked: Site) -> None:
    said = {"buyer": "Tolly Wick", "intended_use": "storage", "price:money": "1,450,50"}
    status, page = deal(stocked.person("NORTH:sales"), BOX, kind="sale", **said)
    assert status == 422
    assert "price: is no number such as 1450.50" in page
    assert 'value="1,450,50"' in page


def test_reference_is_offered_only_as_long_as_units_of_the_order_have_none(stocked: Site) -> None:
    order = report("order", None, buyer="Bo", description={"length_ft": 20}, count=1, paid=True)
    stocked.depot.record(order)
    client = stocked.person("NORTH:sales")
    path = f"/orders/{id_of(order)}"
    assert "Give a collection reference" in client.get(path).text
    stocked.depot.record(report("release", None, order=id_of(order), reference=None))
    page = client.get(path).text
    assert "Give a collection reference" not in page
    assert "Cancel the order" in page


VENTS = {"what": "Louvre vents", "count": 2, "price_each": "48.00"}


def test_work_is_ordered_by_the_form_with_what_it_does_and_the_caution(stocked: Site) -> None:
    client = stocked.person("NORTH:sales")
    page = client.get(f"/sales/deal?unit={BOX}").text
    assert "3\u202fkg each, less 1\u202fkg cut out; the approving body is to be asked" in page
    assert "Before steel is cut." in page
    lines = {
        "!lines": "count",
        "lines.0.work": "lock-box",
        "lines.0.count:int": "1",
        "lines.1.work": "louvre-vent",
        "lines.1.count:int": "2",
        "lines.2.work": "roof-vent",
        "lines.2.count:int": "",
    }
    with draining(stocked):
        status, page = deal(
            client, BOX, kind="work-order", **lines, due_on="2026-03-09", note="left side, high"
        )
    assert status == 303
    assert "Louvre vent takes out an opening" in page
    assert "1 \u00d7 lock box, 2 \u00d7 louvre vent, by 9 Mar 2026" in page
    (ordered,) = stocked.depot.show(BOX).record["orders"]
    assert (ordered["lines"], ordered["due_on"]) == (
        {"lock-box": 1, "louvre-vent": 2},
        "2026-03-09",
    )
    jobs = stocked.person("NORTH:workshop", name="wim").get(f"/workshop/unit?name={BOX}").text
    assert "left side, high" in jobs
    with draining(stocked):
        status, page = deal(
            client, BOX, kind="cancellation", cancels=ordered["id"], reason="too dear"
        )
    assert (status, stocked.depot.show(BOX).record["orders"]) == (303, [])


def test_work_order_without_a_count_is_asked_again(stocked: Site) -> None:
    said = {"!lines": "count", "lines.0.work": "lock-box", "lines.0.count:int": ""}
    status, page = deal(stocked.person("NORTH:sales"), BOX, kind="work-order", **said)
    assert status == 422
    assert "lines: is missing" in page


def test_what_was_sold_with_a_unit_is_offered_to_be_ordered_and_holds_it_until_done(
    stocked: Site, clock: StandingClock
) -> None:
    stocked.depot.record(report("sale", BOX, price="900.00", lines=[VENTS]))
    client = stocked.person("NORTH:sales")
    page = client.get(f"/sales/deal?unit={BOX}").text
    assert '<a href="#work">Order this work</a>' in page
    assert re.search(r'name="lines.\d+.count:int" value="2"[^>]*Louvre vent', page)
    with draining(stocked):
        status, page = deal(client, BOX, kind="release")
        assert (status, "It was sold with 2 \u00d7 louvre vent" in page) == (409, True)
        lines = {"!lines": "count", "lines.0.work": "louvre-vent", "lines.0.count:int": "2"}
        status, page = deal(client, BOX, kind="work-order", **lines)
        assert (status, '<a href="#work">It is ordered</a>' in page) == (303, True)
    clock.move(timedelta(hours=1))
    (ordered,) = stocked.depot.show(BOX).record["orders"]
    vents = {"work": "louvre-vent", "count": 2, "mass_kg": 3, "cut_out_kg": 1}
    at = {"happened_at": "2026-03-02T08:30:00+00:00"}
    fitted = report("modification", BOX, fittings=[vents], order=ordered["id"], **at)
    stocked.depot.record(fitted)
    with draining(stocked):
        assert deal(client, BOX, kind="release")[0] == 303


def test_unpaid_sale_is_paid_later_and_not_corrected(stocked: Site) -> None:
    stocked.depot.record(report("sale", BOX, paid=False))
    client = stocked.person("NORTH:sales")
    sale = stocked.depot.show(BOX).record["sale"]["id"]
    with draining(stocked):
        status, page = deal(client, BOX, kind="payment", pays=sale, reference="TRANSFER 9")
    assert status == 303
    assert "<strong>not paid</strong>" not in page
    assert "It is not paid after all" in page
    history = stocked.depot.show(BOX).history
    assert [row["kind"] for row in history][-1] == "payment"
    assert "TRANSFER 9" in client.get(f"/units/{BOX}").text
    with draining(stocked):
        undone = {"cancels": history[-1]["id"], "reason": "it bounced"}
        status, page = deal(client, BOX, kind="cancellation", **undone)
    assert (status, "<strong>not paid</strong>" in page) == (303, True)


def test_unit_that_left_and_came_back_is_taken_back_by_the_form(
    stocked: Site, clock: StandingClock
) -> None:
    stocked.depot.record(report("sale", BOX, handover="collection"))
    client = stocked.person("NORTH:sales")
    page = client.get(f"/sales/deal?unit={BOX}").text
    assert "By collection." in page
    assert 'value="take-back"' not in page
    clock.move(timedelta(days=2))
    stocked.depot.record(report("gate-out", BOX, happened_at="2026-03-03T08:00:00+00:00"))
    page = client.get(f"/sales/deal?unit={BOX}").text
    assert 'value="take-back"' in page
    assert 'value="release"' not in page
    back = {"purpose": "take-back", "happened_at": "2026-03-04T07:00:00+00:00"}
    stocked.depot.record(report("gate-in", BOX, **back))
    page = client.get(f"/sales/deal?unit={BOX}").text
    assert "It came back, as the gate says to be taken back," in page
    with draining(stocked):
        status, page = deal(client, BOX, kind="take-back", reason="exchanged for a larger one")
    assert status == 303
    assert "Free: nobody has it." in page
    assert stocked.depot.show(BOX).record["sale"] is None
