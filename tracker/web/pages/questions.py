"""Open questions and breaches, and the form that answers a question."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Final
from uuid import UUID

from anyio import to_thread
from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response
from starlette.datastructures import FormData

from schemas.events.settling import Settlement
from schemas.readings import Masses
from shared.ids import new_id
from tracker.services import alerts_desk, check, listings, sight
from tracker.services.actor import Person
from tracker.services.unit_view import UnitUnknownError
from tracker.store.alerts import AlertFilter
from tracker.store.queries import QuestionKey
from tracker.web.access import EVERY_ROLE, ThePerson, needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.answer_fields import fields_for, settlements_for
from tracker.web.pages.deciding import Decided, decide, find_told, go_on
from tracker.web.pages.page import render
from tracker.web.pages.stock import seen_depots
from tracker.web.request_errors import BadRequestError

router = APIRouter(prefix="/questions", include_in_schema=False)

PAGE_SIZE: Final = 30
BREACHES: Final = 10

_Code = Annotated[str, Query(max_length=40, pattern=r"^[^\x00]*$")]
_Key = Annotated[str | None, Query(max_length=120, pattern=r"^[^\x00]*$")]


class QuestionKeyError(BadRequestError):
    """A text is no place among the questions."""

    def __init__(self) -> None:
        super().__init__("This is no place among the questions", remedy="Begin at the first page")


@router.get("")
@needs(*EVERY_ROLE)
async def get_questions(
    request: Request,
    means: TheMeans,
    person: ThePerson,
    *,
    depot: _Code = "",
    after: _Key = None,
    told: UUID | None = None,
) -> HTMLResponse:
    """Show the open questions, the oldest first, and breaches above them."""
    receipt = await find_told(means, person, told)
    values = await to_thread.run_sync(_list, means, person, depot, after)
    return render(request, "questions/questions.html", told=receipt, depot=depot, **values)


@router.get("/{question_id}")
@needs(*EVERY_ROLE)
def get_question(
    request: Request, question_id: UUID, means: TheMeans, person: ThePerson
) -> HTMLResponse:
    """Show one question with the form that answers it."""
    return _show(request, means, sight.sight_of(person), question_id, None)


@router.post("/{question_id}")
@needs(*EVERY_ROLE)
async def post_answer(
    request: Request, question_id: UUID, means: TheMeans, person: ThePerson
) -> Response:
    """Answer a question; a refusal is shown beside the form, with its reasons."""
    seen = sight.sight_of(person)
    form = await request.form()
    if not form.get("settlement"):
        # An answer that does not say how is one by value; a page's silence says nothing.
        return await to_thread.run_sync(_show, request, means, seen, question_id, None, form)
    decided = await decide(request, means, person, {"answer"}, question=str(question_id))
    if decided.goes_on:
        return go_on(decided, "/questions")
    return await to_thread.run_sync(_show, request, means, seen, question_id, decided)


def _list(means: WebMeans, person: Person, depot: str, after: str | None) -> dict[str, Any]:
    context, seen = means.context, sight.sight_of(person)
    asked = sight.list_questions(
        context, seen, depot=depot or None, after=_read_key(after), size=PAGE_SIZE
    )
    unseen = AlertFilter(depot=depot or None, kind="breach", answered=False)
    breaches = sight.list_alerts(context, seen, unseen, size=BREACHES + 1)
    last = asked[-1] if len(asked) == PAGE_SIZE else None
    return {
        "questions": asked,
        "breaches": [
            one | {"mine": alerts_desk.may_answer(person, one["depot"], one["role"])}
            for one in breaches[:BREACHES]
        ],
        "more_breaches": len(breaches) > BREACHES,
        "next_key": f"{last['opened_at']}~{last['id']}" if last else None,
        "zones": listings.zone_names(context),
        "depots": seen_depots(means, seen),
    }


def _show(
    request: Request,
    means: WebMeans,
    seen: sight.Sight,
    question_id: UUID,
    decided: Decided | None,
    unchosen: FormData | None = None,
) -> HTMLResponse:
    """Show a question; `unchosen` is its form, sent without a choice how it is settled."""
    question = sight.find_question(means.context, seen, question_id)
    if question is None:
        status = 404 if decided is None else decided.status
        return render(request, "questions/settled.html", status=status)
    row = _event_asked_about(means, seen, question)
    event = row["event"] if row else {}
    return render(
        request,
        "questions/question.html",
        status=422 if unchosen else 200 if decided is None else decided.status,
        unchosen=unchosen,
        question=question,
        decided=decided,
        said=decided.event if decided else dict(unchosen or {}),
        row=row,
        event=event,
        suggestions=_suggestions(means, question["field"], event),
        settlements=settlements_for(question["field"]),
        value=Settlement.VALUE,
        fields=fields_for(question["field"], event),
        zone=listings.zone_names(means.context).get(question["depot"], "UTC"),
        form_id=new_id(),
    )


def _event_asked_about(
    means: WebMeans, seen: sight.Sight, question: dict[str, Any]
) -> dict[str, Any] | None:
    try:
        view = sight.show(means.context, seen, str(question["unit_id"]))
    except UnitUnknownError:
        return None
    return next((row for row in view.history if row["id"] == question["event"]), None)


def _suggestions(means: WebMeans, field: str, event: dict[str, Any]) -> list[str]:
    """Return the marks that a doubted one may be, the likeliest first."""
    read = event.get(field)
    if field not in ("mark", "new_mark") or not isinstance(read, str):
        return []
    found = check.check(means.context, mark=read, size_type=None, masses=Masses())
    return list(found.suggestions[:6])


def _read_key(text: str | None) -> QuestionKey | None:
    if text is None:
        return None
    moment, _, question_id = text.partition("~")
    try:
        return QuestionKey(datetime.fromisoformat(moment), UUID(question_id))
    except ValueError:
        raise QuestionKeyError from None
