"""Judge how strong a safety plate says the box is, against the Convention and the size-type."""

from __future__ import annotations

from functools import lru_cache

from schemas.readings import PlateReading
from shared import plates, size_types
from shared.masses import write_kilograms, write_newtons
from shared.old_size_types import OldSizeType
from shared.size_type_errors import SizeTypeError
from tracker.judge import plate_rules as rules
from tracker.judge.concerns import Concern


def judge_strength(reading: PlateReading, size_type: str | None) -> list[Concern]:
    """Return where stacking and racking fall short, and what the size-type's last letter says."""
    concerns: list[Concern] = []
    stacking = reading.stacking_kg
    limited = False
    if stacking is not None and stacking < plates.ISO1496_STACKING_KG:
        limited = plates.is_stacking_limited(stacking)
        concerns.append(_low_stacking(stacking, limited=limited))
    force, load = reading.racking_n, reading.racking_kg
    if plates.is_racking_limited(racking_n=force, racking_kg=load):
        limited = True
        concerns.append(_low_racking(force, load))
    if size_type is not None:
        is_full = not concerns and stacking is not None and (force or load) is not None
        concerns += _judge_letter(size_type, is_limited=limited, is_full=is_full)
    return concerns


def _low_stacking(stacking: int, *, limited: bool) -> Concern:
    rule = rules.STACKING_BELOW_CSC if limited else rules.STACKING_BELOW_ISO1496
    least = plates.CSC_STACKING_KG if limited else plates.ISO1496_STACKING_KG
    finding = rule.finding(
        "plate.stacking_kg", seen=write_kilograms(stacking), expected=write_kilograms(least)
    )
    return Concern(finding)


def _low_racking(force: int | None, load: int | None) -> Concern:
    """Return the concern of a racking strength that is limited, in the unit that decided."""
    if force is not None:
        field, seen = "plate.racking_n", write_newtons(force)
        least = write_newtons(plates.CSC_RACKING_N)
    else:
        field, seen = "plate.racking_kg", write_kilograms(load or 0)
        least = write_kilograms(plates.OLD_PLATE_RACKING_KG)
    return Concern(rules.RACKING_BELOW_CSC.finding(field, seen=seen, expected=least))


def _judge_letter(size_type: str, *, is_limited: bool, is_full: bool) -> tuple[Concern, ...]:
    tells_reduced = _tells_reduced_strength(size_type)
    if is_limited and tells_reduced is False:
        rule = rules.REDUCED_STRENGTH_NOT_IN_SIZE_TYPE
    elif is_full and tells_reduced:
        rule = rules.SIZE_TYPE_REDUCED_PLATE_FULL
    else:
        return ()
    return (Concern(rule.finding("size_type", seen=size_type)),)


@lru_cache(maxsize=4096)
def _tells_reduced_strength(size_type: str) -> bool | None:
    """Return what the code's last character says of strength; `None` when it says neither."""
    try:
        decoded = size_types.read_size_type(size_type)
    except SizeTypeError:
        return None
    # The numeric codes of before 1996 had no way to say so.
    return False if isinstance(decoded, OldSizeType) else decoded.has_reduced_strength
