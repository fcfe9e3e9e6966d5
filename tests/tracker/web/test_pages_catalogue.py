"""The manager's page of the catalogue: listed, changed, added to, taken out of."""

from __future__ import annotations

import re
from html import unescape
from typing import TYPE_CHECKING

import pytest

from tracker.services import catalogue

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from schemas.work_items import ListedWork
    from tests.support.web import Site


@pytest.fixture
def manager(site: Site) -> TestClient:
    """A manager of NORTH."""
    return site.person("NORTH:manager")


def listed(site: Site, name: str) -> ListedWork | None:
    found = {item.name: item for item in catalogue.list_work(site.depot.web)}
    return found.get(name)


def form_of(page: str, name: str) -> dict[str, str]:
    """Return what the page's form for a piece of work sends when nothing is changed."""
    card = page.partition(f'id="{name}"')[2].partition("</form>")[0]
    fields = dict(re.findall(r'<input[^>]* name="([^"]+)" value="([^"]*)"', card))
    for chosen, options in re.findall(r'<select[^>]* name="(\w+)">(.*?)</select>', card, re.S):
        values = re.findall(r'<option value="([^"]*)"( selected)?', options)
        fields[chosen] = next((value for value, said in values if said), values[0][0])
    del fields["csrf_token"]
    return {field: unescape(value) for field, value in fields.items()}


def test_form_sent_as_it_stands_changes_nothing_but_whose_figures_they_are(
    site: Site, manager: TestClient
) -> None:
    page = manager.get("/catalogue").text
    for name in ("louvre-vent", "lock-box"):
        before = listed(site, name)
        assert before is not None
        said = form_of(page, name)
        assert manager.post("/catalogue", data=said).status_code == 303
        after = listed(site, name)
        assert after is not None
        ours = {"source": catalogue.SOURCE, "certainty": after.certainty}
        assert after == before.model_copy(update=ours)
        assert after.certainty.value == "practice"


def test_price_and_mass_are_changed_and_the_page_says_so(site: Site, manager: TestClient) -> None:
    said = form_of(manager.get("/catalogue").text, "lock-box")
    done = manager.post("/catalogue", data=said | {"price": "52.50", "mass_kg": "11"})
    page = unescape(manager.get(done.headers["location"]).text)
    for words in (
        "The catalogue is changed: lock box",
        "52.50 EUR",
        "11\u202fkg",
        catalogue.SOURCE,
    ):
        assert words in page


def test_new_work_that_cuts_asks_the_approving_body_and_carries_the_caution(
    site: Site, manager: TestClient
) -> None:
    said = {"name": "roof-hatch", "words": "Hatch in the roof", "mass_kg": "18"}
    said |= {"cuts": "an opening in the roof panel", "cut_out_kg": "7", "permanent": "yes"}
    assert manager.post("/catalogue", data=said).status_code == 303
    item = listed(site, "roof-hatch")
    assert item is not None
    assert (item.approval_effect, item.cut_out_kg, item.mass_kg) == ("ask", 7, 18)
    assert "approving body first" in item.caution


def test_work_that_comes_to_cut_asks_unless_its_effect_is_said(
    site: Site, manager: TestClient
) -> None:
    said = form_of(manager.get("/catalogue").text, "lock-box")
    assert said["approval_effect"] == "none"
    manager.post("/catalogue", data=said | {"cuts": "the left door"})
    item = listed(site, "lock-box")
    assert item is not None
    assert item.approval_effect == "ask"
    manager.post("/catalogue", data=said | {"cuts": "the left door", "approval_effect": "void"})
    item = listed(site, "lock-box")
    assert item is not None
    assert item.approval_effect == "void"


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ({"name": "Roof hatch"}, "is no name of work"),
        ({"name": ""}, "is no name of work"),
        ({"words": ""}, "words"),
        ({"mass_kg": "heavy"}, "mass kg"),
        ({"price": "1.005"}, "price"),
        ({"approval_effect": "perhaps"}, "approval effect"),
    ],
)
def test_what_cannot_be_is_told_with_what_was_typed(
    site: Site, manager: TestClient, said: dict[str, str], says: str
) -> None:
    new = {"name": "roof-hatch", "words": "Hatch", "certificate": "a drawing"}
    answer = manager.post("/catalogue", data=new | said)
    assert answer.status_code == 422
    assert says in answer.text
    assert 'value="a drawing"' in answer.text
    assert listed(site, "roof-hatch") is None


def test_work_is_taken_out_and_nothing_else(site: Site, manager: TestClient) -> None:
    assert manager.post("/catalogue/remove", data={"name": "lock-box"}).status_code == 303
    assert listed(site, "lock-box") is None
    assert listed(site, "louvre-vent") is not None
    assert manager.post("/catalogue/remove", data={"name": "lock-box"}).status_code == 404


def test_catalogue_is_the_managers(site: Site) -> None:
    assert site.person("NORTH:workshop").get("/catalogue").status_code == 403
