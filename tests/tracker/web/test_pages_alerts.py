"""The page of alerts: one's own first, answered by those whose they are, the answer shown."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any

import pytest

from tests.support.depot import BOX, OTHER, report
from tracker.services.daily_round import make_rounds

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.web import Site


@pytest.fixture
def late(site: Site) -> Site:
    """A site with late work for the workshop and a long stay for the sales desk, both told."""
    order = report("work-order", lines=[{"work": "lock-box"}], due_on="2026-03-01")
    came = report("gate-in", OTHER, happened_at="2025-03-02T07:00:00+00:00")
    site.depot.record(report("gate-in", slot="A1"), order, came)
    make_rounds(site.depot.worker)
    kinds = site.depot.rows("SELECT kind FROM alerts WHERE cleared_at IS NULL ORDER BY kind")
    assert [row["kind"] for row in kinds] == ["long-stay", "work-overdue"]
    return site


def rows_of(page: str) -> str:
    """Return the kinds of the units listed, by their marks in the page's table."""
    return " ".join(re.findall(r'class="mark" href="/units/(\w+)"', page))


def form_of(page: str, reason: str, **said: str) -> dict[str, Any]:
    """Return what the page's first form of an answer sends."""
    hidden = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', page))
    return {name: hidden[name] for name in ("unit", "kind", "cause", "back")} | {
        "reason": reason,
        **said,
    }


def look(client: TestClient, show: str = "mine") -> str:
    answer = client.get(f"/alerts?show={show}")
    assert answer.status_code == 200
    return answer.text


@pytest.mark.parametrize(
    ("role", "mine"),
    [("NORTH:sales", OTHER), ("*:workshop", BOX), ("NORTH:gate", ""), ("NORTH:manager", "")],
)
def test_own_alerts_come_first_and_the_rest_behind_a_filter(
    late: Site, role: str, mine: str
) -> None:
    client = late.person(role)
    assert rows_of(look(client)) == mine
    assert set(rows_of(look(client, "all")).split()) == {BOX, OTHER}
    start = client.get("/").text
    assert f"<b>{1 if mine else 0}</b> falling due for you" in start
    assert f"<b>{1 if mine else 2}</b> for others" in start


def test_alert_is_answered_on_the_page_and_the_answer_shown_with_who_gave_it(late: Site) -> None:
    client = late.person("NORTH:workshop", shown_as="Tom Reed")
    done = client.post("/alerts/answer", data=form_of(look(client), "parts come Friday"))
    assert done.status_code == 303
    assert done.headers["location"].startswith("/alerts")
    assert rows_of(look(client)) == ""
    answered = look(client, "answered")
    assert "Seen to: “parts come Friday”" in answered
    assert "Tom Reed" in answered
    assert "Seen to: “parts come Friday”" in client.get(f"/units/{BOX}").text
    assert "<b>0</b> falling due for you" in client.get("/").text


def test_alert_is_put_off_on_the_page_and_told_again_on_that_day(late: Site) -> None:
    client = late.person("NORTH:manager")
    page = look(client, "all")
    client.post("/alerts/answer", data=form_of(page, "rain", until="2026-03-20"))
    assert "Put off until 20 Mar 2026: “rain”" in look(client, "answered")
    (told,) = make_rounds(late.depot.worker, on=date(2026, 3, 20))[:1]
    assert told.reminded == 2


def test_there_is_no_form_for_those_whose_it_is_not(late: Site) -> None:
    client = late.person("NORTH:sales")
    page = look(client, "all")
    assert page.count('action="/alerts/answer"') == 1
    said = form_of(look(late.person("NORTH:manager", name="bo"), "all"), "mine now")
    work = late.depot.rows("SELECT unit_id, kind, cause FROM alerts WHERE kind = 'work-overdue'")
    said |= {name: str(value) for name, value in work[0].items()}
    assert client.post("/alerts/answer", data=said).status_code == 403
    assert late.depot.rows("SELECT 1 FROM alert_answers") == []


@pytest.mark.parametrize(
    ("said", "status"),
    [
        ({"reason": "  "}, 422),
        ({"until": "soon"}, 422),
        ({"until": "2026-03-02"}, 422),
        ({"cause": "another"}, 404),
    ],
)
def test_answer_that_cannot_be_taken_is_told_of_with_what_was_typed(
    late: Site, said: dict[str, str], status: int
) -> None:
    client = late.person("NORTH:workshop")
    answer = client.post("/alerts/answer", data=form_of(look(client), "parts") | said)
    assert answer.status_code == status
    assert 'class="fault"' in answer.text
    if status != 404 and "reason" not in said:
        assert 'value="parts"' in answer.text
    assert late.depot.rows("SELECT 1 FROM alert_answers") == []


def test_breach_is_settled_on_the_page_and_stands_no_more_among_what_is_open(late: Site) -> None:
    late.depot.record(report("gate-out", OTHER, purpose="sale"))
    client = late.person("NORTH:manager", shown_as="Mia Quay")
    assert "<b>1</b> breach to look at" in client.get("/").text
    page = client.get("/questions").text
    said = form_of(page, "the driver was called back")
    assert said["kind"] == "breach"
    assert 'name="until"' not in page
    assert client.post("/alerts/answer", data=said).headers["location"] == "/questions"
    assert "should not have" not in client.get("/questions").text
    assert "<b>0</b> breaches to look at" in client.get("/").text
    for path in ("/alerts?show=answered", f"/units/{OTHER}"):
        assert "Settled: “the driver was called back”" in client.get(path).text, path
    # It goes on standing in the record: what happened is not undone.
    assert late.depot.show(OTHER).record["breaches"] != []


def test_breach_is_for_the_manager_to_settle(late: Site) -> None:
    late.depot.record(report("gate-out", OTHER, purpose="sale"))
    assert 'action="/alerts/answer"' not in late.person("NORTH:gate").get("/questions").text
