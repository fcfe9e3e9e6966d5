"""What a phone keeps to open pages without a signal: the service worker, and tables of marks."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib import resources
from typing import Any, Final

import orjson
from fastapi import APIRouter, Response

from shared import marks
from shared.misreads import LOOK_ALIKES
from shared.table_files import load_table
from tracker.services import listings
from tracker.web.access import EVERY_ROLE, needs, open_to_all
from tracker.web.means import TheMeans

router = APIRouter(include_in_schema=False)

_KEPT: Final = (".css", ".js", ".svg", ".webmanifest")
_WORKER: Final = "service-worker.js"


@router.get("/service-worker.js", response_class=Response)
@open_to_all
def get_service_worker() -> Response:
    """Return the service worker, told which files it keeps; other files make another worker.

    Open as all static files are: a browser asks for it without saying who is signed in.
    """
    return Response(_worker(), media_type="text/javascript", headers={"Cache-Control": "no-cache"})


@router.get("/capture/marks.json")
@needs(*EVERY_ROLE)
def get_mark_tables(means: TheMeans) -> dict[str, Any]:
    """Return what it takes to check a mark and to read a size-type code without a signal.

    And the zones of the depots, to tell moments in.
    """
    return _mark_tables() | {"zones": listings.zone_names(means.context)}


@cache
def _mark_tables() -> dict[str, Any]:
    lengths = {row["code"]: _feet(row["feet"], row["inches"]) for row in _sure("size_lengths")}
    heights = {row["code"]: _feet(row["feet"], row["inches"]) for row in _sure("size_heights")}
    return {
        "letters": dict(marks.LETTER_VALUES),
        "categories": {one.letter: one.means for one in marks.CATEGORIES.values()},
        "look_alikes": dict(LOOK_ALIKES),
        "sizes": {
            "lengths": lengths,
            "heights": heights,
            "families": {row["letter"]: row["meaning"] for row in _first("size_type_families")},
        },
    }


def _sure(table: str) -> list[Any]:
    return [row for row in load_table(table) if row["feet"]]


def _first(table: str) -> list[Any]:
    # A letter that means two things by edition is told as it is read today, which stands first.
    return list({row["letter"]: row for row in reversed(load_table(table))}.values())


def _feet(feet: str, inches: str) -> str:
    return f"{feet} ft {inches} in" if inches not in ("", "0") else f"{feet} ft"


@cache
def _worker() -> bytes:
    folder = resources.files("tracker.web") / "static"
    names = sorted(
        one.name for one in folder.iterdir() if one.name.endswith(_KEPT) and one.name != _WORKER
    )
    digest = hashlib.sha256()
    for name in (*names, _WORKER):
        digest.update(name.encode() + b"\0" + (folder / name).read_bytes())
    told = {"release": digest.hexdigest()[:16], "files": [f"/static/{name}" for name in names]}
    script = (folder / _WORKER).read_text(encoding="utf-8")
    return script.replace('{"release": "", "files": []}', orjson.dumps(told).decode()).encode()
