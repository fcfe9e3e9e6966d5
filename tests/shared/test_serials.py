import pytest

from shared import marks
from shared.marks import MarkShapeError
from shared.serials import SequenceError, marks_from
from tests.support.marks import make_mark


def test_sequence_goes_up_by_serial_with_right_digits_and_leaves_out_remainder_ten() -> None:
    found = marks_from("ZZZU300000", 200)
    serials = [int(mark[4:10]) for mark in found]
    assert len(found) == len(set(found)) == 200
    assert serials == sorted(serials)
    assert all(marks.is_sound(mark) for mark in found)
    assert 10 not in {marks.remainder(mark[:10]) for mark in found}
    left_out = set(range(serials[0], serials[-1])) - set(serials)
    assert left_out
    assert {marks.remainder(f"ZZZU{serial:06d}") for serial in left_out} == {10}


def test_sequence_keeps_remainder_ten_when_told() -> None:
    found = marks_from("ZZZU300000", 200, keep_tens=True)
    assert [int(mark[4:10]) for mark in found] == list(range(300000, 300200))
    assert all(marks.is_sound(mark) for mark in found)


def test_sequence_begins_with_the_mark_given_however_it_is_written() -> None:
    first = make_mark("ZZZU300001")
    assert marks_from(marks.written(first), 1) == (first,)
    assert marks_from(first.lower(), 2)[0] == first


def test_sequence_from_a_wrong_digit_says_the_right_one() -> None:
    right = make_mark("ZZZU300001")
    wrong = right[:10] + str((int(right[10]) + 1) % 10)
    with pytest.raises(SequenceError, match=marks.written(right)):
        marks_from(wrong, 3)


def test_sequence_from_a_mark_of_remainder_ten_must_be_asked_for() -> None:
    ten = next(
        f"ZZZU{serial:06d}"
        for serial in range(300000, 300100)
        if marks.remainder(f"ZZZU{serial:06d}") == 10
    )
    with pytest.raises(SequenceError, match="remainder 10"):
        marks_from(ten, 1)
    assert marks_from(ten, 1, keep_tens=True) == (make_mark(ten),)


def test_sequence_ends_with_the_last_serial() -> None:
    assert len(marks_from("ZZZU999990", 10, keep_tens=True)) == 10
    with pytest.raises(SequenceError, match="only 10 serials left, not 11"):
        marks_from("ZZZU999990", 11, keep_tens=True)


def test_sequence_from_no_mark_says_so() -> None:
    with pytest.raises(MarkShapeError):
        marks_from("plain", 3)
