"""The notes in a picture's file (EXIF): read the two that are kept, and write them anew.

Read by hand and not by a decoder: a dozen entries of one form are all that is asked for, and what
is written must be the same bytes whichever version of a decoder is installed, since the digest of
a photo is made of them.

Source: CIPA DC-008 (Exif), clause 4, and TIFF 6.0, section 2; from memory. The tests read and
write the same with a library.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from datetime import datetime
from typing import Final

UPRIGHT: Final = 1

_ORIENTATION, _EXIF_PART, _TAKEN_AT, _TAKEN_OFFSET = 0x0112, 0x8769, 0x9003, 0x9011
_TEXT, _SHORT, _LONG = 2, 3, 4
_ORDERS: Final = {b"II*\0": "<", b"MM\0*": ">"}
_ENTRY: Final = 12
_LONGEST_TEXT: Final = 40
_NOTHING, _NOWHERE = -1, -100


@dataclass(frozen=True, slots=True)
class Notes:
    """What a picture says of itself that is kept.

    `orientation` is 1 to 8 as EXIF counts them, 1 upright. `taken_at` is ISO 8601 in the camera's
    own time, with a zone only if the camera told one.
    """

    orientation: int = UPRIGHT
    taken_at: str | None = None


def read_notes(exif: bytes) -> Notes:
    """Return what can be read of a block of notes (TIFF form); damaged ones say nothing."""
    order = _ORDERS.get(exif[:4])
    if order is None:
        return Notes()
    main = _entries(exif, order, _number(exif, order + "L", 4))
    orientation = _number(exif, order + "H", main.get(_ORIENTATION, _NOWHERE) + 8)
    part_at = _number(exif, order + "L", main.get(_EXIF_PART, _NOWHERE) + 8)
    part = _entries(exif, order, part_at)
    said, offset = (
        _text(exif, order, part.get(tag, _NOWHERE)) for tag in (_TAKEN_AT, _TAKEN_OFFSET)
    )
    return Notes(orientation if 1 <= orientation <= 8 else UPRIGHT, _moment(said, offset))


def write_notes(notes: Notes) -> bytes:
    """Return a block of notes that says this and no more; empty when there is nothing to say."""
    if notes == Notes():
        return b""
    main: list[tuple[int, int, bytes]] = []
    if notes.orientation != UPRIGHT:
        main.append((_ORIENTATION, _SHORT, struct.pack("<H", notes.orientation)))
    start = 8
    if notes.taken_at is None:
        return b"II*\0" + struct.pack("<L", start) + _directory(main, start)
    part_at = start + len(_directory([*main, (_EXIF_PART, _LONG, bytes(4))], start))
    main.append((_EXIF_PART, _LONG, struct.pack("<L", part_at)))
    local, offset = notes.taken_at[:19], notes.taken_at[19:]
    part = [(_TAKEN_AT, _TEXT, local.replace("-", ":").replace("T", " ").encode() + b"\0")]
    if offset:
        part.append((_TAKEN_OFFSET, _TEXT, offset.encode() + b"\0"))
    head = b"II*\0" + struct.pack("<L", start)
    return head + _directory(main, start) + _directory(part, part_at)


def _directory(entries: list[tuple[int, int, bytes]], at: int) -> bytes:
    """Return a directory as it stands at a place, with the values that do not fit into it."""
    written = struct.pack("<H", len(entries))
    behind = b""
    values_at = at + 2 + _ENTRY * len(entries) + 4
    for tag, kind, value in entries:
        count = len(value) if kind == _TEXT else 1
        written += struct.pack("<HHL", tag, kind, count)
        if len(value) <= 4:
            written += value.ljust(4, b"\0")
        else:
            written += struct.pack("<L", values_at + len(behind))
            behind += value + b"\0" * (len(value) % 2)
    return written + bytes(4) + behind


def _entries(exif: bytes, order: str, at: int) -> dict[int, int]:
    """Return where each entry of the directory at a place stands, by tag."""
    places = [at + 2 + _ENTRY * index for index in range(_number(exif, order + "H", at))]
    return {_number(exif, order + "H", place): place for place in places}


def _number(exif: bytes, form: str, at: int) -> int:
    """Return the number at a place, -1 when nothing stands there."""
    if at < 0 or at + struct.calcsize(form) > len(exif):
        return _NOTHING
    (found,) = struct.unpack_from(form, exif, at)
    return int(found)


def _text(exif: bytes, order: str, entry_at: int) -> str:
    count = _number(exif, order + "L", entry_at + 4)
    at = entry_at + 8 if count <= 4 else _number(exif, order + "L", entry_at + 8)
    if at < 0 or count < 0:
        return ""
    text = exif[at : at + min(count, _LONGEST_TEXT)].partition(b"\0")[0]
    return text.decode("ascii", errors="replace").strip()


def _moment(said: str, offset: str) -> str | None:
    date, _, time = said.partition(" ")
    local = f"{date.replace(':', '-')}T{time}"
    for written in (local + offset, local):
        try:
            return datetime.fromisoformat(written).isoformat(timespec="seconds")
        except ValueError:
            continue
    return None
