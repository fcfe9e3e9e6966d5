"""Signing in and out."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, Form, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from tracker.services import sign_in
from tracker.services.sign_in import LONGEST_SESSION, SignInRefusedError, TooManyAttemptsError
from tracker.web.access import COOKIE, open_to_all
from tracker.web.means import TheMeans
from tracker.web.pages.page import render

router = APIRouter(include_in_schema=False)

_Typed = Annotated[str, Form(max_length=800)]
_SAFE_PATH_BEGINS: Final = "/"


@router.get("/sign-in")
@open_to_all
def get_sign_in(
    request: Request, next_path: Annotated[str, Query(alias="next", max_length=2000)] = "/"
) -> HTMLResponse:
    """Show the form."""
    return render(request, "sign_in.html", next_path=own_path(next_path))


@router.post("/sign-in")
@open_to_all
def post_sign_in(
    request: Request,
    means: TheMeans,
    name: _Typed = "",
    password: _Typed = "",
    next_path: Annotated[str, Form(alias="next", max_length=2000)] = "/",
) -> Response:
    """Begin a new session, whatever session there was, and go where the person wanted to go."""
    context, address = means.context, request.client.host if request.client else "unknown"
    try:
        signed_in = sign_in.sign_in(context, name, password, address)
    except (SignInRefusedError, TooManyAttemptsError) as fault:
        is_late = isinstance(fault, TooManyAttemptsError)
        page = render(
            request,
            "sign_in.html",
            status=429 if is_late else 401,
            next_path=own_path(next_path),
            fault=fault,
            name=name,
        )
        if isinstance(fault, TooManyAttemptsError):
            page.headers["Retry-After"] = str(fault.retry_after_s)
        return page
    if before := request.cookies.get(COOKIE):
        sign_in.sign_out(context, before)
    answer = RedirectResponse(own_path(next_path), status_code=303)
    answer.set_cookie(
        COOKIE,
        signed_in.token,
        max_age=int(LONGEST_SESSION.total_seconds()),
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",
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


def own_path(path: str) -> str:
    """Return a path of ours to go on to; anything that may lead elsewhere becomes the start."""
    plain = path.isprintable() and "\\" not in path
    is_ours = path.startswith(_SAFE_PATH_BEGINS) and not path.startswith("//")
    return path if plain and is_ours else "/"
