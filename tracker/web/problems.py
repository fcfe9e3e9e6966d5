"""What went wrong, for programs as problem+json (RFC 9457) and for people as a page.

One table says which of our errors is which status; an error that is not in it is ours to mend: it
is logged once, and the answer tells only the id it is logged under.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from http import HTTPStatus
from types import MappingProxyType
from typing import Any, Final
from urllib.parse import quote

import psycopg
from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse, Response
from sqlalchemy.exc import DataError
from starlette.exceptions import HTTPException as StarletteHTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from shared import logs
from shared.errors import HardstandError, KnowledgeError
from tracker.papers.bare_pictures import BrokenPictureError
from tracker.papers.pictures import NotAPictureError, PictureShapeError, PictureTooLargeError
from tracker.services.accept import TooManyEventsError
from tracker.services.acknowledgements import NotSoldForStorageError
from tracker.services.alerts_desk import AlertNotYoursError, AlertUnknownError, PutOffError
from tracker.services.catalogue import WorkUnknownError
from tracker.services.collection_notes import ReferenceUnknownError
from tracker.services.deliveries import DeliveryUnknownError
from tracker.services.openid_provider import OpenIdError, ProviderAwayError
from tracker.services.orders_view import OrderUnknownError
from tracker.services.passwords import PasswordError
from tracker.services.photos import PhotoForgottenError, PhotoUnknownError
from tracker.services.report import EventUnknownError
from tracker.services.sign_in import (
    SignInCrowdedError,
    SignInRefusedError,
    TooManyAttemptsError,
)
from tracker.services.stock_check import StockCheckTakenError, StockCheckUnknownError
from tracker.services.unit_view import UnitUnknownError
from tracker.store.photo_files import PhotoStoreAwayError, PhotoStoreFullError
from tracker.web.access import NotAllowedError, NotSignedInError
from tracker.web.backlog import BusyError
from tracker.web.csrf import ForgedRequestError
from tracker.web.means import means_of
from tracker.web.request_errors import BadRequestError
from tracker.web.taking_in import DATABASE_FAULTS

log = logs.get(__name__)

STATUS: Final[Mapping[type[HardstandError], int]] = MappingProxyType(
    {
        BadRequestError: 400,
        KnowledgeError: 422,
        PasswordError: 422,
        NotSignedInError: 401,
        SignInRefusedError: 401,
        OpenIdError: 401,
        ProviderAwayError: 503,
        NotAllowedError: 403,
        ForgedRequestError: 403,
        UnitUnknownError: 404,
        OrderUnknownError: 404,
        ReferenceUnknownError: 404,
        PhotoUnknownError: 404,
        PhotoForgottenError: 410,
        EventUnknownError: 404,
        AlertUnknownError: 404,
        AlertNotYoursError: 403,
        PutOffError: 422,
        StockCheckUnknownError: 404,
        StockCheckTakenError: 409,
        WorkUnknownError: 404,
        NotSoldForStorageError: 404,
        DeliveryUnknownError: 404,
        TooManyEventsError: 413,
        PictureTooLargeError: 413,
        NotAPictureError: 415,
        PictureShapeError: 422,
        BrokenPictureError: 422,
        TooManyAttemptsError: 429,
        SignInCrowdedError: 503,
        BusyError: 503,
        PhotoStoreAwayError: 503,
        PhotoStoreFullError: 507,
    }
)
"""Which status each error is, its subclasses with it. Any other is a 500."""

_RETRY_WHEN_AWAY_S: Final = 2


def install(app: FastAPI) -> None:
    """Let the application answer errors by the table."""
    app.add_exception_handler(HardstandError, _answer_ours)
    app.add_exception_handler(RequestValidationError, _answer_invalid)
    app.add_exception_handler(StarletteHTTPException, _answer_http)
    app.add_exception_handler(DataError, _answer_data)
    app.add_exception_handler(psycopg.DataError, _answer_data)
    for error in DATABASE_FAULTS:
        app.add_exception_handler(error, _answer_away)


def status_of(fault: HardstandError) -> int:
    """Return the status of an error."""
    for error in type(fault).__mro__:
        if error in STATUS:
            return STATUS[error]
    return 500


class Unexpected:
    """Answers what nobody expected: logs it once, with its traceback, and tells only its id."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle one request."""
        begun = False

        async def note(message: Message) -> None:
            nonlocal begun
            begun = begun or message["type"] == "http.response.start"
            await send(message)

        try:
            await self._app(scope, receive, note)
        except Exception:
            if scope["type"] != "http":
                raise
            log.exception("request.failed", path=scope["path"])
            if not begun:
                answer = _unexpected(Request(scope))
                await answer(scope, receive, send)


def problem(
    request: Request,
    status: int,
    detail: str,
    *,
    kind: str = "about:blank",
    headers: Mapping[str, str] | None = None,
    **more: Any,  # noqa: ANN401 - extension members, any JSON
) -> Response:
    """Return a problem, as a page to browsers outside the API and as problem+json to others."""
    said: dict[str, Any] = {
        "type": kind,
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        "instance": f"urn:uuid:{request.state.request_id}",
        **{name: value for name, value in more.items() if value},
    }
    sent = dict(headers or {})
    if wants_page(request):
        templates = means_of(request).templates
        return templates.TemplateResponse(
            request, "problem.html", {"problem": said}, status_code=status, headers=sent
        )
    return JSONResponse(
        said, status_code=status, headers=sent, media_type="application/problem+json"
    )


def wants_page(request: Request) -> bool:
    """Say whether a browser asks for a page, and not a program for data."""
    is_page = not request.url.path.startswith(("/api/", "/static/"))
    return is_page and "text/html" in request.headers.get("accept", "")


async def _answer_ours(request: Request, fault: Exception) -> Response:
    assert isinstance(fault, HardstandError)  # noqa: S101 - what it is registered for
    status = status_of(fault)
    if status == 500:
        log.error("request.failed", path=request.url.path, exc_info=fault)
        return _unexpected(request)
    if isinstance(fault, NotSignedInError) and wants_page(request):
        return _to_sign_in(request)
    headers = {"WWW-Authenticate": "Bearer"} if status == 401 else {}
    if (seconds := getattr(fault, "retry_after_s", None)) is not None:
        headers["Retry-After"] = str(seconds)
    return problem(
        request,
        status,
        str(fault),
        kind=f"urn:hardstand:problem:{_slug(type(fault))}",
        headers=headers,
        wrong=fault.wrong,
        expected=fault.expected,
        remedy=fault.remedy,
    )


def _to_sign_in(request: Request) -> Response:
    where = "/sign-in"
    if request.method == "GET" and request.url.path != "/":
        path = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        where += f"?next={quote(path, safe='')}"
    return RedirectResponse(where, status_code=303)


async def _answer_invalid(request: Request, fault: Exception) -> Response:
    assert isinstance(fault, RequestValidationError)  # noqa: S101 - see above
    wrong = [
        {"field": ".".join(map(str, one["loc"])), "says": one["msg"]} for one in fault.errors()
    ]
    detail = "; ".join(f"{one['field']}: {one['says']}" for one in wrong)
    return problem(request, 422, detail, kind="urn:hardstand:problem:invalid", fields=wrong)


async def _answer_http(request: Request, fault: Exception) -> Response:
    assert isinstance(fault, StarletteHTTPException)  # noqa: S101 - see above
    detail = str(fault.detail)
    if fault.status_code == 404:
        detail = f"There is nothing at {request.url.path}. Check the address."
    return problem(request, fault.status_code, detail, headers=fault.headers)


async def _answer_data(request: Request, _fault: Exception) -> Response:
    return problem(request, 422, "A value holds what the database cannot store, such as NUL.")


async def _answer_away(request: Request, fault: Exception) -> Response:
    log.warning("database.away", fault=type(fault).__name__, path=request.url.path)
    return problem(
        request,
        503,
        "The database does not answer in time. Nothing accepted is lost. Try again.",
        headers={"Retry-After": str(_RETRY_WHEN_AWAY_S)},
    )


def _unexpected(request: Request) -> Response:
    return problem(
        request,
        500,
        "Something went wrong that nobody expected. It is logged under the id in `instance`.",
    )


def _slug(error: type[HardstandError]) -> str:
    name = error.__name__.removesuffix("Error")
    return re.sub(r"(?<!^)(?=[A-Z])", "-", name).lower()
