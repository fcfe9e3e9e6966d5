"""Work through the demo day on real services, tell it, and serve it if asked to."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Final
from uuid import UUID

import redis
from rich.console import Console

from deploy import run as deployment
from deploy import stack
from deploy.demo import hand_in, house, put_off, scenario, sign_ins, stock_round
from deploy.demo.incidents import Incident
from deploy.demo.next_steps import NextStep, list_next_steps
from deploy.demo.scenario import Scenario
from deploy.demo.sign_ins import SignIn
from deploy.demo.tell import Teller
from deploy.demo.today import tell_today
from deploy.process import Part
from deploy.services import Addresses
from deploy.stack import Stack
from schemas.verdicts import Verdict
from shared import logs
from shared.clock import SystemClock
from shared.settings import Settings
from tracker.announce import LaneAnnouncer
from tracker.services import daily_round, post
from tracker.services.context import Context
from tracker.services.drain_all import drain_all
from tracker.services.verify import Verification, verify
from tracker.store import alerts, outbox, queries
from tracker.store.alerts import AlertFilter
from tracker.store.engine import make_engine
from workers.app import create_celery

_PAUSE_S: Final = 0.03


@dataclass(frozen=True, slots=True)
class Today:
    """What today came to."""

    incidents: Sequence[Incident]
    verdicts: Mapping[UUID, Verdict]
    due: Sequence[Mapping[str, Any]]
    mails: Mapping[str, int]
    verification: Verification
    next_steps: Sequence[NextStep]


def run(settings: Settings, *, serve: bool) -> None:
    """Work through the demo day; with `serve` go on serving it until a signal ends it.

    May be called again on the same data folder: the day that is there is told again, and nothing
    is recorded twice.

    Raises:
        DeployError: The services cannot be provided, or the house is somebody's already.
    """
    teller = Teller(Console(highlight=False, markup=False))
    with deployment.prepared(settings) as addresses, _contexts(addresses) as (web, worker):
        told = prepare(web, worker, teller)
        with _at_work(addresses.settings, serve=serve) as running:
            today = live(web, worker, told, teller, partial(_pause, running))
            tell(teller, web, today, sign_ins.make_sign_ins(web))
            if serve:
                teller.address(f"http://{settings.web_host}:{settings.web_port}")
                logs.configure("serve", level="WARNING")  # what dies is told beside the day
                running.watch(addresses.revive)
            teller.farewell()


def prepare(web: Context, worker: Context, teller: Teller) -> Scenario:
    """Set up the house, let the year pass, and make the round of today."""
    house.set_up(web)
    drain_all(worker)  # what a run before this one left when it was broken off
    told = scenario.make_scenario(web)
    teller.opening(told)
    with teller.progress("A year passes", sum(map(len, told.lots))) as tick:
        hand_in.feed_past(web, worker, told.lots, tick)
    with web.engine.begin() as connection:
        teller.stock(queries.count_stock(connection, "presence"))
    teller.walk(told.walk, stock_round.keep_walk(web, told.walk))
    daily_round.make_rounds(worker)
    put_off.put_off_missing(web, told)
    return told


def live(
    web: Context,
    worker: Context,
    told: Scenario,
    teller: Teller,
    meanwhile: Callable[[], object],
) -> Today:
    """Live through today: hand in what happens, wait for the verdicts, send what is to be told."""
    incidents = tell_today(told.cast, told.moment)
    events = sum(len(incident.reports) for incident in incidents)
    with teller.progress("Today", events) as tick:
        verdicts = hand_in.live_today(web, incidents, meanwhile, tick)
    post.send_waiting(worker, post.post_of(worker))
    with worker.engine.begin() as connection:
        due = alerts.list_open(connection, AlertFilter())
        mails = outbox.count_mails_by_state(connection, told.moment)
    steps = list_next_steps(web, told.cast)
    return Today(incidents, verdicts, due, mails, verify(worker), steps)


def tell(teller: Teller, web: Context, today: Today, people: Sequence[SignIn]) -> None:
    """Say what today came to, and who may look at it."""
    settings, found = web.settings, today.verification
    where = "by the mail server" if settings.mail_url else f"as files in {settings.home / 'mail'}"
    teller.today(today.incidents, today.verdicts)
    teller.due(today.due)
    teller.mail(today.mails, where)
    teller.sound(streams=found.streams, rows=found.rows, root=found.root)
    teller.next_steps(today.next_steps)
    teller.sign_ins(people)


@contextlib.contextmanager
def _contexts(addresses: Addresses) -> Iterator[tuple[Context, Context]]:
    """Provide what a web process has, announcer included, and what a worker has."""
    settings, clock = addresses.settings, SystemClock()
    with contextlib.ExitStack() as held:
        client = held.enter_context(redis.Redis.from_url(addresses.redis_url, socket_timeout=2))
        announcer = LaneAnnouncer(create_celery(settings), client)
        announcer.start()
        held.callback(announcer.stop)
        web, worker = (
            make_engine(url, name="hardstand-demo")
            for url in (addresses.databases.web, addresses.databases.worker)
        )
        held.callback(web.dispose)
        held.callback(worker.dispose)
        yield Context(web, settings, clock, announcer), Context(worker, settings, clock)


@contextlib.contextmanager
def _at_work(settings: Settings, *, serve: bool) -> Iterator[Stack]:
    """Let workers give the verdicts of today; with `serve` everything else runs, too."""
    if serve:
        with deployment.serving(settings) as running:
            yield running
        return
    with stack.running(settings, [Part.DRAIN]) as running:
        yield running


def _pause(running: Stack) -> None:
    running.revive()
    time.sleep(_PAUSE_S)
