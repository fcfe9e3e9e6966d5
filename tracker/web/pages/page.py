"""What every page is given besides its own values."""

from __future__ import annotations

from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse

from tracker.web import csrf
from tracker.web.access import COOKIE
from tracker.web.means import means_of


def render(request: Request, template: str, *, status: int = 200, **values: Any) -> HTMLResponse:  # noqa: ANN401 - whatever a template shows
    """Return a page.

    Templates find who is signed in as `actor` (None when nobody is), and as `csrf_token` what each
    of their forms sends along.
    """
    actor = request.state.actor
    session = request.cookies.get(COOKIE)
    token = csrf.token_for(means_of(request).context, session) if session and actor else ""
    given = {"actor": actor, "csrf_token": token, **values}
    return means_of(request).templates.TemplateResponse(
        request, template, given, status_code=status
    )
