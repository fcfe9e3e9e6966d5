"""The means of one web process, made by `app.create_app` and handed to every route."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Annotated, Final

from anyio import CapacityLimiter
from fastapi import Depends, Request
from fastapi.templating import Jinja2Templates

from tracker.services.context import Context
from tracker.services.openid_provider import Provider
from tracker.web.backlog import Backlog
from tracker.web.places import Places
from tracker.web.taking_in import TakingIn
from tracker.web.waiting import VerdictWaiter

PHOTOS_AT_ONCE: Final = 2
SIGN_INS_AT_ONCE: Final = 4


@dataclass(frozen=True, slots=True)
class WebMeans:
    """What routes need besides their data."""

    context: Context
    waiter: VerdictWaiter
    backlog: Backlog
    taking_in: TakingIn
    templates: Jinja2Templates
    ping_broker: Callable[[], bool] | None = None
    """Says whether the broker answers; None when this process does not know one."""
    openid: Provider | None = None
    """Where people may sign in instead of with a password; None when the settings name nobody."""
    photo_room: CapacityLimiter = field(default_factory=lambda: CapacityLimiter(PHOTOS_AT_ONCE))
    """Where photos are read: each takes up to some hundred MB while it is decoded."""
    sign_in_room: CapacityLimiter = field(default_factory=lambda: CapacityLimiter(SIGN_INS_AT_ONCE))
    """Where passwords are looked at, which strangers may ask for: the pages' other threads stay
    free for those who are signed in."""
    sign_ins: Places = field(default_factory=Places)
    """Those under way in it, and in line before it."""


def means_of(request: Request) -> WebMeans:
    """Return the means of the process."""
    means: WebMeans = request.app.state.means
    return means


TheMeans = Annotated[WebMeans, Depends(means_of)]
