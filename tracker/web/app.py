"""The web application: API and pages over one context, made where a process starts."""

from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator, Callable
from importlib import resources
from typing import Final

from fastapi import APIRouter, Depends, FastAPI
from fastapi.staticfiles import StaticFiles
from fastapi.templating import Jinja2Templates

from tracker.services.context import Context
from tracker.services.openid_sign_in import provider_of
from tracker.web import access, csrf, problems
from tracker.web.api import (
    alerts,
    catalogue,
    check,
    deliveries,
    description,
    events,
    health,
    me,
    orders,
    papers,
    photos,
    questions,
    stock,
    stock_checks,
    units,
)
from tracker.web.backlog import Backlog
from tracker.web.crowding import Crowding
from tracker.web.headers import Headers
from tracker.web.limits import BodyLimit
from tracker.web.means import WebMeans
from tracker.web.pages import desks, gate, offline, openid, sign_in, start, walk, words, workshop
from tracker.web.sweeping import Sweeper
from tracker.web.taking_in import TakingIn
from tracker.web.waiting import VerdictWaiter

ROUTERS: Final[tuple[APIRouter, ...]] = (
    alerts.router,
    catalogue.router,
    check.router,
    deliveries.router,
    description.router,
    *desks.ROUTERS,
    events.router,
    gate.router,
    health.router,
    me.router,
    offline.router,
    openid.router,
    orders.router,
    papers.router,
    photos.router,
    questions.router,
    sign_in.router,
    start.router,
    stock.router,
    stock_checks.router,
    units.router,
    walk.router,
    workshop.router,
)
"""All routes there are, each saying beside itself who may use it."""


def create_app(context: Context, *, ping_broker: Callable[[], bool] | None = None) -> FastAPI:
    """Return the application. Starts nothing: what runs beside requests runs while it serves.

    Args:
        context: The means of the web role. Its engine serves up to 40 requests at once, so that a
            pool of 20 with as many to spare is right.
        ping_broker: Says whether the broker answers, for `/ready`; must not wait long.
    """
    means = _make_means(context, ping_broker)

    @contextlib.asynccontextmanager
    async def run(_: FastAPI) -> AsyncIterator[None]:
        async with means.waiter, Sweeper(context):
            yield

    app = FastAPI(
        title="Hardstand",
        summary="The one true record of every freight container that passes through a depot.",
        version="1",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        # It would lead to whatever host the request names, and by http where a proxy speaks TLS.
        redirect_slashes=False,
        lifespan=run,
        # Before every route, so that one which says nothing about access lets nobody in.
        dependencies=[Depends(access.guard), Depends(csrf.check)],
    )
    app.state.means = means
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", StaticFiles(directory=str(_folder("static"))), name="static")
    problems.install(app)
    # The last added is the outermost.
    app.add_middleware(problems.Unexpected)
    with_photos = (photos.PREFIX, gate.PREFIX, workshop.PREFIX)
    app.add_middleware(BodyLimit, larger=dict.fromkeys(with_photos, _largest_photo(context)))
    app.add_middleware(Crowding, most=context.settings.web_requests_most)
    is_encrypted = context.settings.public_address.startswith("https://")
    app.add_middleware(Headers, is_public_encrypted=is_encrypted)
    return app


def _make_means(context: Context, ping_broker: Callable[[], bool] | None) -> WebMeans:
    templates = Jinja2Templates(directory=str(_folder("templates")))
    words.install(templates.env)
    return WebMeans(
        context=context,
        waiter=VerdictWaiter(context),
        backlog=Backlog(context, context.settings.web_backlog_most),
        taking_in=TakingIn(context),
        templates=templates,
        ping_broker=ping_broker,
        openid=provider_of(context),
    )


def _largest_photo(context: Context) -> int:
    # With room for what a form puts around it.
    return context.settings.photo_most_mb * 1_000_000 + 65_536


def _folder(name: str) -> str:
    return str(resources.files("tracker.web") / name)
