"""The catalogue of work: what the house does, what it weighs, cuts and costs. For managers."""

from __future__ import annotations

from typing import Annotated, Final

from anyio import to_thread
from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import TypeAdapter, ValidationError

from schemas.work_items import WorkName, WorkTerms
from shared.cautions import CAUTIONS, CUTTING
from shared.errors import HardstandError
from shared.work import ApprovalEffect, ReportedAs
from tracker.services import catalogue
from tracker.services.actor import Role
from tracker.services.catalogue import WorkUnknownError
from tracker.web.access import needs
from tracker.web.means import TheMeans, WebMeans
from tracker.web.pages.form_fields import read_fields
from tracker.web.pages.page import render

PREFIX: Final = "/catalogue"

router = APIRouter(prefix=PREFIX, include_in_schema=False)

_Done = Annotated[str, Query(max_length=60, pattern=r"^[^\x00]*$")]

_NAME: Final[TypeAdapter[str]] = TypeAdapter(WorkName)
_TYPED: Final = {"mass_kg": "int", "cut_out_kg": "int", "labour_min": "int", "permanent": "bool"}


class WorkUnreadError(HardstandError):
    """What was filled in is no piece of work; says which field."""


@router.get("")
@needs(Role.MANAGER)
def get_catalogue(request: Request, means: TheMeans, done: _Done = "") -> HTMLResponse:
    """Show all work that the house does, each with the form that changes it."""
    return _show(request, means, done=done)


@router.post("")
@needs(Role.MANAGER)
async def post_work(request: Request, means: TheMeans) -> Response:
    """Change a piece of work, or add one; what cannot be is told above what was typed."""
    sent = await request.form()
    said = {name: value for name, value in sent.multi_items() if isinstance(value, str)}
    return await to_thread.run_sync(_put, request, means, said)


@router.post("/remove")
@needs(Role.MANAGER)
async def post_remove(request: Request, means: TheMeans) -> Response:
    """Take a piece of work out; what was reported with it stays."""
    name = str((await request.form()).get("name", ""))
    return await to_thread.run_sync(_remove, request, means, name)


def _put(request: Request, means: WebMeans, said: dict[str, str]) -> Response:
    name = said.get("name", "").strip()
    try:
        terms = _read(said)
        catalogue.put(means.context, _read_name(name), terms)
    except WorkUnreadError as fault:
        return _show(request, means, fault=fault, said=said)
    return RedirectResponse(f"{PREFIX}?done={name}#{name}", status_code=303)


def _remove(request: Request, means: WebMeans, name: str) -> Response:
    try:
        catalogue.remove(means.context, name)
    except WorkUnknownError as fault:
        return _show(request, means, fault=fault)
    return RedirectResponse(f"{PREFIX}?done={_read_name(name)}", status_code=303)


def _read_name(name: str) -> str:
    try:
        return _NAME.validate_python(name)
    except ValidationError:
        raise WorkUnreadError(
            f"{name!r} is no name of work", expected="2 to 40 small letters, digits and hyphens"
        ) from None


def _read(said: dict[str, str]) -> WorkTerms:
    """Read the form; cutting that is new asks the approving body, unless its effect is changed."""
    fields = read_fields(
        (f"{name}:{_TYPED[name]}" if name in _TYPED else name, value)
        for name, value in said.items()
        if name in WorkTerms.model_fields
    )
    cuts_anew = fields.get("cuts") and not said.get("was.cuts")
    if cuts_anew and fields.get("approval_effect") == said.get("was.approval_effect") == "none":
        del fields["approval_effect"]
    if fields.get("cuts"):
        fields.setdefault("caution", "cutting")
    try:
        return WorkTerms.model_validate(fields)
    except ValidationError as fault:
        first = fault.errors(include_url=False, include_input=False)[0]
        field = str(first["loc"][0]).replace("_", " ")
        raise WorkUnreadError(f"{field}: {first['msg']}") from None


def _show(
    request: Request,
    means: WebMeans,
    *,
    done: str = "",
    fault: HardstandError | None = None,
    said: dict[str, str] | None = None,
) -> HTMLResponse:
    works, said = catalogue.list_terms(means.context), said or {}
    known = {item.name for item, _ in works}
    return render(
        request,
        "catalogue.html",
        status=200 if fault is None else 404 if isinstance(fault, WorkUnknownError) else 422,
        works=works,
        effects=list(ApprovalEffect),
        kinds=list(ReportedAs),
        cautions=sorted(CAUTIONS),
        cutting=CUTTING,
        currency=means.context.settings.currency,
        done=done,
        fault=fault,
        said=said,
        is_known=said.get("name") in known,
    )
