"""Send photos, and look at them."""

from __future__ import annotations

from typing import Annotated, Any, Final

from anyio import to_thread
from fastapi import APIRouter, Path, Query, Request, Response
from starlette.datastructures import UploadFile

from schemas.photos import PhotoReceipt, PhotoSize
from tracker.services import photos
from tracker.services.actor import Scope
from tracker.web.access import EVERY_ROLE, TheActor, needs
from tracker.web.means import TheMeans
from tracker.web.request_errors import BadRequestError

PREFIX: Final = "/api/photos"

router = APIRouter(prefix=PREFIX, tags=["photos"])

FIELD: Final = "photo"
"""Names the file in a form; everything else that is sent is the photo itself."""

_FORM: Final = "multipart/form-data"
_BODY: Final[dict[str, Any]] = {
    "requestBody": {
        "required": True,
        "content": {
            "image/*": {"schema": {"type": "string", "format": "binary"}},
            _FORM: {
                "schema": {
                    "type": "object",
                    "required": [FIELD],
                    "properties": {FIELD: {"type": "string", "format": "binary"}},
                }
            },
        },
    }
}


class PhotoMissingInFormError(BadRequestError):
    """A form came without a photo in it."""

    def __init__(self) -> None:
        super().__init__("The form holds no photo", expected=f"a file in its field {FIELD!r}")


@router.post("", status_code=201, openapi_extra=_BODY)
@needs(*EVERY_ROLE, scope=Scope.REPORT)
async def post_photo(request: Request, means: TheMeans, actor: TheActor) -> PhotoReceipt:
    """Keep a photo, sent as it is or in a form, and say at once whether it can be read.

    What it is, is told from its content. Its position is not kept. An event names it by `digest`.
    """
    data = await _sent(request)
    # A few at a time: each is decoded whole.
    return await to_thread.run_sync(
        photos.take_photo, means.context, data, actor.id, limiter=means.photo_room
    )


@router.get(
    "/{digest}",
    response_class=Response,
    responses={304: {"description": "It is still what `If-None-Match` names."}},
)
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_photo(
    digest: Annotated[str, Path(pattern="^[0-9a-f]{64}$")],
    means: TheMeans,
    actor: TheActor,
    request: Request,
    size: Annotated[PhotoSize, Query(description="At most 320 or 1280 pixels.")] = "original",
) -> Response:
    """Return a photo that one has sent, or that an event names which one may see."""
    if not photos.may_see_photo(means.context, actor, digest):
        raise photos.PhotoUnknownError(digest)
    tag = f'"{digest}-{size}"'
    # The same for ever, and asked about each time all the same: it may be erased, or be seen by
    # this person no more. The answer to that holds no picture, so no file is read for it.
    headers = {"Cache-Control": "private, no-cache", "ETag": tag}
    if tag in request.headers.get("if-none-match", ""):
        photos.find_photo(means.context, digest)
        return Response(status_code=304, headers=headers)
    opened = photos.open_photo(means.context, digest, size)
    return Response(opened.content, media_type=opened.media_type, headers=headers)


async def _sent(request: Request) -> bytes:
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != _FORM:
        return await request.body()
    async with request.form(max_files=1) as form:
        sent = form.get(FIELD)
        if not isinstance(sent, UploadFile):
            raise PhotoMissingInFormError
        return await sent.read()
