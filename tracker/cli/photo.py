"""`photo`: keep photos, and say of each under which digest and whether it can be read."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Final

import typer

from shared.addresses import Role
from shared.errors import HardstandError
from tracker.cli.means import services
from tracker.cli.output import AsJson, end, write_json_list, write_table
from tracker.services import photos
from tracker.services.context import Context
from tracker.store.photo_files import PhotoStoreError

EXAMPLES: Final = "Examples:\n\nhardstand photo plate.jpg door.jpg\n\nhardstand photo *.jpg --json"

_Files = Annotated[
    list[Path],
    typer.Argument(exists=True, dir_okay=False, readable=True, help="JPEG, PNG or WebP."),
]


def photo(ctx: typer.Context, files: _Files, *, as_json: AsJson = False) -> None:
    """Keep photos without their position; an event names them by the digest that is printed.

    Fine when every photo is kept and can be read.
    """
    with services(ctx) as running:
        context = running.context(Role.WEB)
        told = [_take(context, path) for path in files]
    if as_json:
        write_json_list(told)
    else:
        rows = [(one["file"], one.get("digest", "not kept"), _says(one)) for one in told]
        write_table(("File", "Digest", "Can it be read?"), rows, none="")
    end(well=all(not one["says"] for one in told))


def _take(context: Context, path: Path) -> dict[str, Any]:
    """Take one file; what is wrong with it is told in `says`, so that the others go on."""
    most = photos.bounds_of(context.settings).most_bytes
    with path.open("rb") as file:
        data = file.read(most + 1)
    try:
        receipt = photos.take_photo(context, data)
    except PhotoStoreError:
        raise
    except HardstandError as fault:
        return {"file": str(path), "kept": False, "says": [str(fault)]}
    return {"file": str(path), "kept": True, **receipt.model_dump(mode="json")}


def _says(told: dict[str, Any]) -> str:
    return " ".join(told["says"]) or "yes"
