"""Take a photo in, and hand it out again.

A photo comes first and the event that names it afterwards: an event holds digests only. What no
event ever names stays in the store all the same.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final
from uuid import UUID

from schemas.photos import PhotoReceipt, PhotoSize
from shared.errors import HardstandError
from shared.settings import Settings
from tracker.papers import pictures
from tracker.papers.legibility import Legibility
from tracker.papers.pictures import Bounds, Picture
from tracker.services.actor import Actor
from tracker.services.context import Context
from tracker.services.sight import Sight, may_see_event, show, sight_of
from tracker.services.unit_view import UnitUnknownError
from tracker.store import intake, photo_files, photo_uses, photos
from tracker.store.engine import one_moment
from tracker.store.intake import KnownEvent
from tracker.store.photo_files import PhotoFileMissingError, PhotoFiles, PhotoFileSpoiltError
from tracker.store.photos import PhotoRow

_DIGEST: Final = re.compile(r"[0-9a-f]{64}")
_MILLION: Final = 1_000_000


class PhotoUnknownError(HardstandError):
    """No photo with this digest was ever taken in; carries it."""

    def __init__(self, digest: str) -> None:
        self.digest = digest
        super().__init__(
            f"There is no photo {digest[:80]!r}", expected="the digest that its receipt gave"
        )


class PhotoForgottenError(HardstandError):
    """A photo was erased on request; carries its digest."""

    def __init__(self, digest: str) -> None:
        self.digest = digest
        super().__init__(f"The photo {digest} was erased on request, for ever")


@dataclass(frozen=True, slots=True)
class OpenedPhoto:
    """A picture to show, checked against its digest."""

    media_type: str
    content: bytes


def bounds_of(settings: Settings) -> Bounds:
    """Return how large a photo may be."""
    return Bounds(
        most_bytes=settings.photo_most_mb * _MILLION,
        most_pixels=settings.photo_most_megapixels * _MILLION,
    )


def take_photo(context: Context, data: bytes, sender: UUID | None = None) -> PhotoReceipt:
    """Keep a photo without its position, and say whether it can be read.

    The same photo again gets the same receipt; one that was forgotten does not come back by it.
    Nothing is known of a photo until its files are safe. `sender` is the account or key it came
    with, which may see it before any event names it.

    Raises:
        NotAPictureError, PictureTooLargeError, PictureShapeError, BrokenPictureError: it cannot be
            taken.
        PhotoStoreFullError, PhotoStoreAwayError: it could not be kept; nothing is known of it.
    """
    picture = pictures.read_picture(data, bounds_of(context.settings))
    digest = photo_files.digest_of(picture.kept)
    with context.engine.begin() as connection:
        row = photos.find(connection, digest)
    if row is None or row.forgotten_at is None:
        kept = _keep(_files(context), picture, context)
        with context.engine.begin() as connection:
            row = photos.add(connection, kept)
            if sender is not None:
                photo_uses.note_sender(connection, digest, sender)
        if row.forgotten_at is not None:
            # Erased between the two looks, perhaps before the files came back: whoever erased it
            # removed them before that, or knows nothing of them.
            _remove(context, kept)
    return PhotoReceipt(
        digest=row.digest,
        media_type=row.media_type,
        width=row.width,
        height=row.height,
        taken_at=row.taken_at,
        too_dark=row.too_dark,
        too_blurred=row.too_blurred,
        says=Legibility(row.too_dark, row.too_blurred).says,
    )


def open_photo(context: Context, digest: str, size: PhotoSize = "original") -> OpenedPhoto:
    """Return a photo as it was kept, or a smaller picture of it.

    Raises:
        PhotoUnknownError: there is none with this digest.
        PhotoForgottenError: it was erased on request.
        PhotoFileMissingError, PhotoFileSpoiltError: its file is gone, or was exchanged.
    """
    row = find_photo(context, digest)
    files = _files(context)
    if size == "original":
        return OpenedPhoto(row.media_type, files.read(row.digest))
    try:
        content = files.read(row.small if size == "small" else row.large)
    except (PhotoFileMissingError, PhotoFileSpoiltError):
        # Only the original must never be lost: the smaller ones are made of it.
        again = pictures.read_picture(files.read(row.digest), bounds_of(context.settings))
        content = again.small if size == "small" else again.large
    return OpenedPhoto("image/jpeg", content)


def may_see_photo(context: Context, actor: Actor, digest: str) -> bool:
    """Say whether somebody may see a photo: they sent it, or may see an event that names it."""
    sight = sight_of(actor)
    if sight.depots is None:
        return True
    with one_moment(context.engine) as connection:
        if photo_uses.was_sent_by(connection, digest, actor.id):
            return True
        known = intake.find_known(connection, photo_uses.events_of(connection, digest))
        if any(may_see_event(connection, sight, one) for one in known.values()):
            return True
    return any(_shows(context, sight, one) for one in known.values())


def _shows(context: Context, sight: Sight, known: KnownEvent) -> bool:
    """Say whether what somebody sees of a unit that left their depot has the event in it."""
    try:
        view = show(context, sight, str(known.stream_id))
    except UnitUnknownError:
        return False
    return any(row["id"] == str(known.event_id) for row in view.history)


def forget_photo(context: Context, digest: str) -> bool:
    """Erase the pictures of a photo for ever; return whether there was such a photo.

    Its digest stays where it stands, so no chain breaks. Needs the owner's rights. May be called
    again, and is to be when the store was away: what is left is removed then.
    """
    if not _DIGEST.fullmatch(digest):
        return False
    with context.engine.begin() as connection:
        row = photos.forget(connection, digest, context.clock.now())
    if row is not None:
        _remove(context, row)
    return row is not None


def _remove(context: Context, forgotten: PhotoRow) -> None:
    """Remove the files of a photo that is noted as forgotten, but for those that others show."""
    with context.engine.begin() as connection:
        names = {forgotten.digest, forgotten.small, forgotten.large}
        alone = [name for name in names if not photos.is_shown_by_others(connection, name)]
    for name in alone:
        _files(context).remove(name)


def find_photo(context: Context, digest: str) -> PhotoRow:
    """Return what is known of a photo that may be shown, without reading its files.

    Raises:
        PhotoUnknownError: there is none with this digest.
        PhotoForgottenError: it was erased on request.
    """
    row = None
    if _DIGEST.fullmatch(digest):
        with context.engine.begin() as connection:
            row = photos.find(connection, digest)
    if row is None:
        raise PhotoUnknownError(digest)
    if row.forgotten_at is not None:
        raise PhotoForgottenError(digest)
    return row


def _files(context: Context) -> PhotoFiles:
    return photo_files.open_photo_files(context.settings.photo_store, context.settings.home)


def _keep(files: PhotoFiles, picture: Picture, context: Context) -> PhotoRow:
    small, large, kept = map(files.keep, (picture.small, picture.large, picture.kept))
    return PhotoRow(
        digest=kept,
        media_type=picture.media_type,
        bytes=len(picture.kept),
        width=picture.width,
        height=picture.height,
        taken_at=picture.taken_at,
        received_at=context.clock.now(),
        too_dark=picture.legibility.too_dark,
        too_blurred=picture.legibility.too_blurred,
        small=small,
        large=large,
    )
