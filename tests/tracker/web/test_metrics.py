"""What an operator watches, as Prometheus reads it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from prometheus_client.parser import text_string_to_metric_families
from starlette.testclient import TestClient
from structlog.testing import capture_logs

from tests.support.depot import BOX, OTHER, THIRD, Depot, id_of, report
from tests.support.web import Site
from tracker.services import accept, daily_round, drain, post
from tracker.services.actor import Scope
from tracker.web.app import create_app

if TYPE_CHECKING:
    from shared.clock import StandingClock


def scrape(site: Site) -> dict[str, float]:
    answer = site.machine(Scope.READ).get("/metrics")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/plain")
    return {
        sample.name + "".join(f"[{value}]" for value in sample.labels.values()): sample.value
        for family in text_string_to_metric_families(answer.text)
        for sample in family.samples
    }


def test_house_in_which_nothing_waits_measures_nothing(site: Site) -> None:
    measured = scrape(site)
    assert measured["hardstand_events[waiting]"] == 0
    assert measured["hardstand_oldest_waiting_seconds"] == 0
    assert measured["hardstand_letters[given-up]"] == 0
    assert "hardstand_broker_up" not in measured
    assert "hardstand_last_round_timestamp_seconds" not in measured


def test_waiting_and_held_events_are_counted_and_aged(site: Site, clock: StandingClock) -> None:
    site.depot.send(report("gate-in"), report("gate-in", OTHER))
    site.depot.change(
        "UPDATE intake SET state = 'held' WHERE position = (SELECT min(position) FROM intake)"
    )
    clock.move(timedelta(seconds=90))
    measured = scrape(site)
    assert measured["hardstand_events[waiting]"] == 1
    assert measured["hardstand_events[held]"] == 1
    assert measured["hardstand_oldest_waiting_seconds"] == 90


def test_letters_questions_and_unreadable_are_counted(site: Site, clock: StandingClock) -> None:
    site.depot.record(report("gate-in"), report("gate-out"), b"no event")
    site.depot.record(report("gate-in", "ZZZU3000012"))
    clock.move(timedelta(minutes=5))
    measured = scrape(site)
    kept = site.depot.one("SELECT count(*) FROM outbox WHERE state = 'waiting'")
    asked = site.depot.one("SELECT count(*) FROM questions")
    assert measured["hardstand_letters[waiting]"] == kept > 0
    assert measured["hardstand_oldest_letter_seconds"] == 300
    assert measured["hardstand_open_questions"] == asked > 0
    assert measured["hardstand_unreadable"] == 1


def test_last_round_is_that_of_the_depot_furthest_behind(site: Site, clock: StandingClock) -> None:
    for code in ("NORTH", "SOUTH"):
        site.depot.open_depot(code)
    daily_round.make_rounds(site.depot.worker)
    last = "SELECT extract(epoch FROM made_at) FROM rounds WHERE depot = 'SOUTH'"
    site.depot.change("UPDATE rounds SET made_at = made_at - interval '2 days' WHERE depot='SOUTH'")
    measured = scrape(site)["hardstand_last_round_timestamp_seconds"]
    assert measured == pytest.approx(float(site.depot.one(last)))
    clock.move(timedelta(days=1))
    daily_round.make_rounds(site.depot.worker)
    newest = (
        "SELECT extract(epoch FROM min(made_at)) FROM rounds"
        " WHERE day = (SELECT max(day) FROM rounds)"
    )
    measured = scrape(site)["hardstand_last_round_timestamp_seconds"]
    assert measured == pytest.approx(float(site.depot.one(newest)))


def test_rows_ever_taken_in_only_grow(site: Site) -> None:
    site.depot.record(report("gate-in", THIRD))
    # PostgreSQL tells its counts some time after the commit, unless asked to.
    for engine in (site.depot.web.engine, site.depot.worker.engine):
        engine.dispose()
    site.depot.rows("SELECT pg_stat_force_next_flush()")
    measured = scrape(site)
    assert measured["hardstand_accepted_total"] == 1
    assert measured["hardstand_verdicts_total"] == 1
    assert measured["hardstand_recorded_total"] == 1


@pytest.mark.parametrize("answers", [True, False])
def test_broker_is_told_by_its_own_word(yard: Depot, answers: bool) -> None:
    app = create_app(yard.web, ping_broker=lambda: answers)
    with TestClient(app):
        assert scrape(Site(yard, app))["hardstand_broker_up"] == answers


def test_one_id_leads_from_the_receipt_to_the_verdict(yard: Depot) -> None:
    body = report("gate-in", BOX)
    with capture_logs() as logged:
        (receipt,) = accept.accept(yard.web, [body])
        yard.drain_all()
    accepted, judged = (
        next(line for line in logged if line["event"] == event)
        for event in ("events.accepted", "batch.judged")
    )
    assert accepted["events"] == judged["events"] == [str(receipt.id)]
    kept = yard.rows("SELECT received_at, recorded_at FROM receipts")[0]
    assert kept["received_at"].isoformat() == accepted["at"]
    assert kept["recorded_at"].isoformat() == judged["at"]
    assert drain.drain(yard.worker, 0).batches == 0


def test_one_id_leads_from_a_breach_to_its_mail(yard: Depot) -> None:
    yard.open_depot("NORTH", manager="ada@depot.example")
    left = report("gate-out", happened_at="2026-03-02T07:10:00+00:00")
    with capture_logs() as logged:
        yard.record(report("gate-in"), left)
        assert post.send_waiting(yard.worker, post.post_of(yard.worker)) > 0
    breaches = {
        line["letter"]: line["event_id"] for line in logged if line["event"] == "breach.found"
    }
    sent = {line["letter"] for line in logged if line["event"] == "letter.sent"}
    assert set(breaches.values()) == {id_of(left)}
    assert set(breaches) <= sent
