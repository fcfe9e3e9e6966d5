"""Judge the masses on the doors: do they add up, do kg and lb agree, does the plate say the same.

The rules stand in `tracker.judge.mass_rules`. `tracker.judge.plate` borrows two findings from here,
so that doors and plate speak alike.
"""

from __future__ import annotations

from typing import NamedTuple

from schemas.findings import Finding, Severity
from schemas.readings import Masses, PlateReading
from shared import mass_plausibility
from shared import masses as arithmetic
from shared.mass_plausibility import MassExpectation
from shared.masses import pair_agrees, write_kilograms, write_pounds
from tracker.judge import mass_rules as rules
from tracker.judge.concerns import Concern, doubted_fields, without
from tracker.judge.rules import Rule

RULES = rules.RULES


class MassesJudgement(NamedTuple):
    """What judging the masses gave. `adopted` holds `None` where a value is doubted.

    `doubted` names those fields, dotted (`masses.tare_kg`), in the order met.
    """

    findings: tuple[Finding, ...]
    adopted: Masses
    doubted: tuple[str, ...] = ()

    @property
    def payload_kg(self) -> int | None:
        """Return the payload adopted, or gross less tare when none was painted; else `None`."""
        adopted = self.adopted
        if adopted.payload_kg is not None:
            return adopted.payload_kg
        if adopted.gross_kg is None or adopted.tare_kg is None:
            return None
        return arithmetic.maximum_payload(adopted.gross_kg, adopted.tare_kg)


def judge_masses(
    masses: Masses,
    *,
    size_type: str | None = None,
    plate: PlateReading | None = None,
) -> MassesJudgement:
    """Return what the masses of the doors say against each other, the size and the plate.

    Args:
        masses: As read off the doors; any of them may be missing.
        size_type: The size-type code as painted, when known; without it nothing is implausible.
        plate: The safety plate, read in the same event or standing in the record.
    """
    concerns = _judge_pairs(masses)
    concerns += _judge_plate_gross(masses, plate)
    concerns += _judge_sum(masses, plate)
    if size_type is not None:
        concerns += _judge_plausibility(masses, size_type)
    if not concerns:
        return MassesJudgement((), masses)
    doubted = doubted_fields(masses, concerns)
    return MassesJudgement(
        tuple(concern.finding for concern in concerns),
        without(masses, doubted),
        tuple(f"masses.{field}" for field in doubted),
    )


def pair_concern(
    rule: Rule,
    name: str,
    kilograms: int,
    pounds: int,
    field: str,
) -> Concern:
    """Return the concern of a kg and lb pair that disagrees; `field` is `reading.stem`."""
    stem = field.partition(".")[2]
    return Concern(
        rule.finding(
            f"{field}_lb",
            seen=write_pounds(pounds),
            expected=write_pounds(round(arithmetic.kilograms_to_pounds(kilograms))),
            name=name,
            kilograms=write_kilograms(kilograms),
        ),
        (f"{stem}_kg", f"{stem}_lb"),
    )


def gross_concern(field: str, *, seen_kg: int, expected_kg: int) -> Concern:
    """Return the concern of a gross mass in `field`, just read, that the other place denies."""
    reading, _, name = field.partition(".")
    here, there = ("doors", "plate") if reading == "masses" else ("plate", "doors")
    finding = rules.GROSS_DIFFERS_FROM_PLATE.finding(
        field,
        seen=write_kilograms(seen_kg),
        expected=write_kilograms(expected_kg),
        here=here,
        there=there,
    )
    return Concern(finding, (name, "gross_lb"))


def _judge_pairs(masses: Masses) -> list[Concern]:
    concerns = []
    gross_kg, gross_lb = masses.gross_kg, masses.gross_lb
    tare_kg, tare_lb = masses.tare_kg, masses.tare_lb
    load_kg, load_lb = masses.payload_kg, masses.payload_lb
    # Written out, since this stands in the path of every arrival.
    if gross_kg is not None and gross_lb is not None and not pair_agrees(gross_kg, gross_lb):
        concerns.append(pair_concern(rules.PAIR_GROSS, "gross", gross_kg, gross_lb, "masses.gross"))
    if tare_kg is not None and tare_lb is not None and not pair_agrees(tare_kg, tare_lb):
        concerns.append(pair_concern(rules.PAIR_TARE, "tare", tare_kg, tare_lb, "masses.tare"))
    if load_kg is not None and load_lb is not None and not pair_agrees(load_kg, load_lb):
        concerns.append(
            pair_concern(rules.PAIR_PAYLOAD, "payload", load_kg, load_lb, "masses.payload")
        )
    return concerns


def _judge_plate_gross(masses: Masses, plate: PlateReading | None) -> tuple[Concern, ...]:
    gross = masses.gross_kg
    if plate is None or gross is None or plate.gross_kg is None or gross == plate.gross_kg:
        return ()
    return (gross_concern("masses.gross_kg", seen_kg=gross, expected_kg=plate.gross_kg),)


def _judge_sum(masses: Masses, plate: PlateReading | None) -> tuple[Concern, ...]:
    gross, tare, payload = masses.gross_kg, masses.tare_kg, masses.payload_kg
    if gross is None or tare is None:
        return ()
    if tare > gross:
        return (_tare_above_gross(masses, plate, gross=gross, tare=tare),)
    if payload is None or gross == tare + payload:
        return ()
    finding = rules.SUM.finding(
        "masses.payload_kg",
        seen=write_kilograms(payload),
        expected=write_kilograms(gross - tare),
        gross=write_kilograms(gross),
        tare=write_kilograms(tare),
        difference=write_kilograms(abs(arithmetic.sum_difference(gross, tare, payload))),
    )
    return (Concern(finding, _unconfirmed(masses, plate)),)


def _tare_above_gross(
    masses: Masses, plate: PlateReading | None, *, gross: int, tare: int
) -> Concern:
    finding = rules.TARE_ABOVE_GROSS.finding(
        "masses.tare_kg", seen=write_kilograms(tare), expected=write_kilograms(gross)
    )
    return Concern(finding, ("tare_kg", "tare_lb", *_unconfirmed_gross(masses, plate)))


def _unconfirmed(masses: Masses, plate: PlateReading | None) -> tuple[str, ...]:
    """Return the fields to doubt when the sum fails, since any of the three may be misread.

    The tare is taken as right when its pounds agree. The payload is derived from the other two by
    definition, so it is doubted even when its own pounds agree.
    """
    confirmed = _has_agreeing_pair(masses.tare_kg, masses.tare_lb)
    tare = () if confirmed else ("tare_kg", "tare_lb")
    return ("payload_kg", "payload_lb", *_unconfirmed_gross(masses, plate), *tare)


def _unconfirmed_gross(masses: Masses, plate: PlateReading | None) -> tuple[str, ...]:
    """Return the gross fields, or none when the plate says the same or their pounds agree."""
    plated = plate is not None and plate.gross_kg == masses.gross_kg
    if plated or _has_agreeing_pair(masses.gross_kg, masses.gross_lb):
        return ()
    return ("gross_kg", "gross_lb")


def _has_agreeing_pair(kilograms: int | None, pounds: int | None) -> bool:
    return kilograms is not None and pounds is not None and pair_agrees(kilograms, pounds)


def _judge_plausibility(masses: Masses, size_type: str) -> list[Concern]:
    expected = mass_plausibility.expect_masses(size_type)
    concerns = []
    gross, tare = masses.gross_kg, masses.tare_kg
    low, high = expected.lowest_rating_kg, expected.highest_rating_kg
    if gross is not None and low is not None and high is not None and not low <= gross <= high:
        odd = _odd_gross(gross, low, high, in_use=expected.in_use_kg, size_type=size_type)
        concerns.append(odd)
    low, high = expected.tare_low_kg, expected.tare_high_kg
    if tare is not None and low is not None and high is not None and not low <= tare <= high:
        finding = rules.TARE_IMPLAUSIBLE.finding(
            "masses.tare_kg",
            seen=write_kilograms(tare),
            expected=f"{write_kilograms(low)} to {write_kilograms(high)}",
            size_type=size_type,
        )
        concerns.append(Concern(finding))
    if masses.cube_m3 is not None:
        concerns += _judge_cube(masses, expected, size_type)
    return concerns


def _odd_gross(gross: int, low: int, high: int, *, in_use: int | None, size_type: str) -> Concern:
    is_in_use = in_use is not None and high < gross <= in_use
    span = write_kilograms(high)
    finding = rules.GROSS_OUTSIDE_ISO668.finding(
        "masses.gross_kg",
        seen=write_kilograms(gross),
        expected=span if low == high else f"{write_kilograms(low)} to {span}",
        severity=Severity.NOTE if is_in_use else None,
        size_type=size_type,
    )
    return Concern(finding)


def _judge_cube(
    masses: Masses,
    expected: MassExpectation,
    size_type: str,
) -> tuple[Concern, ...]:
    cube, low, high = masses.cube_m3, expected.cube_low_m3, expected.cube_high_m3
    least = expected.least_cube_m3
    if cube is None:
        return ()
    if low is not None and high is not None and not low <= cube <= high:
        rule, usual = rules.CUBE_IMPLAUSIBLE, f"{low:.1f} to {high:.1f} m³"
    elif least is not None and cube < least:
        rule, usual = rules.CUBE_BELOW_INTERNAL_MINIMUM, f"at least {least:.1f} m³"
    else:
        return ()
    finding = rule.finding("masses.cube_m3", seen=f"{cube} m³", expected=usual, size_type=size_type)
    return (Concern(finding),)
