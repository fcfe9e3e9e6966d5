from decimal import Decimal

import pytest

from schemas.work_items import WorkTerms
from shared.cautions import CUTTING
from shared.table_files import Certainty
from shared.work import ApprovalEffect, starting_catalogue
from tests.support.depot import BOX, Depot, findings_of, report
from tracker.services import catalogue
from tracker.services.catalogue import WorkUnknownError
from tracker.store import work_items

HATCH = WorkTerms(words="Hatch in the roof", mass_kg=18, cuts="the roof panel", cut_out_kg=7)


def names(depot: Depot) -> list[str]:
    return [item.name for item in catalogue.list_work(depot.web)]


def test_house_starts_with_the_shipped_set(depot: Depot) -> None:
    assert names(depot) == list(starting_catalogue())
    (vent,) = [one for one in catalogue.list_work(depot.web) if one.name == "louvre-vent"]
    assert (vent.mass_kg, vent.price, vent.caution) == (3, Decimal("48.00"), CUTTING)


@pytest.mark.parametrize(
    ("terms", "effect"),
    [
        (HATCH, "ask"),
        (HATCH.model_copy(update={"approval_effect": ApprovalEffect.NONE}), "none"),
        (WorkTerms(words="Hook"), "none"),
    ],
)
def test_new_work_that_cuts_asks_unless_told_otherwise(
    depot: Depot, terms: WorkTerms, effect: str
) -> None:
    put = catalogue.put(depot.web, "hatch", terms)
    assert (put.approval_effect, put.certainty) == (effect, Certainty.PRACTICE)
    assert catalogue.list_work(depot.web)[-1] == put


def test_changed_work_stands_in_place_of_the_shipped(depot: Depot) -> None:
    terms = catalogue.find_terms(depot.web, "lock-box")
    assert terms is not None
    catalogue.put(depot.web, "lock-box", terms.model_copy(update={"price": Decimal("61.50")}))
    assert names(depot) == list(starting_catalogue())
    changed = catalogue.find_terms(depot.web, "lock-box")
    assert changed == terms.model_copy(update={"price": Decimal("61.50")})
    assert catalogue.find_terms(depot.web, "hatch") is None


def test_removed_work_is_gone_until_it_is_put_again(depot: Depot) -> None:
    catalogue.remove(depot.web, "lock-box")
    catalogue.put(depot.web, "hatch", HATCH)
    catalogue.remove(depot.web, "hatch")
    assert {"lock-box", "hatch"}.isdisjoint(names(depot))
    with pytest.raises(WorkUnknownError) as fault:
        catalogue.remove(depot.web, "lock-box")
    assert fault.value.name == "lock-box"
    catalogue.put(depot.web, "hatch", HATCH)
    assert "hatch" in names(depot)


def test_item_is_read_by_the_worker_as_it_was_put(depot: Depot) -> None:
    item = starting_catalogue()["replacement-door"]
    with depot.web.engine.begin() as connection:
        work_items.put(connection, item)
    with depot.worker.engine.begin() as connection:
        assert work_items.catalogue(connection)[item.name] == item


def test_what_the_house_says_is_what_the_next_report_is_judged_by(depot: Depot) -> None:
    def fit(work: str) -> list[str]:
        fittings = [{"work": work, "mass_kg": 18}]
        (receipt,) = depot.record(report("modification", BOX, fittings=fittings))
        return findings_of(receipt)

    depot.record(report("gate-in"))
    assert "work.not-in-catalogue" in fit("hatch")
    catalogue.put(depot.web, "hatch", HATCH)
    found = fit("hatch")
    assert "work.not-in-catalogue" not in found
    assert "work.approval-effect-understated" in found
    record = depot.show().record
    assert (record["approval"], record["to_weigh"]) == ("ask", True)
