"""Take out of a picture's file all that is not the picture; the picture itself stays bit by bit.

So the decoder gets the picture alone, and a harmful note never reaches it.

What is kept is listed, not what is removed: position stands in EXIF, in XMP, in makers' own blocks
and in further pictures behind the first, and other files can be hidden in any of these places.

Source: ITU-T T.81 annex B (JPEG markers); PNG (W3C), clauses 5 and 11; WebP container (Google),
"Extended File Format"; from memory. The tests read the outcome back with a library.
"""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from shared.errors import HardstandError

PNG_START: Final = b"\x89PNG\r\n\x1a\n"

_START_OF_SCAN, _END_OF_IMAGE, _NOTES = 0xDA, 0xD9, 0xE1
# Quantisation, number of lines, restart interval; frames and code tables (C0 to CF, without C8).
_JPEG_KEPT: Final = frozenset(
    (_START_OF_SCAN, _END_OF_IMAGE, 0xDB, 0xDC, 0xDD, *range(0xC0, 0xC8), *range(0xC9, 0xD0))
)
# Which blocks of applications colours depend on, by what they begin with.
_JPEG_APPLICATIONS: Final = {0xE0: b"JFIF\0", 0xE2: b"ICC_PROFILE\0", 0xEE: b"Adobe"}
_JPEG_EXIF: Final = b"Exif\0\0"
# In a scan FF 00 is a byte of data, FF D0 to FF D7 are restarts, and FF FF is filling.
_SCAN_ENDS: Final = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]", re.DOTALL)

_PNG_KEPT: Final = frozenset(b"IHDR PLTE tRNS gAMA cHRM sRGB iCCP sBIT cICP pHYs IDAT IEND".split())
_PNG_HEADER_ENDS: Final = len(PNG_START) + 25

# In the order that the container asks for.
_WEBP_KEPT: Final = (b"VP8X", b"ICCP", b"ALPH", b"VP8 ", b"VP8L")
_WEBP_EXIF_FLAG: Final = 0x08
# Colour profile and transparency; without notes and movement.
_WEBP_KEPT_FLAGS: Final = 0x30

_BREAKS_OFF: Final = "it breaks off before its end"


class BrokenPictureError(HardstandError):
    """A picture's file breaks off, or holds what no such file holds."""

    def __init__(self, why: str) -> None:
        super().__init__(f"The picture is damaged: {why}", remedy="Send it again, or take it again")


@dataclass(frozen=True, slots=True)
class Bare:
    """A file with the picture alone in it, and the block of notes (TIFF form) that was with it."""

    file: bytes
    exif: bytes = b""


def bare_jpeg(data: bytes) -> Bare:
    """Return the first picture of a JPEG.

    Raises:
        BrokenPictureError: it breaks off before its end.
    """
    kept, exif = [b"\xff\xd8"], b""
    for marker, segment in _jpeg_segments(data):
        application = _JPEG_APPLICATIONS.get(marker)
        if marker in _JPEG_KEPT or (application and segment[4:].startswith(application)):
            kept.append(segment)
        elif marker == _NOTES and segment[4:].startswith(_JPEG_EXIF):
            exif = segment[4 + len(_JPEG_EXIF) :]
    return Bare(b"".join(kept), exif)


def jpeg_with(bare: bytes, exif: bytes) -> bytes:
    """Return a bare JPEG with a block of notes."""
    body = _JPEG_EXIF + exif
    return bare[:2] + struct.pack(">BBH", 0xFF, _NOTES, len(body) + 2) + body + bare[2:]


def _jpeg_segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield each marker after the first with its segment, scans with their data, to the end."""
    at = 2
    while True:
        while data[at : at + 2] == b"\xff\xff":
            at += 1
        if len(data) < at + 2 or data[at] != 0xFF:
            raise BrokenPictureError(_BREAKS_OFF)
        marker = data[at + 1]
        if marker == _END_OF_IMAGE:
            yield marker, b"\xff\xd9"
            return
        end = at + 2 + _big_endian(data, at + 2, 2)
        if marker == _START_OF_SCAN:
            found = _SCAN_ENDS.search(data, end)
            end = found.start() if found else len(data)
        # One that reaches past the end is followed by nothing, which is found next.
        yield marker, data[at:end]
        at = end


def bare_png(data: bytes) -> Bare:
    """Return the still picture of a PNG.

    Raises:
        BrokenPictureError: it breaks off, or a checksum is wrong.
    """
    kept, exif = [PNG_START], b""
    for name, chunk in _png_chunks(data):
        if name in _PNG_KEPT:
            kept.append(chunk)
        elif name == b"eXIf":
            exif = chunk[8:-4]
    return Bare(b"".join(kept), exif)


def png_with(bare: bytes, exif: bytes) -> bytes:
    """Return a bare PNG with a block of notes, which stands behind its header."""
    named = b"eXIf" + exif
    chunk = struct.pack(">I", len(exif)) + named + struct.pack(">I", zlib.crc32(named))
    return bare[:_PNG_HEADER_ENDS] + chunk + bare[_PNG_HEADER_ENDS:]


def _png_chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    at, name = len(PNG_START), b""
    while name != b"IEND":
        length = _big_endian(data, at, 4)
        end = at + 12 + length
        if end > len(data):
            raise BrokenPictureError(_BREAKS_OFF)
        name = data[at + 4 : at + 8]
        if zlib.crc32(data[at + 4 : end - 4]) != _big_endian(data, end - 4, 4):
            raise BrokenPictureError("a checksum in it is wrong")
        yield name, data[at:end]
        at = end


def bare_webp(data: bytes) -> Bare:
    """Return the still picture of a WebP.

    Raises:
        BrokenPictureError: it breaks off, or moves.
    """
    found = dict(_webp_chunks(data))
    if b"ANIM" in found or b"ANMF" in found:
        raise BrokenPictureError("it moves, and only one that stands still can be kept")
    exif = found.get(b"EXIF", b"").removeprefix(_JPEG_EXIF)
    return Bare(_webp_of(_webp_flagged(found, 0)), exif)


def webp_with(bare: bytes, exif: bytes) -> bytes:
    """Return a bare WebP with a block of notes; one of the simple form has no room for any."""
    found = dict(_webp_chunks(bare))
    if b"VP8X" not in found:
        return bare
    return _webp_of(_webp_flagged(found, _WEBP_EXIF_FLAG) | {b"EXIF": exif})


def _webp_flagged(found: dict[bytes, bytes], flag: int) -> dict[bytes, bytes]:
    kept: dict[bytes, bytes] = {name: found[name] for name in _WEBP_KEPT if name in found}
    if header := kept.get(b"VP8X"):
        kept[b"VP8X"] = bytes([header[0] & _WEBP_KEPT_FLAGS | flag]) + header[1:]
    return kept


def _webp_of(chunks: dict[bytes, bytes]) -> bytes:
    body = b"WEBP"
    for name, content in chunks.items():
        body += name + struct.pack("<I", len(content)) + content + b"\0" * (len(content) % 2)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _webp_chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    end = 8 + int.from_bytes(data[4:8], "little")
    if end > len(data):
        raise BrokenPictureError(_BREAKS_OFF)
    at = 12
    while at + 8 <= end:
        length = int.from_bytes(data[at + 4 : at + 8], "little")
        if at + 8 + length > end:
            raise BrokenPictureError(_BREAKS_OFF)
        yield data[at : at + 4], data[at + 8 : at + 8 + length]
        at += 8 + length + length % 2


def _big_endian(data: bytes, at: int, length: int) -> int:
    found = data[at : at + length]
    if len(found) < length:
        raise BrokenPictureError(_BREAKS_OFF)
    return int.from_bytes(found, "big")
