"""Draw what a photo of an invented box's safety plate would show; there is none to photograph."""

from __future__ import annotations

import io
from typing import Final

from PIL import Image, ImageDraw

from deploy.demo.boxes import Box
from tracker.services.context import Context
from tracker.services.photos import take_photo

_SIDES_PX: Final = (640, 400)
_METAL: Final = (186, 190, 188)
_STEEL_AROUND: Final = (58, 84, 112)
_INK: Final = (24, 24, 24)
_EDGE_PX: Final = 24
_LINE_PX: Final = 42
_LETTERS_PX: Final = 20


def photograph(context: Context, box: Box) -> str:
    """Keep the photo of a box's plate; return its digest. The same box has the same photo."""
    return take_photo(context, draw_plate(box)).digest


def draw_plate(box: Box) -> bytes:
    """Return a picture of the plate with its lines as the box's plate has them, as PNG."""
    image = Image.new("RGB", _SIDES_PX, _STEEL_AROUND)
    draw = ImageDraw.Draw(image)
    width, height = _SIDES_PX
    draw.rectangle((_EDGE_PX, _EDGE_PX, width - _EDGE_PX, height - _EDGE_PX), fill=_METAL)
    for number, line in enumerate(_lines(box)):
        at = (2 * _EDGE_PX, 2 * _EDGE_PX + number * _LINE_PX)
        draw.text(at, line, fill=_INK, font_size=_LETTERS_PX)
    written = io.BytesIO()
    image.save(written, "PNG", compress_level=1)
    return written.getvalue()


def _lines(box: Box) -> list[str]:
    plate = box.plate()
    examined = plate.get("next_examination") or plate.get("programme")
    return [
        "CSC SAFETY APPROVAL (invented)",
        str(plate["approval_reference"]),
        f"DATE MANUFACTURED  {plate['manufactured_in']}",
        f"MANUFACTURER'S No.  {plate['manufacturer_number']}",
        f"MAXIMUM OPERATING GROSS MASS  {plate['gross_kg']} kg  {plate['gross_lb']} lb",
        f"ALLOWABLE STACKING LOAD FOR 1.8 g  {plate['stacking_kg']} kg",
        f"TRANSVERSE RACKING TEST FORCE  {plate['racking_n']} N",
        f"NEXT EXAMINATION  {examined}",
    ]
