"""The tare after work, with its sum shown. The fold tells it: it knows the tare at that moment."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from schemas.findings import Finding
from schemas.records import Record
from shared.masses import write_kilograms
from tracker.judge import work_rules as rules
from tracker.judge.entry import Payload


def change_kg(fitting: dict[str, Any]) -> int:
    """Return what one line of a modification adds to the tare; loose pieces add nothing."""
    if not fitting["permanent"]:
        return 0
    each: int = fitting["mass_kg"] - fitting["cut_out_kg"]
    return each * int(fitting["count"])


def tell_tare(record: Record, payload: Payload, before_kg: int | None) -> Iterator[Finding]:
    """Give the sum of the tare that `record` has after a modification, and what is amiss with it.

    Nothing where the work changed no mass and nobody weighed. `before_kg` is the tare before it.
    """
    terms = _terms(payload["fittings"])
    weighed = payload.get("weighed_tare_kg")
    if not terms and weighed is None:
        return
    if record.tare_kg is None:
        yield rules.TARE_UNKNOWN.finding("fittings", words=terms.removeprefix(" + "))
        return
    said = [_masses_in_words(record, terms, weighed, before_kg)]
    if "masses" in record.repaint:
        said.append("Paint both on the doors.")
    yield rules.TARE_RECOMPUTED.finding(
        "weighed_tare_kg" if weighed is not None else "fittings",
        seen=None if before_kg is None else write_kilograms(before_kg),
        expected=write_kilograms(record.tare_kg),
        words=" ".join(said),
    )
    if record.gross_kg is not None and record.tare_kg >= record.gross_kg:
        tare, gross = write_kilograms(record.tare_kg), write_kilograms(record.gross_kg)
        yield rules.NOTHING_LEFT_TO_LOAD.finding("fittings", seen=tare, expected=gross)


def _terms(fittings: list[dict[str, Any]]) -> str:
    """Write what fittings add as terms of a sum: ` + 4 x 3 kg + 1 x (9 kg - 2 kg)`."""
    return "".join(
        f" + {one['count']} x {_each(one['mass_kg'], one['cut_out_kg'])}"
        for one in fittings
        if change_kg(one)
    )


def _each(mass_kg: int, cut_out_kg: int) -> str:
    mass = write_kilograms(mass_kg)
    return f"({mass} - {write_kilograms(cut_out_kg)})" if cut_out_kg else mass


def _masses_in_words(record: Record, terms: str, weighed: int | None, before_kg: int | None) -> str:
    tare_kg = record.tare_kg or 0
    before = "" if before_kg is None else write_kilograms(before_kg)
    if weighed is None:
        tare = f"Tare {before}{terms} = {write_kilograms(tare_kg)}"
    else:
        tare = f"Tare weighed: {write_kilograms(weighed)}"
        if before:
            tare += f"; by sums {before}{terms}"
    if record.gross_kg is None:
        return f"{tare}; the gross mass is not known, so the payload is not either."
    gross, less = (write_kilograms(one).removesuffix(" kg") for one in (record.gross_kg, tare_kg))
    payload = f"{gross} - {less} = {write_kilograms(record.payload_kg or 0)}"
    return f"{tare}; payload {payload}."
