"""Files that are made while they are sent."""

from __future__ import annotations

from collections.abc import Iterable

from fastapi.responses import StreamingResponse


def csv_answer(pieces: Iterable[bytes], name: str) -> StreamingResponse:
    """Return CSV as an answer that browsers save under a name, piece by piece."""
    kept = "".join(one for one in name if one.isascii() and (one.isalnum() or one == "-"))
    headers = {
        "Content-Disposition": f'attachment; filename="{kept}.csv"',
        "Cache-Control": "no-store",
    }
    return StreamingResponse(pieces, media_type="text/csv; charset=utf-8", headers=headers)
