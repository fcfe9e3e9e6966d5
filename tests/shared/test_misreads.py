from __future__ import annotations

from collections.abc import Callable, Collection

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shared import marks, misreads
from shared.misreads import KnownMarkSets, Misread, Standing
from tests.support.marks import (
    list_caught_misreads,
    make_mark,
    make_numbered_fleet,
    make_scattered_fleet,
)

NOTHING = KnownMarkSets()
TRUE = "CSQU3054383"


def first(text: str, known: KnownMarkSets) -> tuple[str, Misread, Standing | None]:
    return tuple(misreads.suggest(text, known)[0])


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("CSQU305438", Misread.NO_DIGIT),
        ("CSQU3O5438", Misread.NO_DIGIT),
        ("CSQU3054383 22G1", Misread.EMBEDDED),
        ("CSQU@3054383", Misread.EMBEDDED),
        ("CSQU3O54383", Misread.POSITION),
        ("C5QU3O54383", Misread.POSITION),
        ("CSQU3054C83", Misread.POSITION),
        ("CSQU3054388", Misread.LOOK_ALIKE),
        ("CSOU3054383", Misread.LOOK_ALIKE),
        ("CSQV3054383", Misread.POSITION),
        ("CSQZ3054383", Misread.LOOK_ALIKE),
        ("CSQR3054383", Misread.POSITION),
        ("CSQU3O54388", Misread.LOOK_ALIKE),
        ("SCQU3054383", Misread.TRANSPOSED),
        ("CSQU3045383", Misread.TRANSPOSED),
        ("CSQU3054338", Misread.TRANSPOSED),
        ("CSQU33054383", Misread.DOUBLED),
        ("CSQU3O054383", Misread.EXTRA),
        ("CSQU305483", Misread.MISSING),
        ("CSU3054383", Misread.MISSING),
        ("CSQU3054384", Misread.WRONG_DIGIT),
        ("C5QU3054384", Misread.WRONG_DIGIT),
        ("CSQU3054343", Misread.SUBSTITUTED),
    ],
)
def test_suggest_finds_a_known_unit_however_misread(text: str, kind: Misread) -> None:
    mark, found, standing = first(text, KnownMarkSets.of([TRUE]))
    assert (mark, standing) == (TRUE, Standing.KNOWN)
    assert found is kind


def test_candidates_of_a_sound_mark_leave_it_out() -> None:
    assert TRUE not in misreads.candidates(TRUE)
    assert TRUE not in misreads.candidates("csqu 305438 [3]")


def test_suggest_serial_without_its_zeros_fills_them_in() -> None:
    assert first("ABZU 1234-3", NOTHING) == ("ABZU0012343", Misread.ZERO_FILLED, None)


def test_suggest_right_digit_is_told_of_a_mark_nobody_knows() -> None:
    assert first("CSQU3054384", NOTHING) == (TRUE, Misread.WRONG_DIGIT, None)


def test_suggest_missing_twin_comes_before_other_missing_characters() -> None:
    true = make_mark("ZZZU112233")
    kinds = misreads.candidates(true.replace("22", "2"))
    missing = [mark for mark, kind in kinds.items() if kind is Misread.MISSING]
    assert missing[0] == true


def test_suggest_expected_comes_before_known_before_known_owner_before_the_rest() -> None:
    text = "CSQU3054388"
    unranked = [one.mark for one in misreads.suggest(text, NOTHING)]
    new_owner, known, expected = "SCQU3054388", unranked[2], unranked[-1]
    assert {"CSQU3054383", "CSQU3654388", new_owner} < set(unranked)
    assert unranked.index(new_owner) > 2
    depot = KnownMarkSets(frozenset({known}), frozenset({expected}), frozenset({"SCQ"}))
    ranked = misreads.suggest(text, depot)
    assert [one.mark for one in ranked] == [expected, known, new_owner, *unranked[:2]]
    assert [one.standing for one in ranked[:3]] == [Standing.EXPECTED, Standing.KNOWN, None]


def test_suggest_strange_character_needs_a_known_mark_or_a_known_owner() -> None:
    text = "CXQU3054383"
    assert TRUE not in {one.mark for one in misreads.suggest(text, NOTHING)}
    owner_known = KnownMarkSets(owner_codes=frozenset({"CSQ"}))
    assert first(text, owner_known) == (TRUE, Misread.SUBSTITUTED, None)
    both_known = KnownMarkSets(owner_codes=frozenset({"CSQ", "CXQ"}))
    assert TRUE not in {one.mark for one in misreads.suggest(text, both_known)}


def test_suggest_a_mark_both_expected_and_known_counts_as_expected() -> None:
    known = KnownMarkSets.of([TRUE], expected=[TRUE])
    assert known.owner_codes == {"CSQ"}
    assert known.which_exist([TRUE, "ZZZU1234564"]) == {TRUE: Standing.EXPECTED}


def test_suggest_asks_for_all_candidates_at_once() -> None:
    asked: list[list[str]] = []

    class Asking(KnownMarkSets):
        def which_exist(self, candidates: Collection[str]) -> dict[str, Standing]:
            asked.append(list(candidates))
            return {}

    misreads.suggest("CSQU3054388", Asking())
    assert asked == [list(misreads.candidates("CSQU3054388"))]


@pytest.mark.parametrize("text", ["", "?", "HELLO", "12345678901", "A" * 500, "9" * 11, "U" * 12])
def test_suggest_for_any_nonsense_stays_small(text: str) -> None:
    assert len(misreads.suggest(text, NOTHING)) <= misreads.MOST_SUGGESTIONS
    assert len(misreads.candidates(text)) <= 300


@settings(max_examples=150, derandomize=True, deadline=None)
@given(
    st.one_of(
        st.from_regex(r"[A-Z0-9]{4}[A-Z0-9]{5,9}", fullmatch=True),
        st.from_regex(r"[A-Z]{4}[0-9]{7}", fullmatch=True),
        st.text(max_size=16),
    )
)
def test_no_suggestion_fails_its_digit_or_repeats(text: str) -> None:
    found = [one.mark for one in misreads.suggest(text, NOTHING)]
    assert len(found) == len(set(found)) <= 6
    assert all(marks.is_sound(mark) for mark in found)
    assert marks.find_compact(text) not in found


def test_look_alikes_work_both_ways() -> None:
    for one, others in misreads.LOOK_ALIKES.items():
        assert one not in others
        assert len(set(others)) == len(others)
        assert all(one in misreads.LOOK_ALIKES[other] for other in others)


def hit_rates(fleet: list[str], known: KnownMarkSets, *, every: int) -> tuple[float, float, int]:
    """Return how often the true mark was first and among the six, and over how many misreads."""
    firsts = among = total = 0
    for true in fleet[::every]:
        for text in list_caught_misreads(true):
            found = [one.mark for one in misreads.suggest(text, known)]
            firsts += found[:1] == [true]
            among += true in found
            total += 1
    return firsts / total, among / total, total


@pytest.mark.parametrize("make_fleet", [make_scattered_fleet, make_numbered_fleet])
def test_true_mark_is_suggested_first_with_5000_known_units(
    make_fleet: Callable[..., list[str]],
) -> None:
    fleet = make_fleet(5000, seed=6346)
    assert len(set(fleet)) == 5000
    first_rate, among_rate, total = hit_rates(fleet, KnownMarkSets.of(fleet), every=40)
    assert total > 4000
    assert first_rate >= 0.90
    assert among_rate >= 0.98


def test_similar_owner_codes_are_one_look_alike_or_one_equal_residue_away() -> None:
    known = {"MZZ", "OAA", "HQX", "ZZZ"}
    assert misreads.similar_owner_codes("WZZ", known) == ["MZZ"]
    assert misreads.similar_owner_codes("DAA", known) == ["OAA"]
    assert misreads.similar_owner_codes("RQX", known) == ["HQX"]
    assert misreads.similar_owner_codes("PZZ", known) == ["ZZZ"]  # look nothing alike, count alike
    assert misreads.similar_owner_codes("AQX", known) == []
    assert misreads.similar_owner_codes("WZA", known) == []
    assert misreads.similar_owner_codes("HQX", known) == []
    assert misreads.similar_owner_codes("HQX", set()) == []
