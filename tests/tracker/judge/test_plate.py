"""The family `plate`: each rule fires where it should, doubts what it should, and nowhere else."""

from datetime import date
from decimal import Decimal

import pytest

from schemas.findings import Finding, Severity
from schemas.readings import PlateReading
from shared.months import Month
from shared.plates import MonthReading
from tracker.judge.plate import RULES, PlateJudgement, judge_plate

READ_ON = date(2026, 5, 12)
GOOD = PlateReading(
    approval_reference="XX/123-000/2024",
    manufactured_in=Month(2024, 3),
    manufacturer_number="NN123456",
    gross_kg=30480,
    gross_lb=67200,
    stacking_kg=213360,
    stacking_lb=470380,
    racking_n=150000,
    next_examination=Month(2029, 3),
)


def judge(
    reading: PlateReading,
    *,
    on: date = READ_ON,
    strict: bool = True,
    size_type: str | None = None,
    door_gross_kg: int | None = None,
    base_area_m2: Decimal | None = None,
) -> PlateJudgement:
    return judge_plate(
        reading,
        happened_on=on,
        reading_of_month=MonthReading.STRICT if strict else MonthReading.LENIENT,
        size_type=size_type,
        door_gross_kg=door_gross_kg,
        base_area_m2=base_area_m2,
    )


def changed(**lines: object) -> PlateReading:
    return GOOD.model_copy(update=lines)


def ids(judgement: PlateJudgement) -> list[str]:
    return [finding.id for finding in judgement.findings]


def only(judgement: PlateJudgement) -> Finding:
    (finding,) = judgement.findings
    return finding


def test_rules_are_of_the_family_and_differ() -> None:
    assert all(rule.id.startswith("plate.") for rule in RULES)
    assert len({rule.id for rule in RULES}) == len(RULES)


def test_good_plate_is_adopted_as_it_is() -> None:
    judgement = judge(GOOD, size_type="22G1", door_gross_kg=30480, base_area_m2=Decimal("14.769"))
    assert judgement.findings == ()
    assert judgement.adopted is GOOD
    assert judgement.doubted == ()


def test_plate_made_in_a_later_month_than_read_is_doubted() -> None:
    judgement = judge(changed(manufactured_in=Month(2026, 6)))
    finding = only(judgement)
    assert finding.id == "plate.made-in-future"
    assert finding.severity is Severity.DOUBT
    assert (finding.seen, finding.expected) == ("2026-06", "2026-05")
    assert judgement.doubted == ("plate.manufactured_in",)
    assert judgement.adopted == changed(manufactured_in=None)


def test_plate_made_in_the_month_it_is_read_is_fine() -> None:
    made = changed(manufactured_in=Month(2026, 5), next_examination=Month(2031, 5))
    assert judge(made).findings == ()


@pytest.mark.parametrize("due", [Month(2023, 3), Month(2024, 2), Month(2024, 3)])
def test_examination_due_by_manufacture_doubts_both_months_and_says_no_more(due: Month) -> None:
    judgement = judge(changed(next_examination=due))
    finding = only(judgement)
    assert finding.id == "plate.examination-before-manufacture"
    assert finding.severity is Severity.DOUBT
    assert judgement.doubted == ("plate.next_examination", "plate.manufactured_in")
    assert judgement.adopted.next_examination is None


def test_examination_a_month_after_manufacture_is_not_before_it() -> None:
    judgement = judge(changed(next_examination=Month(2024, 4)))
    assert ids(judgement) == ["plate.examination-passed"]


def test_first_examination_later_than_60_months_warns() -> None:
    finding = only(judge(changed(next_examination=Month(2029, 4))))
    assert finding.id == "plate.first-examination-too-late"
    assert finding.severity is Severity.WARN
    assert (finding.seen, finding.expected) == ("2029-04", "2029-03")
    assert "2024-03" in finding.message


def test_young_box_may_have_been_examined_early() -> None:
    # Made 2024-03; read 31 months on, an examination in that month allows 2029-04.
    early = changed(next_examination=Month(2029, 4))
    assert judge(early, on=date(2026, 10, 1)).findings == ()
    assert ids(judge(early, on=date(2026, 9, 30))) == ["plate.first-examination-too-late"]


def test_later_examination_further_than_30_months_ahead_warns() -> None:
    old = changed(manufactured_in=Month(2015, 1), next_examination=Month(2028, 11))
    assert judge(old).findings == ()
    finding = only(judge(old.model_copy(update={"next_examination": Month(2028, 12)})))
    assert finding.id == "plate.next-examination-too-late"
    assert finding.severity is Severity.WARN
    assert finding.expected == "2028-11"
    assert "2026-05" in finding.message


def test_unknown_manufacture_allows_60_months_from_the_reading() -> None:
    unknown = changed(manufactured_in=None, next_examination=Month(2031, 5))
    assert judge(unknown).findings == ()
    later = unknown.model_copy(update={"next_examination": Month(2031, 6)})
    assert ids(judge(later)) == ["plate.next-examination-too-late"]


@pytest.mark.parametrize(
    ("on", "strict", "found"),
    [
        (date(2029, 2, 28), True, None),
        (date(2029, 3, 1), True, "plate.examination-this-month"),
        (date(2029, 3, 31), True, "plate.examination-this-month"),
        (date(2029, 4, 1), True, "plate.examination-passed"),
        (date(2029, 3, 31), False, None),
        (date(2029, 4, 1), False, "plate.examination-passed"),
    ],
)
def test_lapse_around_the_marked_month(on: date, strict: bool, found: str | None) -> None:
    judgement = judge(GOOD, on=on, strict=strict)
    assert ids(judgement) == ([found] if found else [])
    assert all(f.severity is Severity.WARN for f in judgement.findings)
    assert all(on.isoformat() in f.message for f in judgement.findings)
    assert judgement.adopted == GOOD


def test_neither_date_nor_programme_warns() -> None:
    finding = only(judge(changed(next_examination=None)))
    assert finding.id == "plate.no-date-or-programme"
    assert finding.severity is Severity.WARN


def test_programme_stands_in_place_of_a_date() -> None:
    assert judge(changed(next_examination=None, programme="ACEP-XX-12")).findings == ()


def test_programme_makes_an_old_date_beside_it_of_no_weight() -> None:
    assert judge(changed(programme="ACEP XX/12"), on=date(2035, 1, 1)).findings == ()


def test_programme_does_not_excuse_a_date_before_manufacture() -> None:
    both = changed(programme="ACEP XX/12", next_examination=Month(2020, 1))
    assert ids(judge(both)) == ["plate.examination-before-manufacture"]


@pytest.mark.parametrize("programme", ["ACEP1", "acep-gb-077", "ACEP XX/1999/12", "ACEP/AB 12"])
def test_programme_of_the_usual_shape(programme: str) -> None:
    assert judge(changed(next_examination=None, programme=programme)).findings == ()


@pytest.mark.parametrize("programme", ["ACEP", "ACEP -", "XX-ACEP-1", "ACPE-12", "PES 12"])
def test_programme_of_another_shape_warns_and_is_adopted(programme: str) -> None:
    judgement = judge(changed(next_examination=None, programme=programme))
    finding = only(judgement)
    assert finding.id == "plate.programme-shape"
    assert finding.seen == programme
    assert programme in finding.message
    assert judgement.adopted.programme == programme


@pytest.mark.parametrize(
    ("stacking", "found", "severity"),
    [
        (191_999, "plate.stacking-below-csc", Severity.WARN),
        (192_000, "plate.stacking-below-iso1496", Severity.NOTE),
        (213_359, "plate.stacking-below-iso1496", Severity.NOTE),
        (213_360, None, None),
    ],
)
def test_stacking_thresholds(stacking: int, found: str | None, severity: Severity | None) -> None:
    judgement = judge(changed(stacking_kg=stacking, stacking_lb=None))
    assert [(f.id, f.severity) for f in judgement.findings] == (
        [(found, severity)] if found else []
    )
    assert judgement.adopted.stacking_kg == stacking


def test_low_stacking_says_both_loads_with_units() -> None:
    finding = only(judge(changed(stacking_kg=101_600, stacking_lb=224_000)))
    assert (finding.seen, finding.expected) == ("101 600 kg", "192 000 kg")
    note = only(judge(changed(stacking_kg=192_000, stacking_lb=None)))
    assert (note.seen, note.expected) == ("192 000 kg", "213 360 kg")


@pytest.mark.parametrize(
    ("newtons", "kilograms", "field", "seen", "expected"),
    [
        (149_999, None, "plate.racking_n", "149 999 N", "150 000 N"),
        (None, 15_239, "plate.racking_kg", "15 239 kg", "15 240 kg"),
        (0, None, "plate.racking_n", "0 N", "150 000 N"),
    ],
)
def test_low_racking_speaks_in_the_unit_of_the_plate(
    newtons: int | None, kilograms: int | None, field: str, seen: str, expected: str
) -> None:
    finding = only(judge(changed(racking_n=newtons, racking_kg=kilograms)))
    assert finding.id == "plate.racking-below-csc"
    assert finding.severity is Severity.WARN
    assert (finding.field, finding.seen, finding.expected) == (field, seen, expected)


@pytest.mark.parametrize(("newtons", "kilograms"), [(150_000, None), (None, 15_240), (None, None)])
def test_full_or_unread_racking_is_fine(newtons: int | None, kilograms: int | None) -> None:
    assert judge(changed(racking_n=newtons, racking_kg=kilograms)).findings == ()


@pytest.mark.parametrize(
    ("size_type", "missing"),
    [
        ("22G1", True),
        ("2210", True),
        ("22GP", True),
        ("22GB", False),
        ("22TD", False),
        ("no code", False),
        (None, False),
    ],
)
@pytest.mark.parametrize("weak", [{"stacking_kg": 100_000}, {"racking_n": 100_000}])
def test_limited_strength_must_stand_in_the_size_type(
    size_type: str | None, missing: bool, weak: dict[str, int]
) -> None:
    judgement = judge(changed(stacking_lb=None, **weak), size_type=size_type)
    rest = ids(judgement)[1:]
    assert rest == (["plate.reduced-strength-not-in-size-type"] if missing else [])


def test_strength_short_of_iso_1496_only_needs_no_letter() -> None:
    short = changed(stacking_kg=192_000, stacking_lb=None)
    assert ids(judge(short, size_type="22G1")) == ["plate.stacking-below-iso1496"]
    assert ids(judge(short, size_type="22GB")) == ["plate.stacking-below-iso1496"]


def test_reduced_size_type_with_a_plate_of_full_strength_is_noted() -> None:
    finding = only(judge(GOOD, size_type="22GB"))
    assert finding.id == "plate.size-type-reduced-plate-full"
    assert finding.severity is Severity.NOTE
    assert finding.seen == "22GB"


@pytest.mark.parametrize("unread", [{"stacking_kg": None}, {"racking_n": None}])
def test_reduced_size_type_is_not_denied_by_lines_that_were_not_read(
    unread: dict[str, None],
) -> None:
    assert judge(changed(**unread), size_type="22GB").findings == ()


@pytest.mark.parametrize("stem", ["gross", "stacking"])
def test_pair_beyond_rounding_doubts_both(stem: str) -> None:
    wrong = changed(**{f"{stem}_lb": getattr(GOOD, f"{stem}_lb") + 9000})
    judgement = judge(wrong)
    finding = only(judgement)
    assert finding.id == f"plate.pair-{stem}"
    assert finding.severity is Severity.DOUBT
    assert finding.field == f"plate.{stem}_lb"
    assert judgement.doubted == (f"plate.{stem}_kg", f"plate.{stem}_lb")


def test_stacking_that_its_own_pair_denies_is_not_called_weak() -> None:
    judgement = judge(changed(stacking_kg=92_000), size_type="22G1")
    assert ids(judgement) == ["plate.pair-stacking"]


def test_racking_force_and_load_that_disagree_are_doubted() -> None:
    judgement = judge(changed(racking_n=105_000, racking_kg=15_240), size_type="22G1")
    finding = only(judgement)
    assert finding.id == "plate.pair-racking"
    assert (finding.seen, finding.expected) == ("105 000 N", "149 453 N")
    assert judgement.doubted == ("plate.racking_n", "plate.racking_kg")


def test_racking_force_and_load_of_one_strength_agree() -> None:
    assert judge(changed(racking_kg=15_240)).findings == ()


def test_gross_that_differs_from_doors_known_before_is_the_mass_rule() -> None:
    judgement = judge(GOOD, door_gross_kg=32500)
    finding = only(judgement)
    assert finding.id == "mass.gross-differs-from-plate"
    assert finding.severity is Severity.DOUBT
    assert finding.field == "plate.gross_kg"
    assert "on the plate reads 30 480 kg, on the doors it is 32 500 kg" in finding.message
    assert judgement.doubted == ("plate.gross_kg", "plate.gross_lb")


def test_unread_gross_differs_from_nothing() -> None:
    assert judge(changed(gross_kg=None), door_gross_kg=32500).findings == ()


def test_no_plate_seen_is_an_answer_and_warns() -> None:
    reading = PlateReading(no_plate=True)
    judgement = judge(reading, size_type="22G1", door_gross_kg=30480)
    assert ids(judgement) == ["plate.not-fitted"]
    assert judgement.findings[0].field == "plate.no_plate"
    assert judgement.findings[0].severity is Severity.WARN
    assert judgement.adopted is reading


def test_no_plate_with_lines_from_it_adopts_nothing() -> None:
    judgement = judge(PlateReading(no_plate=True, gross_kg=30480, programme="ACEP-1"))
    finding = only(judgement)
    assert finding.id == "plate.lines-without-plate"
    assert finding.severity is Severity.DOUBT
    assert finding.field == "plate.no_plate"
    assert finding.seen == "gross_kg, programme"
    assert judgement.doubted == ("plate.no_plate", "plate.gross_kg", "plate.programme")
    assert judgement.adopted == PlateReading()


@pytest.mark.parametrize(
    ("lines", "field"),
    [
        ({"manufactured_in": Month(2027, 1)}, "plate.manufactured_in"),
        ({"next_examination": Month(2024, 1)}, "plate.next_examination"),
        ({"next_examination": Month(2040, 1)}, "plate.next_examination"),
        ({"next_examination": Month(2026, 5)}, "plate.next_examination"),
        ({"next_examination": None}, "plate.next_examination"),
        ({"programme": "12"}, "plate.programme"),
        ({"stacking_kg": 192_000, "stacking_lb": None}, "plate.stacking_kg"),
        ({"racking_n": 105_000, "racking_kg": 15_240}, "plate.racking_n"),
    ],
)
def test_finding_names_the_field_it_is_about(lines: dict[str, object], field: str) -> None:
    assert only(judge(changed(**lines))).field == field


def test_finding_about_the_letter_names_the_size_type() -> None:
    assert only(judge(GOOD, size_type="22GB")).field == "size_type"


@pytest.mark.parametrize(("area", "out"), [("7", False), ("6.999", True), ("5.36", True)])
def test_base_too_small_for_the_convention_is_noted(area: str, out: bool) -> None:
    judgement = judge(GOOD, base_area_m2=Decimal(area))
    assert ids(judgement) == (["plate.out-of-scope"] if out else [])
    for finding in judgement.findings:
        assert finding.severity is Severity.NOTE
        assert (finding.seen, finding.expected) == (f"{area} m²", "7 m²")
