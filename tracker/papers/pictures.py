"""Read a photo as it was sent: what may be kept of it, its facts, and smaller pictures of it.

What it is, is told from its content, never from a name or a header. It is decoded whole before it
is believed. Where it was taken is not kept; when, is.
"""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, assert_never

from PIL import Image, ImageFile
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.WebPImagePlugin import WebPImageFile

from shared.errors import HardstandError
from tracker.papers.bare_pictures import (
    PNG_START,
    Bare,
    BrokenPictureError,
    bare_jpeg,
    bare_png,
    bare_webp,
    jpeg_with,
    png_with,
    webp_with,
)
from tracker.papers.legibility import Legibility, judge_legibility
from tracker.papers.picture_notes import Notes, read_notes, write_notes

SMALL_PX: Final = 320
LARGE_PX: Final = 1280
LEAST_SIDE_PX: Final = 64
"""A picture with a shorter side than this shows nothing that can be read."""
MOST_TIMES_LONGER: Final = 10
"""A picture that is longer than this many times its shorter side is a strip and no photo."""

_TURNS: Final = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_LYING_FROM: Final = 5
_HEIC_BRANDS: Final = frozenset((b"heic", b"heix", b"heim", b"heis", b"mif1"))
_ORDINARY_MODES: Final = frozenset(("1", "L", "LA", "P", "PA", "RGB", "RGBA", "CMYK", "YCbCr"))
_JPEG_QUALITY: Final = 82
# What the decoders raise at files that are damaged or meant to harm.
_DECODERS_ERRORS: Final = (
    OSError,
    SyntaxError,
    ValueError,
    TypeError,
    LookupError,
    ArithmeticError,
    EOFError,
    MemoryError,
    RuntimeError,
    struct.error,
    zlib.error,
)


class PictureKind(StrEnum):
    """The kinds of picture that are read; the value is the media type."""

    JPEG = "image/jpeg"
    PNG = "image/png"
    WEBP = "image/webp"


@dataclass(frozen=True, slots=True)
class Bounds:
    """How much a picture may be: bytes as sent, and pixels before anything is decoded."""

    most_bytes: int
    most_pixels: int


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture that was decoded whole.

    `kept` is what to store: the picture without its position. Taking it in again gives the same.
    `taken_at` is ISO 8601 and has a zone only if the camera told one. `width` and `height` are of
    the upright picture; `small` and `large` are upright JPEGs of at most 320 and 1280 pixels.
    """

    kept: bytes
    media_type: str
    width: int
    height: int
    taken_at: str | None
    legibility: Legibility
    small: bytes
    large: bytes


class NotAPictureError(HardstandError):
    """The content is no picture of a kind that is read."""

    def __init__(self, wrong: str, *, remedy: str = "") -> None:
        super().__init__(wrong, expected="a JPEG, PNG or WebP file", remedy=remedy)


class HeicPictureError(NotAPictureError):
    """The content is a HEIC picture.

    They are not read: at damaged ones the decoder there is ended the whole process, as was seen.
    """

    def __init__(self) -> None:
        remedy = "Let the phone's camera save the most compatible format, and take it again"
        super().__init__("This is a HEIC picture", remedy=remedy)


class PictureTooLargeError(HardstandError):
    """A picture has more bytes or pixels than is allowed."""

    def __init__(self, wrong: str) -> None:
        super().__init__(wrong, remedy="Send it smaller")


class PictureShapeError(HardstandError):
    """A picture is no photo by its sides: too small, or a strip; carries both."""

    def __init__(self, width: int, height: int, expected: str) -> None:
        self.width, self.height = width, height
        super().__init__(f"The picture has {width} x {height} pixels", expected=expected)


def read_picture(data: bytes, bounds: Bounds) -> Picture:
    """Read a picture as it was sent.

    Raises:
        NotAPictureError: it is something else, or a HEIC.
        PictureTooLargeError: it is beyond the bounds.
        PictureShapeError: it is too small, or a strip.
        BrokenPictureError: it is damaged, or moves.
    """
    if len(data) > bounds.most_bytes:
        raise PictureTooLargeError(f"The picture has more than {bounds.most_bytes / 1e6:g} MB")
    kind = kind_of(data)
    bare = _bare(kind, data)
    notes = read_notes(bare.exif)
    image = _decoded(kind, bare.file, bounds)
    kept = _with_notes(kind, bare.file, notes)
    sides = image.size[::-1] if notes.orientation >= _LYING_FROM else image.size
    large = _shrunk(image, notes.orientation)
    small = large.copy()
    small.thumbnail((SMALL_PX, SMALL_PX))
    return Picture(
        kept=kept,
        media_type=kind.value,
        width=sides[0],
        height=sides[1],
        taken_at=notes.taken_at,
        legibility=judge_legibility(large),
        small=_as_jpeg(small),
        large=_as_jpeg(large),
    )


def kind_of(data: bytes) -> PictureKind:
    """Tell what a file is by its first bytes; raises `NotAPictureError`."""
    if data.startswith(b"\xff\xd8\xff"):
        return PictureKind.JPEG
    if data.startswith(PNG_START):
        return PictureKind.PNG
    if data.startswith(b"RIFF") and data[8:12] == b"WEBP":
        return PictureKind.WEBP
    if data[4:8] == b"ftyp" and data[8:12] in _HEIC_BRANDS:
        raise HeicPictureError
    raise NotAPictureError("This is no picture")


def _bare(kind: PictureKind, data: bytes) -> Bare:
    match kind:
        case PictureKind.JPEG:
            return bare_jpeg(data)
        case PictureKind.PNG:
            return bare_png(data)
        case PictureKind.WEBP:
            return bare_webp(data)
        case _:
            assert_never(kind)


def _with_notes(kind: PictureKind, bare: bytes, notes: Notes) -> bytes:
    exif = write_notes(notes)
    if not exif:
        return bare
    ways = {PictureKind.JPEG: jpeg_with, PictureKind.PNG: png_with, PictureKind.WEBP: webp_with}
    return ways[kind](bare, exif)


def _decoded(kind: PictureKind, data: bytes, bounds: Bounds) -> Image.Image:
    # Each by its own class: the general opener would try every format that the library knows.
    openers: dict[PictureKind, Callable[[io.BytesIO], ImageFile.ImageFile]] = {
        PictureKind.JPEG: JpegImageFile,
        PictureKind.PNG: PngImageFile,
        PictureKind.WEBP: WebPImageFile,
    }
    try:
        image = openers[kind](io.BytesIO(data))
        _check_sides(*image.size, bounds)
        image.load()
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as fault:
        raise PictureTooLargeError("The picture has too many pixels") from fault
    except _DECODERS_ERRORS as fault:
        raise BrokenPictureError("it cannot be decoded") from fault
    if image.mode not in _ORDINARY_MODES:
        raise BrokenPictureError(f"no camera writes its kind of pixels ({image.mode})")
    return image


def _check_sides(width: int, height: int, bounds: Bounds) -> None:
    if width * height > bounds.most_pixels:
        most = f"{bounds.most_pixels / 1e6:g} million"
        raise PictureTooLargeError(f"The picture has {width} x {height} pixels, more than {most}")
    shorter, longer = sorted((width, height))
    if shorter < LEAST_SIDE_PX:
        raise PictureShapeError(width, height, f"at least {LEAST_SIDE_PX} to each side")
    if longer > MOST_TIMES_LONGER * shorter:
        raise PictureShapeError(width, height, "a photo and not a strip")


def _shrunk(image: Image.Image, orientation: int) -> Image.Image:
    # Shrunk before it is turned: turning copies, and a whole picture may be large.
    if image.mode in ("1", "P", "PA"):
        image = image.convert("RGBA")
    image.thumbnail((LARGE_PX, LARGE_PX))
    image = _flat(image)
    return image.transpose(_TURNS[orientation]) if orientation in _TURNS else image


def _flat(image: Image.Image) -> Image.Image:
    """Return it in colours as seen on white; its colour profile is kept where it still fits."""
    profile = image.info.get("icc_profile") if image.mode in ("RGB", "RGBA") else None
    if image.mode in ("RGBA", "LA"):
        image = image.convert("RGBA")
        white = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(white, image)
    flat = image.convert("RGB")
    flat.info = {"icc_profile": profile} if profile else {}
    return flat


def _as_jpeg(image: Image.Image) -> bytes:
    written = io.BytesIO()
    profile = image.info.get("icc_profile")
    image.save(written, "JPEG", quality=_JPEG_QUALITY, icc_profile=profile)
    return written.getvalue()
