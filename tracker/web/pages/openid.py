"""Signing in at the house's OpenID provider: away from the form, and back."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, HTTPException, Query, Request, Response
from fastapi.responses import RedirectResponse

from tracker.services import openid_sign_in
from tracker.services.openid_provider import Provider, ProviderAwayError
from tracker.services.openid_sign_in import ANSWER_PATH, PATIENCE, Answer
from tracker.services.sign_in import SignInError
from tracker.web.access import open_to_all
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.sign_in import OPENID_PATH, address_of, enter, is_encrypted, show_fault

router = APIRouter(include_in_schema=False)

COOKIE: Final = "hardstand_openid"

_Said = Annotated[str, Query(max_length=4000)]


@router.get(OPENID_PATH)
@open_to_all
def get_openid(
    request: Request,
    means: TheMeans,
    next_path: Annotated[str, Query(alias="next", max_length=2000)] = "/",
) -> Response:
    """Send the browser to the provider. A link, since no form may lead elsewhere."""
    provider = _provider_of(means)
    try:
        departure = openid_sign_in.begin(means.context, provider, next_path)
    except ProviderAwayError as fault:
        return show_fault(request, fault, next_path=next_path)
    answer = RedirectResponse(departure.address, status_code=303)
    answer.set_cookie(
        COOKIE,
        departure.kept,
        path=OPENID_PATH,
        max_age=int(PATIENCE.total_seconds()),
        httponly=True,
        # With `strict` it would not come along when the provider sends the browser back.
        samesite="lax",
        secure=is_encrypted(request),
    )
    return answer


@router.get(ANSWER_PATH)
@open_to_all
def get_answer(
    request: Request,
    means: TheMeans,
    state: _Said = "",
    code: _Said = "",
    error: _Said = "",
    iss: _Said = "",
) -> Response:
    """Begin a new session for whom the provider vouches, whatever session there was."""
    provider, kept = _provider_of(means), request.cookies.get(COOKIE, "")
    said = Answer(state=state, code=code, error=error, issuer=iss)
    answer: Response
    try:
        signed_in, path = openid_sign_in.finish(
            means.context, provider, said, kept, address_of(request)
        )
        answer = enter(request, means.context, signed_in, path)
    except SignInError as fault:
        answer = show_fault(request, fault)
    # One sign-in, one answer.
    answer.delete_cookie(COOKIE, path=OPENID_PATH, httponly=True, samesite="lax")
    return answer


def _provider_of(means: WebMeans) -> Provider:
    if means.openid is None:
        raise HTTPException(404)
    return means.openid
