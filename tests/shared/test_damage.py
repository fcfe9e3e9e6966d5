"""Damage words: keys, words, and letters only where they are sure."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from shared.damage import (
    Component,
    DamageKind,
    DamageWordError,
    RepairKind,
    Term,
    has_control_limits,
    iso_9897_letters,
    kind_for_letters,
    read_component,
    read_damage_kind,
    read_repair_kind,
    words_for,
)
from shared.table_files import Certainty, load_table

READERS = {
    DamageKind: ("damage_kinds", read_damage_kind),
    Component: ("components", read_component),
    RepairKind: ("repairs", read_repair_kind),
}
SURE = {
    DamageKind.BENT: "BT",
    DamageKind.BOWED: "BW",
    DamageKind.BLOCKED: "BK",
    DamageKind.BLOW_OUT: "BL",
    DamageKind.BROKEN: "BR",
    DamageKind.TREAD_WORN: "WB",
}


@pytest.mark.parametrize("words", READERS)
def test_vocabulary_and_table_name_the_same_keys(words: type[Term]) -> None:
    table, _ = READERS[words]
    assert [row["key"] for row in load_table(table)] == [term.value for term in words]


@pytest.mark.parametrize("term", [term for words in READERS for term in words])
def test_read_every_term_by_key_and_by_words(term: Term) -> None:
    _, read = READERS[type(term)]
    assert read(term.value) is term
    assert read(f"  {words_for(term).upper()} ") is term


@pytest.mark.parametrize(
    ("read", "called"),
    [
        (read_damage_kind, "kind of damage"),
        (read_component, "component"),
        (read_repair_kind, "kind of repair"),
    ],
)
def test_read_unknown_word_lists_what_there_is(read: Callable[[str], Term], called: str) -> None:
    with pytest.raises(DamageWordError, match=f"'wing' is no {called}") as caught:
        read("wing")
    assert caught.value.text == "wing"
    assert ", " in caught.value.expected


@pytest.mark.parametrize("kind", DamageKind)
def test_letters_only_for_the_six_kinds_that_were_read(kind: DamageKind) -> None:
    found = iso_9897_letters(kind)
    assert found.letters == SURE.get(kind)
    assert found.words == words_for(kind)
    if kind in SURE:
        assert found.certainty is Certainty.ONE_TEXT
    else:
        assert "send the words" in found.says


@pytest.mark.parametrize("term", [*Component, *RepairKind])
def test_letters_for_components_and_repairs_are_never_sure(term: Term) -> None:
    found = iso_9897_letters(term)
    assert found.letters is None
    assert words_for(term) in found.says


@pytest.mark.parametrize(("kind", "letters"), SURE.items())
def test_kind_for_letters_reads_the_sure_ones_back(kind: DamageKind, letters: str) -> None:
    assert kind_for_letters(f" {letters.lower()} ") is kind


@pytest.mark.parametrize("letters", ["DT", "XX", "", "B"])
def test_kind_for_letters_that_are_not_sure_is_none(letters: str) -> None:
    assert kind_for_letters(letters) is None


def test_control_limits_belong_to_the_components_of_the_control_table() -> None:
    assert {component for component in Component if has_control_limits(component)} == {
        Component.TOP_RAIL,
        Component.BOTTOM_RAIL,
        Component.HEADER,
        Component.SILL,
        Component.CORNER_POST,
        Component.CORNER_FITTING,
        Component.INTERMEDIATE_FITTING,
        Component.UNDERSTRUCTURE,
        Component.LOCKING_ROD,
    }


def test_equal_keys_of_two_vocabularies_keep_their_own_rows() -> None:
    assert Component.PAINT.value == RepairKind.PAINT.value
    assert read_component("paint") is Component.PAINT
    assert read_repair_kind("paint") is RepairKind.PAINT
    assert words_for(RepairKind.WASH) == "wash with water"
