"""The tare after work, with its sum shown. The fold tells it: it knows the tare at that moment."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from schemas.findings import Finding
from schemas.records import Record
from shared.mass_plausibility import SCALES_MARGIN_KG, SCALES_MARGIN_PERCENT
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
    sum_kg = None if before_kg is None else before_kg + sum(map(change_kg, payload["fittings"]))
    if weighed is not None and sum_kg is not None and _is_far(weighed, sum_kg):
        yield rules.FAR_FROM_SUM.finding(
            "weighed_tare_kg", seen=write_kilograms(weighed), expected=write_kilograms(sum_kg)
        )


def doubt_tare(record: Record, payload: Payload) -> Finding | None:
    """Return the doubt of a modification after which nothing would be left to load.

    `record` is the unit before it; None also where its gross mass or its tare is not known.
    """
    weighed = payload.get("weighed_tare_kg")
    change = sum(map(change_kg, payload["fittings"]))
    tare_kg = weighed if weighed is not None or record.tare_kg is None else record.tare_kg + change
    if record.gross_kg is None or tare_kg is None or tare_kg < record.gross_kg:
        return None
    if weighed is None and not change:
        return None
    return rules.NOTHING_LEFT_TO_LOAD.finding(
        "fittings" if weighed is None else "weighed_tare_kg",
        seen=write_kilograms(tare_kg),
        expected=write_kilograms(record.gross_kg),
    )


def _is_far(weighed_kg: int, sum_kg: int) -> bool:
    margin_kg = max(SCALES_MARGIN_KG, sum_kg * SCALES_MARGIN_PERCENT // 100)
    return abs(weighed_kg - sum_kg) > margin_kg


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
