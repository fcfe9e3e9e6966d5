"""At which depot somebody works: chosen once, remembered by the browser."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any, Final

from fastapi import Request, Response

from tracker.services import listings
from tracker.services.actor import EVERY_DEPOT, Person, Role
from tracker.web.access import NotAllowedError
from tracker.web.means import WebMeans

DEPOT_CODE: Final = re.compile(r"[A-Z0-9][A-Z0-9-]{1,15}")
COOKIE: Final = "hardstand_depot"
_YEAR_S: Final = 365 * 24 * 3600


@dataclass(frozen=True, slots=True)
class OwnDepot:
    """The depot somebody works at, and those they may choose from, each with `code` and `name`."""

    code: str
    choices: tuple[dict[str, Any], ...]

    def remember(self, response: Response) -> None:
        """Let the browser bring the choice along next time."""
        if len(self.choices) > 1:
            remember(response, self.code)


def remember(response: Response, code: str) -> None:
    """Let the browser bring a depot along next time as the one chosen last."""
    if DEPOT_CODE.fullmatch(code):
        response.set_cookie(COOKIE, code, max_age=_YEAR_S, httponly=True, samesite="lax")


def likely_depot(request: Request, offered: Sequence[str]) -> str:
    """Return the depot that a form chooses first: the only one, else the one chosen last.

    Empty where neither tells: then the form waits for a choice.
    """
    codes = [code for code in offered if code != EVERY_DEPOT]
    if len(codes) == 1:
        return codes[0]
    last = request.cookies.get(COOKIE, "")
    return last if last in codes else ""


def choose_depot(
    request: Request, means: WebMeans, person: Person, roles: Collection[Role], asked: str | None
) -> OwnDepot:
    """Return the depot asked for, else the one chosen last, else the first of the person's.

    Raises:
        NotAllowedError: they have none of the roles at the depot asked for, or no depot is known.
    """
    choices = tuple(
        depot
        for depot in listings.depots(means.context)
        if not person.roles_at(depot["code"]).isdisjoint(roles)
    )
    codes: list[str] = [depot["code"] for depot in choices]
    if not codes or (asked and asked not in codes):
        raise NotAllowedError("a role at a depot that is known")
    last = request.cookies.get(COOKIE, "")
    return OwnDepot(asked or (last if last in codes else codes[0]), choices)
