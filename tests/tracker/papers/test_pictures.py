"""Pictures as phones send them, read back with a general library."""

import io
import struct
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageCms, ImageOps

from shared.errors import HardstandError
from tests.support.pictures import make_exif, make_photo, make_scene
from tracker.papers.pictures import Bounds, Picture, read_picture

BOUNDS = Bounds(most_bytes=5_000_000, most_pixels=10_000_000)
KINDS = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
EXIF_PART, GPS_PART = 0x8769, 0x8825
TAKEN_AT, OFFSET, ORIENTATION = 0x9003, 0x9011, 0x0112


def read(data: bytes) -> Picture:
    return read_picture(data, BOUNDS)


def opened(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data))
    image.load()
    return image


def is_same(one: Image.Image, other: Image.Image) -> bool:
    return one.size == other.size and ImageChops.difference(one, other).getbbox() is None


@pytest.mark.parametrize(("kind", "media_type"), KINDS.items())
def test_position_maker_and_comments_are_gone_and_the_time_stays(
    kind: str, media_type: str
) -> None:
    sent = make_photo(make_scene(320, 240), kind, exif=make_exif())
    assert opened(sent).getexif().get_ifd(GPS_PART)
    assert b"SECRETPHONE" in sent
    picture = read(sent)
    exif = opened(picture.kept).getexif()
    assert exif.get_ifd(GPS_PART) == {}
    assert exif.get_ifd(EXIF_PART) == {TAKEN_AT: "2026:03:02 07:15:00", OFFSET: "+01:00"}
    assert set(exif) == {EXIF_PART}
    assert b"SECRET" not in picture.kept
    assert (picture.media_type, picture.taken_at) == (media_type, "2026-03-02T07:15:00+01:00")


@pytest.mark.parametrize("kind", KINDS)
def test_picture_itself_stays_bit_by_bit(kind: str) -> None:
    sent = make_photo(make_scene(320, 240), kind, exif=make_exif())
    assert is_same(opened(sent), opened(read(sent).kept))


@pytest.mark.parametrize(
    "writing",
    [{"progressive": True}, {"restart_marker_blocks": 3}, {"subsampling": 0}, {"quality": 100}],
)
def test_jpeg_written_in_other_ways_stays_bit_by_bit(writing: dict[str, int]) -> None:
    written = io.BytesIO()
    scene = Image.effect_noise((200, 150), 80).convert("RGB")
    scene.save(written, "JPEG", comment="SECRET", **writing)
    kept = read(written.getvalue()).kept
    assert is_same(opened(written.getvalue()), opened(kept))
    assert b"SECRET" not in kept


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("exif", [None, make_exif(orientation=6), make_exif(taken_at=None)])
def test_what_is_kept_gives_the_same_when_it_is_taken_in_again(
    kind: str, exif: Image.Exif | None
) -> None:
    picture = read(make_photo(make_scene(320, 240), kind, exif=exif))
    assert read(picture.kept) == picture


def test_picture_without_notes_gets_none() -> None:
    picture = read(make_photo(make_scene(320, 240), "JPEG"))
    assert picture.taken_at is None
    assert b"Exif" not in picture.kept


@pytest.mark.parametrize(
    ("taken_at", "offset", "expected"),
    [
        ("2026:03:02 07:15:00", None, "2026-03-02T07:15:00"),
        ("2026:03:02 07:15:00", "+01:00", "2026-03-02T07:15:00+01:00"),
        ("2026:03:02 07:15:00", "somewhere", "2026-03-02T07:15:00"),
        ("0000:00:00 00:00:00", "+01:00", None),
        ("2026:13:02 07:15:00", None, None),
        ("yesterday", None, None),
        (None, "+01:00", None),
    ],
)
def test_time_is_kept_as_far_as_the_camera_told_it(
    taken_at: str | None, offset: str | None, expected: str | None
) -> None:
    exif = make_exif(taken_at=taken_at, offset=offset)
    picture = read(make_photo(make_scene(160, 120), exif=exif))
    assert picture.taken_at == expected
    assert read(picture.kept).taken_at == expected


@pytest.mark.parametrize("orientation", range(1, 9))
def test_smaller_pictures_stand_upright_and_the_sides_are_of_the_upright_one(
    orientation: int,
) -> None:
    scene = Image.new("RGB", (200, 120), "white")
    scene.paste("red", (0, 0, 80, 40))
    sent = make_photo(scene, "PNG", exif=make_exif(orientation=orientation))
    upright = ImageOps.exif_transpose(opened(sent))
    picture = read(sent)
    large = opened(picture.large)
    assert large.size == upright.size == (picture.width, picture.height)
    for corner in ((10, 10), (large.width - 10, 10), (10, large.height - 10)):
        seen, meant = large.getpixel(corner), upright.getpixel(corner)
        assert max(abs(one - other) for one, other in zip(seen, meant, strict=True)) < 30
    assert opened(picture.kept).getexif().get(ORIENTATION, 1) == orientation
    assert large.getexif().get(ORIENTATION) is None


def test_orientation_that_does_not_exist_means_upright() -> None:
    picture = read(make_photo(make_scene(200, 120), exif=make_exif(orientation=77)))
    assert (picture.width, picture.height) == (200, 120)


@pytest.mark.parametrize(
    ("sides", "small", "large"),
    [
        ((2000, 1000), (320, 160), (1280, 640)),
        ((1000, 2000), (160, 320), (640, 1280)),
        ((100, 80), (100, 80), (100, 80)),
    ],
)
def test_smaller_pictures_keep_proportions_and_are_never_enlarged(
    sides: tuple[int, int], small: tuple[int, int], large: tuple[int, int]
) -> None:
    picture = read(make_photo(Image.new("RGB", sides)))
    assert opened(picture.small).size == small
    assert opened(picture.large).size == large
    assert opened(picture.small).format == opened(picture.large).format == "JPEG"


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGBA"])
def test_every_ordinary_kind_of_pixels_is_shown_as_on_white(mode: str) -> None:
    clear = Image.new("RGBA", (100, 100), (255, 255, 255, 0)).convert(mode)
    picture = read(make_photo(clear, "PNG"))
    large = opened(picture.large)
    assert large.mode == "RGB"
    assert min(large.getpixel((50, 50))) > 250


@pytest.mark.parametrize("mode", ["LA", "RGBA"])
def test_clear_black_is_shown_as_the_white_behind_it(mode: str) -> None:
    clear = Image.new("RGBA", (100, 100), (0, 0, 0, 0)).convert(mode)
    assert min(opened(read(make_photo(clear, "PNG")).large).getpixel((50, 50))) > 250


def test_clear_colour_of_a_palette_is_shown_as_the_white_behind_it() -> None:
    written = io.BytesIO()
    Image.new("P", (100, 100), 0).save(written, "PNG", transparency=0)
    assert min(opened(read(written.getvalue()).large).getpixel((50, 50))) > 250


def test_notes_that_say_twice_what_they_are_are_read() -> None:
    sent = make_photo(make_scene(96, 72), "WEBP", exif=make_exif())
    at = sent.index(b"EXIF")
    length = int.from_bytes(sent[at + 4 : at + 8], "little") + 6
    longer = sent[:at] + b"EXIF" + struct.pack("<I", length) + b"Exif\0\0" + sent[at + 8 :]
    whole = b"RIFF" + struct.pack("<I", len(longer) - 8) + longer[8:]
    assert read(whole).taken_at == "2026-03-02T07:15:00+01:00"


def test_filling_before_a_marker_is_read_over() -> None:
    sent = make_photo(make_scene(96, 72))
    assert read(sent[:2] + b"\xff\xff" + sent[2:]) == read(sent)


def test_printers_colours_are_shown_in_colours_of_screens() -> None:
    large = opened(read(make_photo(Image.new("CMYK", (100, 100), (0, 255, 255, 0)))).large)
    red, green, blue = large.getpixel((50, 50))
    assert red > 200 > 60 > max(green, blue)


def test_deep_grey_levels_are_refused_in_words() -> None:
    with pytest.raises(HardstandError, match="no camera writes its kind of pixels"):
        read(make_photo(Image.new("I;16", (100, 100)), "PNG"))


def test_colour_profile_stays_in_all_sizes() -> None:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    written = io.BytesIO()
    make_scene(320, 240).save(written, "JPEG", icc_profile=profile)
    picture = read(written.getvalue())
    for data in (picture.kept, picture.small, picture.large):
        assert opened(data).info["icc_profile"] == profile


def test_bounds_are_what_is_just_allowed() -> None:
    sent = make_photo(Image.new("RGB", (100, 90)), "PNG")
    just = Bounds(most_bytes=len(sent), most_pixels=9_000)
    assert read_picture(sent, just).width == 100
    for bounds in (replace(just, most_bytes=len(sent) - 1), replace(just, most_pixels=8_999)):
        with pytest.raises(HardstandError, match="Send it smaller"):
            read_picture(sent, bounds)


@settings(max_examples=80, derandomize=True, deadline=None, database=None)
@given(st.sampled_from(["JPEG", "PNG", "WEBP"]), st.data())
def test_damaged_picture_is_read_or_refused_in_words_and_nothing_else(
    kind: str, data: st.DataObject
) -> None:
    exif = make_exif()
    sent = make_photo(make_scene(96, 72), kind, exif=exif)
    damaged = bytearray(sent)
    for _ in range(data.draw(st.integers(1, 6))):
        damaged[data.draw(st.integers(0, len(sent) - 1))] = data.draw(st.integers(0, 255))
    try:
        picture = read(bytes(damaged))
    except HardstandError:
        return
    assert opened(picture.large).format == "JPEG"
    assert read(picture.kept).kept == picture.kept
