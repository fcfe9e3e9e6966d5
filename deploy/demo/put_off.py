"""The gate puts an alert off, with a reason: the box that the stock check did not find."""

from __future__ import annotations

import contextlib
from datetime import timedelta
from typing import Final

from deploy.demo.house import TARN
from deploy.demo.scenario import Scenario
from tracker.services import alerts_desk
from tracker.services.alerts_desk import AlertName, PutOffError
from tracker.services.context import Context
from tracker.store import alerts
from tracker.store.alerts import AlertFilter

_KIND: Final = "not-seen"
_DAYS: Final = timedelta(days=3)
_REASON: Final = "row E is stacked two deep; it is looked through when the crane is back"


def put_off_missing(context: Context, told: Scenario) -> None:
    """Put the alert off, unless it was answered since or its day has come; may be called again."""
    mark = told.cast.trade.not_found.mark
    with context.engine.begin() as connection:
        open_now = alerts.list_open(connection, AlertFilter(kind=_KIND))
    if not any(row["mark"] == mark and row["answered_by"] is None for row in open_now):
        return
    until = told.moment.date() + _DAYS
    with contextlib.suppress(PutOffError):
        alerts_desk.put_off(
            context, AlertName(mark, _KIND), until=until, by=TARN.gate, reason=_REASON, actor=None
        )
