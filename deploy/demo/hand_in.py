"""Hand the scenario in: the past with the clock moved along, today by the way everybody uses."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from email.message import EmailMessage
from typing import Final
from uuid import UUID

from deploy.demo.incidents import Incident
from deploy.demo.reports import Report
from deploy.errors import DeployError
from schemas.verdicts import Verdict
from shared.clock import StandingClock
from tracker.services import accept
from tracker.services.context import Context, SilentAnnouncer
from tracker.services.daily_round import make_rounds
from tracker.services.drain import drain
from tracker.services.find_verdicts import find_verdicts
from tracker.services.lapse import lapse_reservations
from tracker.services.post import send_waiting

Tick = Callable[[int], object]
"""Told how many more events have their verdict."""

_PATIENCE_S: Final = 60
_ONLY_LANE: Final = 0
_MONDAY: Final = 0
_OF_LATE: Final = timedelta(days=14)


class VerdictsLateError(DeployError):
    """No worker gives a verdict; carries how many are missing."""

    def __init__(self, missing: int) -> None:
        self.missing = missing
        super().__init__(
            f"{missing} events of today have no verdict after {_PATIENCE_S} s",
            remedy="What the workers say is in the logs folder of the data folder: drain.log",
        )


def feed_past(web: Context, worker: Context, lots: Sequence[list[Report]], tick: Tick) -> None:
    """Hand in lot after lot, each at its own moment, and judge it here and now.

    Decisions take effect when they are received; so the past cannot be handed in all at once.
    Reservations lapse as they ended. On each Monday but those of the last weeks the round is made
    and its mails go their way, so that today's tell what has come up of late and not all of a year.
    May be called again: what is there already changes nothing.
    """
    if _is_known(web, lots[-1]):
        tick(sum(map(len, lots)))
        return
    clock = StandingClock(lots[0][0].received_at)
    # One lane: a lot is small, and every lane with work costs a transaction.
    settings = web.settings.changed(lanes=1)
    then_web, then_worker = (
        replace(context, clock=clock, settings=settings, announcer=SilentAnnouncer())
        for context in (web, worker)
    )
    for lot in lots:
        clock.set(lot[0].received_at)
        lapse_reservations(then_web)
        if clock.now().weekday() == _MONDAY and clock.now() < lots[-1][0].received_at - _OF_LATE:
            make_rounds(then_worker)
            send_waiting(then_worker, _GoneLongAgo())
        _hand_in(then_web, lot)
        while drain(then_worker, _ONLY_LANE).more:
            pass
        tick(len(lot))


def live_today(
    web: Context, incidents: Sequence[Incident], meanwhile: Callable[[], object], tick: Tick
) -> dict[UUID, Verdict]:
    """Hand in today's events, each incident's next when its last have verdicts; return these.

    `meanwhile` is done over and over while verdicts are waited for.

    Raises:
        VerdictsLateError: Nobody gives verdicts.
    """
    verdicts: dict[UUID, Verdict] = {}
    for number in range(max(len(incident.steps) for incident in incidents)):
        now_due = [one.steps[number] for one in incidents if number < len(one.steps)]
        reports = [report for step in now_due for report in step]
        _hand_in(web, reports)
        verdicts |= _await(web, [report.id for report in reports], meanwhile)
        tick(len(reports))
    return verdicts


def _hand_in(context: Context, reports: Iterable[Report]) -> None:
    accept.accept(context, [report.body for report in reports])


def _await(
    context: Context, event_ids: Sequence[UUID], meanwhile: Callable[[], object]
) -> dict[UUID, Verdict]:
    stop_at = time.monotonic() + _PATIENCE_S
    while len(found := find_verdicts(context, event_ids)) < len(event_ids):
        if time.monotonic() > stop_at:
            raise VerdictsLateError(len(event_ids) - len(found))
        meanwhile()
    return found


@dataclass(frozen=True, slots=True)
class _GoneLongAgo:
    """Takes the mails of the past, which were read and thrown away."""

    def deliver(self, message: EmailMessage) -> None:
        """Do nothing more with a mail."""


def _is_known(context: Context, lot: Sequence[Report]) -> bool:
    return len(find_verdicts(context, [report.id for report in lot])) == len(lot)
