"""Papers as a reader and a scanner see them, and the values that papers are made of."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from io import BytesIO
from typing import Any

import pypdfium2
import zxingcpp
from PIL import Image, ImageDraw
from pypdf import PdfReader

from schemas.readings import Masses, PlateReading
from shared.months import Month
from tracker.papers.particulars import Issue, Unit

ADDRESS = "https://hardstand.northquay.example/units/ZZZU3054383"
DIGEST = "9f2c" * 16

HOSTILE = (
    '#panic("out") *bold* $x^2$ <label> @ref `raw` \\u{41} // no /* no */ #read("/etc/passwd")'
    " ] ) } \u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627 \u6f22\u5b57 \U0001f69b"
    " \x00 \x1b \ud800 \u202eturned e\u0301\u0301\u0301"
)
"""What people may write: markup, code, other scripts, control characters, half a character."""


def make_issue(**values: object) -> Issue:
    """Return an issue at a depot in Lisbon, in summer time."""
    given: dict[str, Any] = {
        "depot": "Northquay depot",
        "depot_details": ("Quay Road 4",),
        "at": datetime(2026, 6, 30, 23, 30, tzinfo=UTC),
        "zone": "Europe/Lisbon",
        "address": ADDRESS,
        "history_digest": DIGEST,
        "history_seq": 42,
    }
    return Issue(**given | values)


def make_unit(**values: object) -> Unit:
    """Return a 20 ft unit after a lock box and louvres, its pounds painted too."""
    masses = Masses(
        gross_kg=30480, tare_kg=2251, payload_kg=28229, tare_lb=4963, cube_m3=Decimal("33.2")
    )
    given: dict[str, Any] = {"mark": "ZZZU3054383", "size_type": "22G1", "masses": masses}
    return Unit(**given | values)


def make_plate(**values: object) -> PlateReading:
    """Return a plate in the wording since 2014 with all its lines read."""
    given: dict[str, Any] = {
        "approval_reference": "ZZ-1234-05/2021",
        "manufactured_in": Month(2024, 5),
        "manufacturer_number": "QX24-001233",
        "gross_kg": 30480,
        "stacking_kg": 216000,
        "racking_n": 150000,
        "next_examination": Month(2029, 5),
    }
    return PlateReading(**given | values)


def make_photo(kind: str = "jpeg", size: tuple[int, int] = (320, 200)) -> bytes:
    """Return a grey picture with a white sheet on it."""
    drawn = Image.new("RGB", size, (120, 120, 120))
    ImageDraw.Draw(drawn).rectangle((20, 20, size[0] - 20, size[1] - 20), fill=(255, 255, 255))
    written = BytesIO()
    drawn.save(written, kind)
    return written.getvalue()


def read_text(pdf: bytes) -> str:
    """Return the text of all pages, each run of blanks as one, breaks inside words taken out."""
    pages = "\n".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)
    return " ".join(pages.replace("\u200b", "").split())


def count_pages(pdf: bytes) -> int:
    """Return how many pages there are."""
    return len(PdfReader(BytesIO(pdf)).pages)


def count_pictures(pdf: bytes) -> int:
    """Return how many raster pictures the pages show; a QR code is drawn, and is none."""
    return sum(len(page.images) for page in PdfReader(BytesIO(pdf)).pages)


def page_picture(pdf: bytes, page: int = 0) -> Image.Image:
    """Return a page as a picture of about 144 dots per inch."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return document[page].render(scale=2).to_pil()
    finally:
        document.close()


def scan(pdf: bytes) -> list[str]:
    """Return what the codes on the first page say."""
    return [code.text for code in zxingcpp.read_barcodes(page_picture(pdf))]
