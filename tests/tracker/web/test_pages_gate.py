"""The gate's pages without script: what the barrier answers, and what a form that is wrong says."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from shared.ids import new_id
from tests.support.depot import BOX, OTHER, id_of, report
from tests.support.draining import draining

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
