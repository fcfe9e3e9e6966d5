import pytest

from tests.support.web import Site
from tracker.services.actor import Scope

HATCH = {"words": "Hatch in the roof", "mass_kg": 18, "cuts": "the roof panel", "price": "120.50"}


def test_manager_changes_what_everybody_reads(site: Site) -> None:
    manager = site.person("NORTH:manager")
    put = manager.put("/api/catalogue/hatch", json=HATCH)
    assert put.status_code == 200
    assert (put.json()["approval_effect"], put.json()["price"]) == ("ask", "120.50")
    listed = site.machine(Scope.READ).get("/api/catalogue").json()
    assert listed[-1] == put.json()
    assert {"louvre-vent", "lock-box"} <= {one["name"] for one in listed}
    assert manager.delete("/api/catalogue/hatch").status_code == 204
    assert listed[:-1] == manager.get("/api/catalogue").json()


def test_work_that_is_not_there_cannot_be_removed(site: Site) -> None:
    answer = site.person("NORTH:manager").delete("/api/catalogue/hatch")
    assert answer.status_code == 404
    assert "'hatch'" in answer.json()["detail"]


@pytest.mark.parametrize(
    ("name", "terms"),
    [
        ("Hatch", HATCH),
        ("hatch", HATCH | {"price": "1.005"}),
        ("hatch", HATCH | {"mass_kg": -1}),
        ("hatch", HATCH | {"approval_effect": "perhaps"}),
        ("hatch", HATCH | {"weight": 18}),
        ("hatch", {"mass_kg": 18}),
    ],
)
def test_what_cannot_be_is_turned_away(site: Site, name: str, terms: dict[str, object]) -> None:
    manager = site.person("NORTH:manager")
    assert manager.put(f"/api/catalogue/{name}", json=terms).status_code == 422
    assert name not in [one["name"] for one in manager.get("/api/catalogue").json()]


def test_clerk_reads_and_does_not_write(site: Site) -> None:
    clerk = site.person("NORTH:sales")
    assert clerk.put("/api/catalogue/hatch", json=HATCH).status_code == 403
    assert clerk.delete("/api/catalogue/lock-box").status_code == 403
    assert clerk.get("/api/catalogue").status_code == 200
