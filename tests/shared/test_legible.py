"""What strangers wrote is shown as signs, whatever it would have done."""

import unicodedata

import pytest

from shared.legible import legible

SCRIPTS = "\u05d0\u05d1\u05d9 \u200f\u6f22\u5b57 \U0001f69b"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[2J\x1b]0;x\x07", "\ufffd[2J\ufffd]0;x\ufffd"),
        ("\x9b31m", "\ufffd31m"),
        ("fine\rforged", "fineforged"),
        ("A\u202eB\u2066C\u2069D", "ABCD"),
        ("half \ud800", "half \ufffd"),
        ("two\nlines\tand a tab", "two\nlines\tand a tab"),
        (
            "\u05d0\u05d1\u05d9 \u200f\u6f22\u5b57 \U0001f69b",
            "\u05d0\u05d1\u05d9 \u200f\u6f22\u5b57 \U0001f69b",
        ),
    ],
)
def test_text_is_shown_without_what_it_would_do(text: str, shown: str) -> None:
    assert legible(text) == shown


def test_no_sign_that_is_obeyed_is_left_of_all_there_are() -> None:
    left = legible("".join(map(chr, range(0x11000))))
    kinds = {one: unicodedata.category(one) for one in left}
    assert {one for one, kind in kinds.items() if kind in ("Cc", "Cs")} == {"\n", "\t"}
    turning = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
    assert not turning & {unicodedata.bidirectional(one) for one in left}
