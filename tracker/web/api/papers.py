"""The papers of a unit and of its handovers, as PDF; the plate pack also as JSON.

Pages link to:

- `/api/units/{mark}/pack.pdf` and `/api/units/{mark}/pack.json`, each with `?as_of=`;
- `/api/units/{mark}/release.pdf`, whether or not the unit is released: it says what is not met;
- `/api/units/{mark}/acknowledgement.pdf`, where `record.sale.intended_use` is `storage`, else 404;
- `/api/events/{id}/interchange.pdf`, for rows of kind `gate-in` and `gate-out`, else 404.
"""

from __future__ import annotations

from typing import Annotated, Any, Final
from uuid import UUID

from fastapi import APIRouter, Query, Response

from schemas.base import Moment
from tracker.papers.acknowledgement import acknowledgement_pdf
from tracker.papers.interchange import interchange_pdf
from tracker.papers.plate_pack import PlatePack, plate_pack_json, plate_pack_pdf
from tracker.papers.release_note import release_note_pdf
from tracker.services import acknowledgements, plate_packs, release_notes, sight
from tracker.services.actor import Scope
from tracker.services.interchange_receipts import receipt_of
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.api.units import UnitName
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api", tags=["papers"])

AsOf = Annotated[Moment | None, Query(description="What was true then.")]

_PDF: Final = "application/pdf"
SAYS_PDF: Final[dict[int | str, dict[str, Any]]] = {
    200: {"content": {_PDF: {"schema": {"type": "string", "format": "binary"}}}}
}


@router.get("/units/{mark:path}/pack.pdf", response_class=Response, responses=SAYS_PDF)
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_pack_pdf(mark: UnitName, means: TheMeans, actor: TheActor, as_of: AsOf = None) -> Response:
    """Return the plate pack of a unit, complete or saying what it lacks; for ever after it left."""
    return pdf_answer(plate_pack_pdf(_pack(mark, means, actor, as_of)), mark, "plate-pack")


@router.get("/units/{mark:path}/pack.json", response_class=Response)
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_pack_json(mark: UnitName, means: TheMeans, actor: TheActor, as_of: AsOf = None) -> Response:
    """Return the plate pack of a unit for programs; the photo stands in it by its digest."""
    content = plate_pack_json(_pack(mark, means, actor, as_of))
    return Response(content, media_type="application/json")


@router.get("/units/{mark:path}/release.pdf", response_class=Response, responses=SAYS_PDF)
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_release_pdf(mark: UnitName, means: TheMeans, actor: TheActor) -> Response:
    """Return the release note: the collection reference, or each condition that is not met."""
    view = sight.show(means.context, sight.sight_of(actor), mark)
    return pdf_answer(release_note_pdf(release_notes.note_of(means.context, view)), mark, "release")


@router.get("/units/{mark:path}/acknowledgement.pdf", response_class=Response, responses=SAYS_PDF)
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_acknowledgement_pdf(mark: UnitName, means: TheMeans, actor: TheActor) -> Response:
    """Return what the buyer of a unit sold for storage signs to have been told."""
    view = sight.show(means.context, sight.sight_of(actor), mark)
    paper = acknowledgements.acknowledgement_of(means.context, view)
    return pdf_answer(acknowledgement_pdf(paper), mark, "acknowledgement")


@router.get("/events/{event_id}/interchange.pdf", response_class=Response, responses=SAYS_PDF)
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_interchange_pdf(event_id: UUID, means: TheMeans, actor: TheActor) -> Response:
    """Return the interchange receipt of an arrival or a departure."""
    receipt = receipt_of(means.context, sight.sight_of(actor), event_id)
    return pdf_answer(interchange_pdf(receipt), receipt.unit.mark or str(event_id), "interchange")


def _pack(mark: str, means: TheMeans, actor: TheActor, as_of: Moment | None) -> PlatePack:
    view = sight.show(means.context, sight.sight_of(actor), mark, as_of=as_of)
    return plate_packs.pack_of(means.context, view, as_of=as_of)


def pdf_answer(content: bytes, name: str, paper: str) -> Response:
    """Return a paper as an answer, under a name to save it by."""
    kept = "".join(character for character in name if character.isalnum() and character.isascii())
    headers = {
        "Content-Disposition": f'inline; filename="{kept}-{paper}.pdf"',
        # It names people, and tomorrow it may say something else.
        "Cache-Control": "no-store",
    }
    return Response(content, media_type=_PDF, headers=headers)
