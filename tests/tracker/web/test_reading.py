"""Reading by the API: units by any mark, any moment, stock page by page, checks while typing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.support.depot import BOX, OTHER, marks_of, report
from tests.support.web import Site
from tracker.services.actor import Scope

if TYPE_CHECKING:
    from starlette.testclient import TestClient


@pytest.fixture
def sales(site: Site) -> TestClient:
    return site.person("NORTH:sales")


def test_unit_is_found_by_mark_however_it_is_written_by_tag_and_by_id(
    site: Site, sales: TestClient
) -> None:
    site.depot.record(report("gate-in", tag="T-12"))
    unit_id = str(site.depot.unit_id())
    written = f"{BOX[:4].lower()} {BOX[4:10]} {BOX[10]}"
    for name in (BOX, written, "%23NORTH/T-12", "%23NORTH%2FT-12", unit_id):
        answer = sales.get(f"/api/units/{name}")
        assert answer.status_code == 200, name
        assert answer.json()["record"]["unit_id"] == unit_id, name
        assert sales.get(f"/api/units/{name}/may-leave").json()["mark"] == BOX, name


def test_unit_is_shown_as_it_was_and_as_it_was_known(site: Site, sales: TestClient) -> None:
    site.depot.record(report("gate-in"))
    site.depot.record(report("restow", happened_at="2026-03-02T07:30:00+00:00"))
    path = f"/api/units/{BOX}"
    assert sales.get(path).json()["record"]["slot"] == "A1-2"
    before = sales.get(path, params={"as_of": "2026-03-02T07:15:00+00:00"}).json()
    assert (before["record"]["slot"], len(before["history"])) == (None, 1)
    unknown = sales.get(path, params={"known_at": "2026-03-02T07:59:00Z"})
    assert unknown.status_code == 404


def test_unit_may_leave_once_it_is_sold_and_released(site: Site, sales: TestClient) -> None:
    site.depot.record(report("gate-in"))
    site.depot.record(report("sale"))
    path = f"/api/units/{BOX}/may-leave"
    refused = sales.get(path).json()
    assert refused["may_leave"] is False
    site.depot.record(report("release"))
    assert sales.get(path, params={"reference": "COLLECT-71"}).json()["may_leave"] is True
    wrong = sales.get(path, params={"reference": "OTHER"}).json()
    assert [one["id"] for one in wrong["findings"] if one["severity"] == "refuse"] == [
        "clearance.wrong-reference"
    ]


def test_stock_is_read_page_by_page_without_gap_or_repetition(
    site: Site, sales: TestClient
) -> None:
    marks = marks_of(7)
    site.depot.record(*(report("gate-in", mark) for mark in marks))
    read, after = [], None
    for _ in range(4):
        params = {"size": 3} | ({"after": after} if after else {})
        page = sales.get("/api/stock", params=params).json()
        read += [unit["mark"] for unit in page["units"]]
        after = page["next"]
        if after is None:
            break
    assert read == sorted(marks)
    assert after is None


def test_stock_is_filtered_by_each_field(site: Site, sales: TestClient) -> None:
    site.depot.record(
        report("gate-in", BOX, size_type="22G1"),
        report("gate-in", OTHER, size_type="45G1"),
    )
    site.depot.record(report("sale", BOX), report("inspection", OTHER, condition="as-is"))

    def found(**wanted: object) -> list[str]:
        return [one["mark"] for one in sales.get("/api/stock", params=wanted).json()["units"]]

    assert found(size_type="22G1") == found(stands="sold") == found(mark_begins=BOX[:10]) == [BOX]
    assert found(condition="as-is") == found(stands="free") == [OTHER]
    assert found(presence="away") == found(with_questions=True) == found(depot="WEST") == []
    assert found(presence="in-depot", depot="NORTH", mark_state="good") == sorted([BOX, OTHER])
    assert found(depot="", size_type="") == sorted([BOX, OTHER])


def test_check_finds_the_right_digit_and_suggests_what_is_expected_here(
    site: Site, sales: TestClient
) -> None:
    right = sales.get("/api/check", params={"mark": "CSQU3054383"}).json()
    assert (right["ok"], right["mark"], right["findings"]) == (True, "CSQU3054383", [])
    assert right["decoded"]["owner"] == "CSQ"
    site.depot.record(report("pre-advice", BOX))
    misread = BOX[:8] + BOX[9] + BOX[8] + BOX[10]
    wrong = sales.get("/api/check", params={"mark": misread}).json()
    assert (wrong["ok"], wrong["suggestions"][0]) == (False, BOX)
    (finding,) = wrong["findings"]
    assert finding["id"] == "mark.check-digit"


def test_check_adds_up_masses_and_reads_the_size_type(sales: TestClient) -> None:
    masses = {"gross_kg": 30480, "tare_kg": 2230, "payload_kg": 28000}
    said = sales.get("/api/check", params={**masses, "size_type": "22G1"}).json()
    assert (said["ok"], said["mark"]) == (False, None)
    assert "mass.sum" in [one["id"] for one in said["findings"]]
    assert said["decoded"]["size_type"]
    assert sales.get("/api/check").json()["ok"] is True
    assert sales.get("/api/check", params={"gross_kg": -1}).status_code == 422


def test_start_and_stock_show_what_was_written_as_text(site: Site, sales: TestClient) -> None:
    assert "No question is open" in sales.get("/").text
    site.depot.record(report("gate-in", "<script>alert(1)</script>"), report("gate-in", OTHER))
    start, stock = sales.get("/").text, sales.get("/stock").text
    assert "Waiting longest for an answer" in start
    assert OTHER in stock
    assert "<script>alert" not in start + stock


def test_machine_reads_only_with_the_scope_for_it_and_until_its_key_is_removed(
    site: Site,
) -> None:
    from tracker.services import keys  # noqa: PLC0415 - beside what it is tried with

    context = site.depot.web
    key = keys.add_key(context, "scales", scopes=[Scope.READ], depots=["NORTH"])
    machine = site.client(Authorization=f"bearer {key}")
    assert machine.get("/api/me").json() == {
        "name": "scales",
        "scopes": ["read"],
        "depots": ["NORTH"],
    }
    assert key not in str(site.depot.rows("SELECT * FROM machine_keys"))
    with pytest.raises(keys.KeyNameError):
        keys.add_key(context, "scales", scopes=[Scope.READ], depots=["NORTH"])
    assert [one.name for one in keys.list_keys(context)] == ["scales"]
    keys.remove_key(context, "scales")
    assert machine.get("/api/me").status_code == 401
    with pytest.raises(keys.KeyNameError):
        keys.remove_key(context, "scales")


def test_bad_key_is_not_made_up_for_by_a_session(site: Site, sales: TestClient) -> None:
    sales.headers["Authorization"] = "Bearer hsk_none"
    assert sales.get("/api/stock").status_code == 401
