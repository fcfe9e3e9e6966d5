import json
import socketserver
import threading
from collections.abc import Iterator

import pytest
import redis
from celery import Celery
from kombu import pools

from shared.settings import Settings
from shared.task_names import TaskName
from tests.support.depot import BOX, Depot, id_of, lane_of, report, states, wait_until
from tests.support.mail_server import open_mailbox
from tests.support.slow_redis import open_slow_redis
from tracker.announce import LaneAnnouncer
from tracker.services.drain import drain
from tracker.services.sweep import sweep
from workers.app import create_celery


@pytest.fixture
def client(redis_url: str) -> Iterator[redis.Redis]:
    """A client of the test's own Redis."""
    with redis.Redis.from_url(redis_url) as opened:
        yield opened


@pytest.fixture
def app(settings: Settings) -> Iterator[Celery]:
    """The Celery app, its connections closed at the end."""
    made = create_celery(settings)
    yield made
    made.close()
    pools.reset()


@pytest.fixture
def announcer(app: Celery, client: redis.Redis) -> Iterator[LaneAnnouncer]:
    """An announcer over the test's own Redis, started."""
    made = LaneAnnouncer(app, client)
    made.start()
    yield made
    made.stop()


def orders(client: redis.Redis) -> list[tuple[str, list[int]]]:
    """Return the task and arguments of every message that waits for a worker, oldest first."""
    messages = [json.loads(raw) for raw in client.lrange("drain", 0, -1)][::-1]
    return [
        (message["headers"]["task"], json.loads(message["headers"]["argsrepr"]))
        for message in messages
    ]


def test_lane_is_announced_by_task_name_once_until_a_drain_begins(
    announcer: LaneAnnouncer, client: redis.Redis
) -> None:
    announcer.announce([3])
    wait_until(lambda: len(orders(client)) == 1)
    announcer.announce([3])
    announcer.announce([1, 3])
    wait_until(lambda: len(orders(client)) == 2)
    assert orders(client) == [(TaskName.DRAIN, [3]), (TaskName.DRAIN, [1])]
    announcer.begin(3)
    announcer.announce([3, 1])
    wait_until(lambda: len(orders(client)) == 3)
    assert orders(client)[-1] == (TaskName.DRAIN, [3])


def test_lane_announced_and_never_begun_may_be_announced_again_later(
    announcer: LaneAnnouncer, client: redis.Redis
) -> None:
    announcer.announce([3])
    wait_until(lambda: len(orders(client)) == 1)
    (key,) = client.keys("hardstand:lane:*")
    assert 0 < client.ttl(key) <= 10


def test_what_was_announced_before_the_stop_is_still_said(app: Celery, client: redis.Redis) -> None:
    announcer = LaneAnnouncer(app, client)
    announcer.start()
    announcer.announce(range(4))
    announcer.stop()
    assert len(orders(client)) == 4


def test_announcements_lost_with_redis_are_made_up_by_the_sweep(
    announcer: LaneAnnouncer, client: redis.Redis, depot: Depot
) -> None:
    announcing = depot.with_announcer(announcer)
    body = report("gate-in")
    announcing.send(body)
    wait_until(lambda: len(orders(client)) == 1)
    client.flushdb()
    assert orders(client) == []
    assert sweep(announcing.web) == [lane_of(BOX)]
    wait_until(lambda: len(orders(client)) == 1)
    ((_, (lane,)),) = orders(client)
    drain(depot.worker, lane)
    assert depot.outcomes() == {id_of(body): "recorded"}
    assert sweep(announcing.web) == []


def test_accepting_does_not_wait_for_a_redis_that_does_not_answer(
    app: Celery, depot: Depot
) -> None:
    with open_slow_redis() as server, redis.Redis.from_url(server.url) as slow:
        announcer = LaneAnnouncer(app, slow)
        announcer.start()
        announcing = depot.with_announcer(announcer)
        assert states(announcing.send(report("gate-in"))) == ["waiting"]
        wait_until(lambda: server.asked == 1)
        assert states(announcing.send(*(report("restow") for _ in range(20)))) == ["waiting"] * 20
        assert (server.asked, server.answered) == (1, 0)
        server.may_answer.set()
        announcer.stop()


def test_lanes_stand_in_line_once_while_redis_does_not_answer(app: Celery) -> None:
    with open_slow_redis() as server, redis.Redis.from_url(server.url) as slow:
        announcer = LaneAnnouncer(app, slow)
        announcer.start()
        announcer.announce([0])
        wait_until(lambda: server.asked == 1)
        for _ in range(500):
            announcer.announce(range(4))
        server.may_answer.set()
        announcer.stop()
        assert server.answered == 5


def test_accepting_and_draining_go_on_when_nobody_is_at_the_address_of_redis(
    app: Celery, depot: Depot
) -> None:
    with open_mailbox() as closed:
        port = closed.port
    with redis.Redis(port=port, socket_connect_timeout=1) as gone:
        announcer = LaneAnnouncer(app, gone)
        announcer.start()
        lonely = depot.with_announcer(announcer)
        body = report("gate-in")
        assert states(lonely.send(body)) == ["waiting"]
        context = Depot(depot.worker, depot.worker, depot.owner).with_announcer(announcer).web
        assert drain(context, lane_of(BOX)).recorded == 1
        announcer.announce([0])
        announcer.stop()
    assert depot.outcomes() == {id_of(body): "recorded"}


def test_redis_that_hangs_up_is_tried_once(app: Celery) -> None:
    tried = []

    class HangUp(socketserver.BaseRequestHandler):
        def handle(self) -> None:
            tried.append(self.client_address)

    with socketserver.ThreadingTCPServer(("127.0.0.1", 0), HangUp) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        with redis.Redis(port=server.server_address[1], socket_timeout=5) as client:
            LaneAnnouncer(app, client).begin(0)
        server.shutdown()
        thread.join()
    assert len(tried) == 1
