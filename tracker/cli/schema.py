"""`schema`: print the JSON Schema of what is said."""

from __future__ import annotations

from typing import Annotated, Any, Final

import typer
from pydantic import BaseModel

from schemas.events.union import EVENT, KINDS
from schemas.findings import Finding
from schemas.verdicts import Receipt, Verdict
from tracker.cli.output import write_json

EXAMPLES: Final = (
    "Examples:\n\nhardstand schema > events.schema.json\n\nhardstand schema gate-in\n\n"
    "hardstand schema verdict"
)

_ANSWERS: Final[dict[str, type[BaseModel]]] = {
    "finding": Finding,
    "receipt": Receipt,
    "verdict": Verdict,
}


def schema(
    kind: Annotated[
        str | None, typer.Argument(help="A kind of event, or receipt, verdict or finding.")
    ] = None,
) -> None:
    """Print the JSON Schema of all events, or of one kind, or of an answer."""
    write_json(_schema_of(kind))


def _schema_of(kind: str | None) -> dict[str, Any]:
    if kind is None:
        return EVENT.json_schema()
    known: dict[str, type[BaseModel]] = {**KINDS, **_ANSWERS}
    if kind not in known:
        raise typer.BadParameter(f"{kind!r} is none of {', '.join(known)}.")
    return known[kind].model_json_schema(mode="serialization" if kind in _ANSWERS else "validation")
