"""Make pictures as cameras and phones send them, and as nobody should."""

from __future__ import annotations

import io
import struct
import zlib

from PIL import Image, ImageDraw, ImageFilter, ImageFont

GPS = {1: "N", 2: (53.0, 32.0, 10.0), 3: "E", 4: (9.0, 58.0, 0.0)}
_ORIENTATION, _MAKER, _COMMENT, _EXIF_PART, _GPS_PART = 0x0112, 0x010F, 0x9286, 0x8769, 0x8825
_TAKEN_AT, _OFFSET = 0x9003, 0x9011


def make_scene(width: int = 1600, height: int = 1200, *, blur_px: float = 0) -> Image.Image:
    """Return a painted wall with marks on it, a small part of the whole."""
    scene = Image.new("RGB", (width, height), (60, 110, 150))
    size = max(width // 16, 12)
    draw = ImageDraw.Draw(scene)
    draw.text((width // 3, height // 3), "ZZZU 123456", "white", ImageFont.load_default(size))
    return scene.filter(ImageFilter.GaussianBlur(blur_px)) if blur_px else scene


def make_exif(
    *,
    taken_at: str | None = "2026:03:02 07:15:00",
    offset: str | None = "+01:00",
    orientation: int = 1,
    position: bool = True,
) -> Image.Exif:
    """Return the notes of a phone's camera: maker, time, and where it was."""
    exif = Image.Exif()
    exif[_ORIENTATION] = orientation
    exif[_MAKER] = "SECRETPHONE"
    part = exif.get_ifd(_EXIF_PART)
    part[_COMMENT] = b"SECRETPLACE"
    if taken_at:
        part[_TAKEN_AT] = taken_at
    if offset:
        part[_OFFSET] = offset
    if position:
        exif.get_ifd(_GPS_PART).update(GPS)
    return exif


def make_photo(
    scene: Image.Image | None = None, kind: str = "JPEG", *, exif: Image.Exif | None = None
) -> bytes:
    """Return a scene as a file of a kind."""
    written = io.BytesIO()
    notes = {"exif": exif.tobytes()} if exif is not None else {}
    (scene or make_scene()).save(written, kind, **notes)
    return written.getvalue()


def png_chunk(name: bytes, body: bytes) -> bytes:
    """Return one chunk of a PNG with its checksum."""
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def make_bomb_png(width: int, height: int) -> bytes:
    """Return a small PNG of one grey that is large once decoded."""
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    packer = zlib.compressobj(9)
    lines = b"".join(packer.compress(b"\0" * (width + 1)) for _ in range(height))
    return (
        b"\x89PNG\r\n\x1a\n"
        + png_chunk(b"IHDR", header)
        + png_chunk(b"IDAT", lines + packer.flush())
        + png_chunk(b"IEND", b"")
    )
