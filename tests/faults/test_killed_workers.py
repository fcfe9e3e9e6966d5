"""Workers killed and frozen, announcements lost, Redis emptied: every event gets one verdict."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterable, Iterator

import pytest
import redis
from sqlalchemy import text

from deploy.services import Addresses
from shared.clock import SystemClock
from shared.settings import Settings
from tests.support import depot as depots
from tests.support import worker_processes as processes
from tests.support.depot import BOX, Depot, id_of, lane_of, marks_of, report, wait_until
from tracker.services.drain import drain
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify
from tracker.store import schema


class LosingAnnouncer:
    """Loses every announcement, and counts them."""

    def __init__(self) -> None:
        self.lost = 0

    def announce(self, lanes: Iterable[int]) -> None:
        """Lose them."""
        self.lost += len(list(lanes))

    def begin(self, lane: int) -> None:
        """Do nothing."""


def assert_each_recorded_once(depot: Depot, sent: list[bytes]) -> None:
    assert depot.outcomes() == dict.fromkeys(map(id_of, sent), "recorded")
    rows = depot.one("SELECT count(*) FROM history")
    assert rows == depot.one("SELECT count(DISTINCT event_id) FROM history") == len(sent)
    assert depot.one("SELECT count(*) FROM intake") == 0
    assert verify(depot.web).flaws == ()
    assert rebuild(depot.worker, check_only=True).differing == []


@pytest.fixture
def own_settings(own_services: Addresses) -> Settings:
    """Settings for servers of the test's own, with a sweep every half second."""
    return own_services.settings.changed(
        sweep_every_s=0.5, drain_batch=100, drain_budget_ms=50, lanes=4
    )


@pytest.fixture
def own_depot(own_settings: Settings) -> Iterator[Depot]:
    """A depot over servers of the test's own."""
    schema.upgrade(own_settings.databases().owner)
    with depots.open_up(own_settings, SystemClock()) as opened:
        yield opened


def test_killed_in_mid_batch_and_redis_emptied_every_event_gets_one_verdict(
    own_depot: Depot, own_settings: Settings
) -> None:
    announcer = LosingAnnouncer()
    depot = own_depot.with_announcer(announcer)
    fleet = marks_of(60)
    sent = [report("gate-in", mark) for mark in fleet]
    depot.send(*sent)
    depot.drain_all()
    with processes.run_slow_work(own_settings):
        with processes.run_drains(own_settings) as first:
            with depot.owner.begin() as connection:
                connection.execute(text("SELECT FROM heads ORDER BY stream_id FOR UPDATE"))
                for turn in range(30):
                    batch = [report("restow", mark, slot=f"A{turn}") for mark in fleet]
                    depot.send(*batch)
                    sent += batch
                depot.wait_until_blocked(2)
                processes.kill(first)
                with redis.Redis.from_url(str(own_settings.redis_url)) as client:
                    client.flushall()
            assert depot.one("SELECT count(*) FROM lane_attempts") >= 2
        assert depot.one("SELECT count(*) FROM intake") == 1800
        with processes.run_drains(own_settings) as second:
            wait_until(lambda: depot.one("SELECT count(*) FROM intake") < 1500)
            processes.kill(second)
        with processes.run_drains(own_settings):
            wait_until(lambda: depot.one("SELECT count(*) FROM intake") == 0)
    # Intake announced and was not heard, so that every verdict is owed to the sweep.
    assert announcer.lost >= 30
    assert_each_recorded_once(depot, sent)
    for mark in fleet[:5]:
        slots = [row["event"].get("slot") for row in depot.show(mark).history]
        assert slots == [None, *(f"A{turn}" for turn in range(30))]


def test_frozen_worker_lets_its_lane_go_and_undoes_nothing_when_it_thaws(
    depot: Depot, settings: Settings
) -> None:
    sent = [report("gate-in")]
    depot.send(*sent)
    depot.drain_all()
    sent.append(report("restow"))
    depot.send(sent[1])
    lane = lane_of(BOX)
    limit = "&options=-c%20idle_in_transaction_session_timeout%3D300"
    impatient = settings.changed(worker_database_url=settings.databases().worker + limit)
    with processes.run_one_drain(impatient, lane) as frozen:
        with depot.owner.begin() as connection:
            connection.execute(text("SELECT FROM heads ORDER BY stream_id FOR UPDATE"))
            depot.wait_until_blocked()
            os.kill(frozen.pid, signal.SIGSTOP)
            assert drain(depot.worker, lane).busy
        done = wait_until(lambda: drain(depot.worker, lane).recorded)
        os.kill(frozen.pid, signal.SIGCONT)
        said = frozen.communicate(timeout=60)[1].decode()
        assert frozen.returncode != 0
    assert done == 1
    assert "idle-in-transaction timeout" in said or "closed the connection" in said
    assert_each_recorded_once(depot, sent)
    assert depot.rows("SELECT 1 FROM lane_attempts") == []


def test_killed_while_judging_leaves_its_mark_and_the_lane_free(
    depot: Depot, settings: Settings
) -> None:
    sent = [report("gate-in")]
    depot.send(*sent)
    depot.drain_all()
    sent += [report("restow") for _ in range(3)]
    depot.send(*sent[1:])
    lane = lane_of(BOX)
    for deaths in (1, 2, 3):
        with processes.run_one_drain(settings, lane) as process:
            with depot.owner.begin() as connection:
                connection.execute(text("SELECT FROM heads ORDER BY stream_id FOR UPDATE"))
                depot.wait_until_blocked()
                processes.kill(process)
            wait_until(lambda: not depot.one("SELECT count(*) FROM pg_locks WHERE NOT granted"))
        assert depot.one("SELECT deaths FROM lane_attempts") == deaths
        assert depot.one("SELECT count(*) FROM intake WHERE state = 'waiting'") == 3
    wait_until(lambda: not drain(depot.worker, lane).busy)
    depot.drain_all()
    assert_each_recorded_once(depot, sent)
