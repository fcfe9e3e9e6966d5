"""Signing in and out."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Final

from anyio import to_thread
from fastapi import APIRouter, Form, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from tracker.services import sign_in
from tracker.services.context import Context
from tracker.services.sign_in import (
    LONGEST_SESSION,
    SignedIn,
    SignInCrowdedError,
    SignInError,
    SignInRefusedError,
    TooManyAttemptsError,
)
from tracker.web.access import COOKIE, open_to_all
from tracker.web.means import TheMeans, means_of
from tracker.web.pages.page import render
from tracker.web.problems import status_of

router = APIRouter(include_in_schema=False)

PATH: Final = "/sign-in"
OPENID_PATH: Final = "/sign-in/openid"

KNOWN: Final = "hardstand_known"
"""The cookie of a browser from which somebody signed in once; it opens nothing by itself."""

_YEAR_S: Final = 365 * 24 * 3600

MOST_AT_THE_DOOR: Final = 24
"""So many may wait until their password is looked at, which is a second's work for all of them."""

_Typed = Annotated[str, Form(max_length=800)]
_SAFE_PATH_BEGINS: Final = "/"


@router.get("/sign-in")
@open_to_all
def get_sign_in(
    request: Request, next_path: Annotated[str, Query(alias="next", max_length=2000)] = "/"
) -> HTMLResponse:
    """Show the form."""
    return _show_form(request, next_path=next_path)


@router.post("/sign-in")
@open_to_all
async def post_sign_in(
    request: Request,
    means: TheMeans,
    name: _Typed = "",
    password: _Typed = "",
    next_path: Annotated[str, Form(alias="next", max_length=2000)] = "/",
) -> Response:
    """Begin a new session, whatever session there was, and go where the person wanted to go."""
    if means.sign_ins.taken >= MOST_AT_THE_DOOR:
        fault = SignInCrowdedError()
        return await to_thread.run_sync(
            partial(show_fault, request, fault, next_path=next_path, name=name)
        )
    means.sign_ins.taken += 1
    try:
        return await to_thread.run_sync(
            _sign_in, request, means.context, name, password, next_path, limiter=means.sign_in_room
        )
    finally:
        means.sign_ins.taken -= 1


def _sign_in(
    request: Request, context: Context, name: str, password: str, next_path: str
) -> Response:
    try:
        signed_in = sign_in.sign_in(
            context, name, password, address_of(request), known_as=request.cookies.get(KNOWN, "")
        )
    except (SignInRefusedError, TooManyAttemptsError) as fault:
        return show_fault(request, fault, next_path=next_path, name=name)
    answer = enter(request, context, signed_in, next_path)
    answer.set_cookie(
        KNOWN,
        signed_in.known_as,
        path=PATH,
        max_age=_YEAR_S,
        httponly=True,
        samesite="lax",
        secure=is_encrypted(request),
    )
    return answer


@router.post("/sign-out")
@open_to_all
def post_sign_out(request: Request, means: TheMeans) -> Response:
    """End the session and forget it in the browser too."""
    if session := request.cookies.get(COOKIE):
        sign_in.sign_out(means.context, session)
    answer = RedirectResponse("/sign-in", status_code=303)
    answer.delete_cookie(COOKIE, httponly=True, samesite="lax")
    return answer


def enter(request: Request, context: Context, signed_in: SignedIn, path: str) -> Response:
    """Give the browser its new session, end the one it had, and lead on to a path of ours."""
    if before := request.cookies.get(COOKIE):
        sign_in.sign_out(context, before)
    answer = RedirectResponse(own_path(path), status_code=303)
    answer.set_cookie(
        COOKIE,
        signed_in.token,
        max_age=int(LONGEST_SESSION.total_seconds()),
        httponly=True,
        samesite="lax",
        secure=is_encrypted(request),
    )
    return answer


def show_fault(
    request: Request, fault: SignInError, *, next_path: str = "/", name: str = ""
) -> HTMLResponse:
    """Show the form again, with what kept the person from signing in."""
    page = _show_form(request, status_of(fault), next_path=next_path, fault=fault, name=name)
    if isinstance(fault, TooManyAttemptsError | SignInCrowdedError):
        page.headers["Retry-After"] = str(fault.retry_after_s)
    return page


def is_encrypted(request: Request) -> bool:
    """Say whether the browser speaks TLS with us, or with the proxy before us.

    The proxy may not say so: what people are told to open tells it, too.
    """
    public = means_of(request).context.settings.public_address
    return request.url.scheme == "https" or public.startswith("https://")


def address_of(request: Request) -> str:
    """Return the address that attempts are counted under."""
    return request.client.host if request.client else "unknown"


def own_path(path: str) -> str:
    """Return a path of ours to go on to; anything that may lead elsewhere becomes the start."""
    plain = path.isprintable() and "\\" not in path
    is_ours = path.startswith(_SAFE_PATH_BEGINS) and not path.startswith("//")
    return path if plain and is_ours else "/"


def _show_form(
    request: Request,
    status: int = 200,
    *,
    next_path: str,
    fault: SignInError | None = None,
    name: str = "",
) -> HTMLResponse:
    return render(
        request,
        "sign_in.html",
        status=status,
        next_path=own_path(next_path),
        fault=fault,
        name=name,
        openid_path=OPENID_PATH if means_of(request).openid else None,
    )
