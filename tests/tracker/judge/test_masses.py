"""The family `mass`: each rule fires where it should, doubts what it should, and nowhere else."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemas.findings import Finding, Severity
from schemas.readings import Masses, PlateReading
from tracker.judge.masses import RULES, MassesJudgement, judge_masses

GOOD = Masses(
    gross_kg=30480,
    tare_kg=2250,
    payload_kg=28230,
    gross_lb=67200,
    tare_lb=4960,
    payload_lb=62240,
    cube_m3=Decimal("33.2"),
)
PLATE = PlateReading(gross_kg=30480)


def ids(judgement: MassesJudgement) -> list[str]:
    return [finding.id for finding in judgement.findings]


def only(judgement: MassesJudgement) -> Finding:
    (finding,) = judgement.findings
    return finding


def test_rules_are_of_the_family_and_differ() -> None:
    assert all(rule.id.startswith("mass.") for rule in RULES)
    assert len({rule.id for rule in RULES}) == len(RULES)


def test_masses_that_hold_together_are_adopted_as_they_are() -> None:
    judgement = judge_masses(GOOD, size_type="22G1", plate=PLATE)
    assert judgement.findings == ()
    assert judgement.adopted is GOOD
    assert judgement.doubted == ()


def test_no_masses_at_all_give_nothing() -> None:
    judgement = judge_masses(Masses(), size_type="22G1", plate=PLATE)
    assert judgement == ((), Masses(), ())
    assert judgement.payload_kg is None


def test_sum_that_fails_says_what_is_seen_and_expected_and_by_how_much() -> None:
    finding = only(judge_masses(Masses(gross_kg=30480, tare_kg=2250, payload_kg=28320)))
    assert finding.id == "mass.sum"
    assert finding.severity is Severity.DOUBT
    assert finding.field == "masses.payload_kg"
    assert (finding.seen, finding.expected) == ("28 320 kg", "28 230 kg")
    assert "difference of 90 kg" in finding.message
    assert "30 480 kg" in finding.message
    assert "2 250 kg" in finding.message


@pytest.mark.parametrize("payload", [28229, 28231])
def test_sum_is_exact_to_the_kilogram(payload: int) -> None:
    judgement = judge_masses(Masses(gross_kg=30480, tare_kg=2250, payload_kg=payload))
    assert ids(judgement) == ["mass.sum"]
    assert "difference of 1 kg" in judgement.findings[0].message


def test_sum_with_nothing_to_confirm_any_of_it_doubts_all_three() -> None:
    judgement = judge_masses(Masses(gross_kg=30480, tare_kg=2250, payload_kg=28320))
    assert judgement.adopted == Masses()
    assert judgement.doubted == ("masses.payload_kg", "masses.gross_kg", "masses.tare_kg")
    assert judgement.payload_kg is None


def test_sum_keeps_a_gross_that_the_plate_confirms() -> None:
    masses = Masses(gross_kg=30480, tare_kg=2250, payload_kg=28320)
    judgement = judge_masses(masses, plate=PLATE)
    assert ids(judgement) == ["mass.sum"]
    assert judgement.adopted == Masses(gross_kg=30480)


def test_sum_keeps_what_its_pounds_confirm_but_never_the_payload() -> None:
    masses = Masses(
        gross_kg=30480, gross_lb=67200, tare_kg=2250, tare_lb=4960, payload_kg=28320,
        payload_lb=62430,
    )  # fmt: skip
    judgement = judge_masses(masses)
    assert ids(judgement) == ["mass.sum"]
    assert judgement.doubted == ("masses.payload_kg", "masses.payload_lb")
    assert judgement.adopted == Masses(gross_kg=30480, gross_lb=67200, tare_kg=2250, tare_lb=4960)
    assert judgement.payload_kg == 28230


def test_payload_that_is_not_painted_is_gross_less_tare() -> None:
    judgement = judge_masses(Masses(gross_kg=30480, tare_kg=2250), size_type="22G1")
    assert judgement.findings == ()
    assert judgement.payload_kg == 28230


@pytest.mark.parametrize("masses", [Masses(gross_kg=30480), Masses(tare_kg=2250)])
def test_payload_is_unknown_from_one_mass_alone(masses: Masses) -> None:
    assert judge_masses(masses).payload_kg is None


@pytest.mark.parametrize("missing", ["gross_kg", "tare_kg"])
def test_payload_without_gross_or_tare_cannot_be_summed(missing: str) -> None:
    masses = Masses(gross_kg=30480, tare_kg=2250, payload_kg=999).model_copy(update={missing: None})
    judgement = judge_masses(masses)
    assert judgement.findings == ()
    assert judgement.payload_kg == 999


@pytest.mark.parametrize("stem", ["gross", "tare", "payload"])
def test_pair_beyond_rounding_doubts_both_and_says_what_the_kilograms_are(stem: str) -> None:
    kilograms = getattr(GOOD, f"{stem}_kg")
    masses = GOOD.model_copy(update={f"{stem}_lb": getattr(GOOD, f"{stem}_lb") + 900})
    judgement = judge_masses(masses, size_type="22G1", plate=PLATE)
    finding = only(judgement)
    assert finding.id == f"mass.pair-{stem}"
    assert finding.severity is Severity.DOUBT
    assert finding.field == f"masses.{stem}_lb"
    assert str(finding.seen).endswith(" lb")
    assert str(finding.expected).endswith(" lb")
    assert f"{kilograms:,} kg".replace(",", " ") in finding.message
    assert judgement.doubted == (f"masses.{stem}_kg", f"masses.{stem}_lb")
    assert getattr(judgement.adopted, f"{stem}_kg") is None
    assert getattr(judgement.adopted, f"{stem}_lb") is None


def test_pounds_alone_are_no_pair() -> None:
    masses = Masses(gross_lb=1, tare_lb=2, payload_lb=3)
    assert judge_masses(masses).findings == ()


def test_gross_that_differs_from_the_plate_is_not_adopted() -> None:
    masses = Masses(gross_kg=30840, tare_kg=2250)
    judgement = judge_masses(masses, plate=PLATE)
    finding = only(judgement)
    assert finding.id == "mass.gross-differs-from-plate"
    assert finding.severity is Severity.DOUBT
    assert (finding.seen, finding.expected) == ("30 840 kg", "30 480 kg")
    assert "on the doors reads 30 840 kg, on the plate it is 30 480 kg" in finding.message
    assert judgement.doubted == ("masses.gross_kg",)
    assert judgement.adopted == Masses(tare_kg=2250)


def test_gross_one_kilogram_off_the_plate_differs() -> None:
    assert ids(judge_masses(Masses(gross_kg=30481), plate=PLATE)) == [
        "mass.gross-differs-from-plate"
    ]


@pytest.mark.parametrize("plate", [None, PlateReading(), PLATE])
def test_gross_with_nothing_against_it_on_the_plate_is_fine(plate: PlateReading | None) -> None:
    assert judge_masses(Masses(gross_kg=30480), plate=plate).findings == ()


def test_tare_above_gross_doubts_both_and_says_no_more() -> None:
    judgement = judge_masses(Masses(gross_kg=2250, tare_kg=30480, payload_kg=28230))
    finding = only(judgement)
    assert finding.id == "mass.tare-above-gross"
    assert finding.severity is Severity.DOUBT
    assert (finding.seen, finding.expected) == ("30 480 kg", "2 250 kg")
    assert judgement.adopted == Masses(payload_kg=28230)


def test_tare_above_a_gross_that_the_plate_confirms_doubts_the_tare_only() -> None:
    judgement = judge_masses(Masses(gross_kg=30480, tare_kg=30481), plate=PLATE)
    assert ids(judgement) == ["mass.tare-above-gross"]
    assert judgement.adopted == Masses(gross_kg=30480)


def test_tare_equal_to_gross_is_not_above_it() -> None:
    assert judge_masses(Masses(gross_kg=2250, tare_kg=2250)).findings == ()


@pytest.mark.parametrize(
    ("gross", "size_type", "severity"),
    [
        (20320, "22G1", None),
        (20319, "22G1", Severity.WARN),
        (36000, "22G1", None),
        (36001, "22G1", Severity.WARN),
        (32500, "42G1", None),
        (30480, "L5G1", None),
        (25399, "32G1", Severity.WARN),
        (10160, "12G1", None),
        (10161, "12G1", Severity.NOTE),
        (11300, "12G1", Severity.NOTE),
        (11301, "12G1", Severity.WARN),
        (10159, "12G1", Severity.WARN),
        (3048, "M5G1", None),
        (3048, "no code", None),
        (3048, None, None),
    ],
)
def test_gross_against_iso_668(
    gross: int, size_type: str | None, severity: Severity | None
) -> None:
    judgement = judge_masses(Masses(gross_kg=gross), size_type=size_type)
    assert [(f.id, f.severity) for f in judgement.findings] == (
        [("mass.gross-outside-iso668", severity)] if severity else []
    )
    assert judgement.adopted.gross_kg == gross


def test_gross_outside_says_the_span_with_its_unit() -> None:
    finding = only(judge_masses(Masses(gross_kg=3048), size_type="22G1"))
    assert (finding.seen, finding.expected) == ("3 048 kg", "20 320 kg to 36 000 kg")
    assert finding.source.endswith("(memory)")
    ten_foot = only(judge_masses(Masses(gross_kg=11000), size_type="12G1"))
    assert ten_foot.expected == "10 160 kg"


@pytest.mark.parametrize(
    ("tare", "size_type", "odd"),
    [
        (1853, "22G1", False),
        (1852, "22G1", True),
        (2702, "22G1", False),
        (2703, "22G1", True),
        (3900, "45G1", False),
        (2250, "45G1", True),
        (22500, "2210", True),
        (4600, "45R1", False),
        (3000, "22G2", False),
    ],
)
def test_tare_against_typical_boxes(tare: int, size_type: str | None, odd: bool) -> None:
    judgement = judge_masses(Masses(tare_kg=tare), size_type=size_type)
    assert ids(judgement) == (["mass.tare-implausible"] if odd else [])
    assert judgement.adopted.tare_kg == tare


def test_odd_tare_only_warns_with_values_and_units() -> None:
    finding = only(judge_masses(Masses(tare_kg=3250), size_type="22G1"))
    assert finding.severity is Severity.WARN
    assert (finding.seen, finding.expected) == ("3 250 kg", "1 853 kg to 2 702 kg")
    assert "22G1" in finding.message


@pytest.mark.parametrize(
    ("cube", "size_type", "found"),
    [
        ("33.2", "22G1", None),
        ("32.2", "22G1", None),
        ("32.1", "22G1", "mass.cube-below-internal-minimum"),
        ("29.7", "22G1", "mass.cube-below-internal-minimum"),
        ("29.6", "22G1", "mass.cube-implausible"),
        ("36.5", "22G1", None),
        ("36.6", "22G1", "mass.cube-implausible"),
        ("67.7", "45G1", "mass.cube-implausible"),
        ("76.3", "42G1", "mass.cube-implausible"),
        ("15.9", "12G1", None),
        ("40", "32G1", "mass.cube-below-internal-minimum"),
        ("50", "32G1", None),
        ("10", "22T3", None),
        ("10", None, None),
    ],
)
def test_cube_against_typical_and_least(
    cube: str, size_type: str | None, found: str | None
) -> None:
    masses = Masses(cube_m3=Decimal(cube))
    judgement = judge_masses(masses, size_type=size_type)
    assert ids(judgement) == ([found] if found else [])
    assert all(f.severity is Severity.WARN for f in judgement.findings)
    assert judgement.adopted == masses


def test_cube_findings_carry_their_unit() -> None:
    least = only(judge_masses(Masses(cube_m3=Decimal("31.9")), size_type="22G1"))
    assert (least.seen, least.expected) == ("31.9 m³", "at least 32.1 m³")
    odd = only(judge_masses(Masses(cube_m3=Decimal("23.2")), size_type="22G1"))
    assert (odd.seen, odd.expected) == ("23.2 m³", "29.7 to 36.5 m³")


@pytest.mark.parametrize(
    ("masses", "field"),
    [
        (Masses(gross_kg=30480, tare_kg=2250, payload_kg=1), "masses.payload_kg"),
        (Masses(gross_kg=30480, tare_kg=40000), "masses.tare_kg"),
        (Masses(gross_kg=3048), "masses.gross_kg"),
        (Masses(tare_kg=9999), "masses.tare_kg"),
        (Masses(cube_m3=Decimal(99)), "masses.cube_m3"),
        (Masses(cube_m3=Decimal(32)), "masses.cube_m3"),
    ],
)
def test_finding_names_the_field_it_is_about(masses: Masses, field: str) -> None:
    assert judge_masses(masses, size_type="22G1").findings[0].field == field


def test_gross_against_plate_is_about_the_doors() -> None:
    judgement = judge_masses(Masses(gross_kg=30481), plate=PLATE)
    assert only(judgement).field == "masses.gross_kg"


@given(
    st.builds(
        Masses,
        gross_kg=st.none() | st.integers(0, 40_000),
        tare_kg=st.none() | st.integers(0, 40_000),
        payload_kg=st.none() | st.integers(0, 40_000),
        gross_lb=st.none() | st.integers(0, 90_000),
        tare_lb=st.none() | st.integers(0, 90_000),
    ),
    st.sampled_from([None, "22G1", "45G1", "12G1", "4510"]),
    st.sampled_from([None, PLATE, PlateReading()]),
)
@settings(derandomize=True, max_examples=200)
def test_what_is_adopted_always_holds_together(
    masses: Masses, size_type: str | None, plate: PlateReading | None
) -> None:
    judgement = judge_masses(masses, size_type=size_type, plate=plate)
    adopted = judgement.adopted
    again = judge_masses(adopted, plate=plate)
    assert again.findings == ()
    doubts = {f.id for f in judgement.findings if f.severity is Severity.DOUBT}
    assert bool(doubts) is bool(judgement.doubted)
    for field in Masses.model_fields:
        kept = getattr(masses, field) if f"masses.{field}" not in judgement.doubted else None
        assert getattr(adopted, field) == kept
