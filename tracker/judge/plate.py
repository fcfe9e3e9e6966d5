"""Judge a safety plate as read: its months, its strengths, its pairs, and the doors beside it.

The rules stand in `tracker.judge.plate_rules`. A gross mass that differs from the doors is raised
as `mass.gross-differs-from-plate`, which belongs to the family `mass`: pass `door_gross_kg` only
when the doors were not read in the same event, since `judge_masses` raises it otherwise.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Final, NamedTuple

from schemas.findings import Finding
from schemas.readings import PlateReading
from shared import plates
from shared.masses import pair_agrees, write_kilograms, write_newtons
from shared.plates import MonthReading
from tracker.judge import plate_rules as rules
from tracker.judge.concerns import Concern, doubted_fields, without
from tracker.judge.masses import gross_concern, pair_concern
from tracker.judge.plate_months import judge_months
from tracker.judge.plate_strength import judge_strength

RULES = rules.RULES
_NO_LINES: Final = frozenset({"no_plate", "seen_by", "photo"})
"""What a reading tells besides the plate's lines."""


class PlateJudgement(NamedTuple):
    """What judging the plate gave. `adopted` holds `None` where a value is doubted.

    `doubted` names those fields, dotted (`plate.next_examination`), in the order met.
    """

    findings: tuple[Finding, ...]
    adopted: PlateReading
    doubted: tuple[str, ...] = ()


def judge_plate(
    reading: PlateReading,
    *,
    happened_on: date,
    reading_of_month: MonthReading,
    size_type: str | None = None,
    door_gross_kg: int | None = None,
    base_area_m2: Decimal | None = None,
) -> PlateJudgement:
    """Return what a plate's lines say against each other, the day, the size and the doors.

    Args:
        reading: The lines as read; any may be missing.
        happened_on: The day on which the plate was read, in the depot's zone.
        reading_of_month: Whether the marked month itself still counts.
        size_type: The size-type code as painted, when known.
        door_gross_kg: The gross mass known from the doors by an earlier event, when there is one.
        base_area_m2: The area between the outer bottom corners, when measured; top corner fittings
            are taken to be there.
    """
    if reading.no_plate:
        return _judge_missing(reading)
    concerns = _judge_values(reading, door_gross_kg)
    # A strength that its own pair denies says nothing about limits.
    sound = without(reading, doubted_fields(reading, concerns)) if concerns else reading
    concerns += judge_months(reading, happened_on, reading_of_month)
    concerns += judge_strength(sound, size_type)
    if base_area_m2 is not None:
        concerns += _judge_scope(base_area_m2)
    if not concerns:
        return PlateJudgement((), reading)
    doubted = doubted_fields(reading, concerns)
    return PlateJudgement(
        tuple(concern.finding for concern in concerns),
        without(reading, doubted),
        tuple(f"plate.{field}" for field in doubted),
    )


def _judge_missing(reading: PlateReading) -> PlateJudgement:
    lines = [name for name, value in reading if name not in _NO_LINES and value is not None]
    if not lines:
        return PlateJudgement((rules.NOT_FITTED.finding("plate.no_plate", seen=True),), reading)
    finding = rules.LINES_WITHOUT_PLATE.finding(
        "plate.no_plate", seen=", ".join(lines), expected="no line, or a plate"
    )
    doubted = ("plate.no_plate", *(f"plate.{name}" for name in lines))
    return PlateJudgement((finding,), PlateReading(), doubted)


def _judge_values(reading: PlateReading, door_gross_kg: int | None) -> list[Concern]:
    """Return what the masses and forces say against each other, and against the doors."""
    concerns = []
    gross, gross_lb = reading.gross_kg, reading.gross_lb
    stacking, stacking_lb = reading.stacking_kg, reading.stacking_lb
    force, load = reading.racking_n, reading.racking_kg
    if gross is not None and gross_lb is not None and not pair_agrees(gross, gross_lb):
        concerns.append(pair_concern(rules.PAIR_GROSS, "gross", gross, gross_lb, "plate.gross"))
    if stacking is not None and stacking_lb is not None and not pair_agrees(stacking, stacking_lb):
        name, field = "stacking load", "plate.stacking"
        concerns.append(pair_concern(rules.PAIR_STACKING, name, stacking, stacking_lb, field))
    if force is not None and load is not None and not plates.racking_agrees(force, load):
        concerns.append(_racking_pair(force, load))
    if door_gross_kg is not None and gross is not None and gross != door_gross_kg:
        concerns.append(gross_concern("plate.gross_kg", seen_kg=gross, expected_kg=door_gross_kg))
    return concerns


def _racking_pair(force: int, load: int) -> Concern:
    finding = rules.PAIR_RACKING.finding(
        "plate.racking_n",
        seen=write_newtons(force),
        expected=write_newtons(plates.racking_newtons(load)),
        load=write_kilograms(load),
    )
    return Concern(finding, ("racking_n", "racking_kg"))


def _judge_scope(base_area_m2: Decimal) -> tuple[Concern, ...]:
    if plates.is_in_scope(base_area_m2, has_top_fittings=True):
        return ()
    finding = rules.OUT_OF_SCOPE.finding(
        "plate", seen=f"{base_area_m2} m²", expected=f"{plates.BASE_AREA_WITH_TOP_FITTINGS_M2} m²"
    )
    return (Concern(finding),)
