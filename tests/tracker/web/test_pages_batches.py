"""The pages of batches: announced by the desk, ticked off, what cannot be announced told of."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from shared.serials import marks_from
from tests.support.depot import BOX, report

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site

FIRST, SECOND, THIRD, _, STRANGER = marks_from("ZZZU300001", 5)
CAME = {"happened_at": "2026-03-02T08:00:00+00:00"}
SHARED = {
    "batch": "B-14",
    "depot": "NORTH",
    "purpose": "purchase",
    "expected_on": "2026-03-09",
    "size_type": "22G1",
    "masses.gross_kg": "30480",
    "masses.tare_kg": "2230",
    "manufactured_in": "2026-01",
    "colour": "RAL 5010",
    "approval_reference": "GB-LR 1",
    "step": "announce",
}


@pytest.fixture
def desk(site: Site) -> TestClient:
    """A person of the sales desk at NORTH."""
    return site.person("NORTH:sales", shown_as="Edda Vale")


def announce(desk: TestClient, site: Site, **said: str) -> Any:  # noqa: ANN401 - httpx's answer
    """Send the form as the page has it, and drain what it hands in."""
    form = re.search(r'name="form" value="([^"]+)"', desk.get("/batches/announce").text)
    assert form
    answer = desk.post("/batches/announce", data={"form": form[1], **SHARED, **said})
    site.depot.drain_all()
    return answer


@pytest.fixture(autouse=True)
def _no_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    # Nobody drains while the request waits; it would wait its seconds out.
    monkeypatch.setattr("tracker.web.pages.batches._WAIT_S", 0.05)


def test_sequence_is_announced_with_what_all_share_and_exceptions(
    site: Site, desk: TestClient
) -> None:
    exceptions = f"mark;tare_kg;colour\n{SECOND};2250;RAL 6005\n"
    answer = announce(desk, site, first=FIRST, count="3", list=exceptions)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/batches?batch=B-14&announced=3"
    first, second = site.depot.show(FIRST).record, site.depot.show(SECOND).record
    assert (first["presence"], first["colour"]) == ("expected", "RAL 5010")
    assert second["colour"] == "RAL 6005"
    advised = [site.depot.show(mark).history[0]["event"]["masses"] for mark in (FIRST, SECOND)]
    assert [(one["gross_kg"], one["tare_kg"]) for one in advised] == [(30480, 2230), (30480, 2250)]
    assert first["batch"] == "B-14"
    (row,) = site.depot.show(THIRD).history
    assert (row["reported_by"], row["event"]["approval_reference"]) == ("Edda Vale", "GB-LR 1")
    assert "3 to come, the first on 9 Mar 2026" in desk.get("/batches").text


@pytest.mark.parametrize("how", ["pasted", "file"])
def test_list_is_announced_pasted_or_as_a_file(site: Site, desk: TestClient, how: str) -> None:
    listed = f"{FIRST}\n\n{THIRD[:4]} {THIRD[4:10]} {THIRD[10]}\n"
    if how == "pasted":
        assert announce(desk, site, list=listed).status_code == 303
    else:
        files = {"file": ("marks.csv", f"\ufeffmark\n{listed}".encode(), "text/csv")}
        answer = desk.post("/batches/announce", data=SHARED, files=files)
        assert answer.status_code == 303
        site.depot.drain_all()
    assert site.depot.one("SELECT count(*) FROM records WHERE presence = 'expected'") == 2


def test_list_is_looked_at_before_it_is_announced(site: Site, desk: TestClient) -> None:
    wrong = FIRST[:10] + str((int(FIRST[10]) + 1) % 10)
    answer = announce(desk, site, list=f"{wrong}\n{SECOND}", step="look")
    assert answer.status_code == 200
    assert "1 of the marks does not hold together" in answer.text
    assert "Announce 2 as B-14" in answer.text
    assert site.depot.rows("SELECT 1 FROM records") == []


def test_announced_by_two_taps_it_is_announced_once(site: Site, desk: TestClient) -> None:
    said = SHARED | {"first": FIRST, "count": "2", "form": "01890000-0000-7000-8000-00000000000a"}
    for _ in range(2):
        assert desk.post("/batches/announce", data=said).status_code == 303
    site.depot.drain_all()
    assert [len(site.depot.show(mark).history) for mark in (FIRST, SECOND)] == [1, 1]


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ({}, "No unit is named"),
        ({"first": "soon"}, "soon"),
        ({"first": FIRST, "count": "0"}, "is no number of units"),
        ({"first": FIRST, "count": "2", "list": STRANGER}, "is none of the sequence"),
        ({"list": "number\n1"}, "no column `mark`"),
        ({"list": f"mark,weight\n{FIRST},2"}, "a column &#39;weight&#39;"),
        ({"list": f"mark,tare_kg\n{FIRST},heavy"}, "Not announced"),
        ({"list": FIRST, "batch": " "}, "It is not said"),
        ({"list": FIRST, "depot": "SOUTH"}, "no role at SOUTH"),
    ],
)
def test_what_cannot_be_announced_is_told_with_what_was_typed(
    site: Site, desk: TestClient, said: dict[str, str], says: str
) -> None:
    answer = announce(desk, site, **said)
    assert answer.status_code == 422
    assert says in answer.text
    assert 'value="GB-LR 1"' in answer.text
    assert site.depot.rows("SELECT 1 FROM records") == []


def test_batch_shows_what_arrived_what_is_missing_and_what_nobody_announced(
    site: Site, desk: TestClient
) -> None:
    announce(desk, site, first=FIRST, count="2")
    site.depot.record(
        report("gate-in", FIRST, batch="B-14", colour="RAL 3000", **CAME),
        report("gate-in", STRANGER, batch="B-14", **CAME),
    )
    page = site.person("NORTH:gate", name="mira").get("/batches?batch=B-14")
    assert page.status_code == 200
    for counted in ("2</b> announced", "1</b> arrived", "1</b> missing", "1</b> unexpected"):
        assert counted in page.text
    assert "colour: announced RAL 5010, read RAL 3000" in page.text
    assert "Announce a batch" not in page.text


def test_batch_of_another_depot_is_as_if_it_were_not_there(site: Site, desk: TestClient) -> None:
    announce(desk, site, first=FIRST)
    other = site.person("SOUTH:manager", name="sue")
    answer = other.get("/batches?batch=B-14")
    assert answer.status_code == 404
    assert BOX not in other.get("/batches").text
    assert "B-14" not in other.get("/batches").text


def test_count_of_very_many_digits_is_no_number_of_units(site: Site) -> None:
    said = {"batch": "B-9", "depot": "NORTH", "first": "ZZZU3000014", "count": "9" * 5000}
    sent = site.person("NORTH:sales").post("/batches/announce", data=said)
    assert sent.status_code == 422
    assert "is no number of units" in sent.text
