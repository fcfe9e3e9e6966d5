import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.support.pictures import make_exif
from tracker.papers.picture_notes import Notes, read_notes, write_notes

MOMENTS = (None, "2026-03-02T07:15:00", "2026-03-02T07:15:00+01:00")
EXIF_PART = 0x8769


def block_of(exif: Image.Exif) -> bytes:
    return exif.tobytes().removeprefix(b"Exif\0\0")


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("taken_at", MOMENTS)
def test_what_is_written_reads_the_same_here_and_in_a_library(
    orientation: int, taken_at: str | None
) -> None:
    notes = Notes(orientation, taken_at)
    block = write_notes(notes)
    assert read_notes(block) == notes
    exif = Image.Exif()
    exif.load(b"Exif\0\0" + block if block else b"")
    assert exif.get(0x0112, 1) == orientation
    part = exif.get_ifd(EXIF_PART)
    if taken_at is None:
        assert part == {}
    else:
        assert part[0x9003] == "2026:03:02 07:15:00"
        assert part.get(0x9011, "") == taken_at[19:]
    assert len(exif) == (orientation != 1) + (taken_at is not None)


def test_nothing_to_say_is_no_block() -> None:
    assert write_notes(Notes()) == b""


@pytest.mark.parametrize("order", ["<", ">"])
def test_both_orders_of_bytes_are_read(order: str) -> None:
    exif = make_exif(orientation=8)
    exif.endian = order
    block = block_of(exif)
    assert block[:2] == {"<": b"II", ">": b"MM"}[order]
    assert read_notes(block) == Notes(8, "2026-03-02T07:15:00+01:00")


@pytest.mark.parametrize(
    "block", [b"", b"II*\0", b"II*\0\xff\xff\xff\xff", b"MM\0*" + b"\xff" * 60]
)
def test_damaged_notes_say_nothing(block: bytes) -> None:
    assert read_notes(block) == Notes()


def test_directory_that_names_itself_as_its_part_comes_to_an_end() -> None:
    loop = b"II*\0\x08\0\0\0\x01\0" + b"\x69\x87\x04\0\x01\0\0\0\x08\0\0\0" + bytes(4)
    assert read_notes(loop) == Notes()


@settings(max_examples=200, derandomize=True, deadline=None, database=None)
@given(st.data())
def test_any_damage_gives_notes_that_can_be_written_and_read_back(data: st.DataObject) -> None:
    block = bytearray(block_of(make_exif(orientation=6)))
    for _ in range(data.draw(st.integers(1, 8))):
        block[data.draw(st.integers(0, len(block) - 1))] = data.draw(st.integers(0, 255))
    notes = read_notes(bytes(block[: data.draw(st.integers(0, len(block)))]))
    assert read_notes(write_notes(notes)) == notes
