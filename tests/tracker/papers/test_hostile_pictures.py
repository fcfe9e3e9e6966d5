"""Files that are no photos, or mean harm."""

import io
import struct
import zipfile
import zlib

import pytest
from PIL import Image, PngImagePlugin

from tests.support.pictures import (
    make_bomb_png,
    make_exif,
    make_photo,
    make_scene,
    png_chunk,
)
from tracker.papers.bare_pictures import BrokenPictureError
from tracker.papers.pictures import (
    Bounds,
    HeicPictureError,
    NotAPictureError,
    PictureShapeError,
    PictureTooLargeError,
    read_picture,
)

BOUNDS = Bounds(most_bytes=5_000_000, most_pixels=10_000_000)
SCRIPT = b"<script>alert('SECRET')</script>"
POSITION = b'<x:xmpmeta exif:GPSLatitude="SECRET"/>'


def kept_of(data: bytes) -> bytes:
    return read_picture(data, BOUNDS).kept


def packed() -> bytes:
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w") as archive:
        archive.writestr("SECRET.html", SCRIPT)
    return written.getvalue()


def header_only_png(width: int, height: int) -> bytes:
    header = png_chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + header + png_chunk(b"IDAT", b"") + png_chunk(b"IEND", b"")


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\xff",
        b"hello",
        b"%PDF-1.7\n",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a" + bytes(40),
        b"\x00\x00\x00\x1cftypavif" + bytes(40),
        b"RIFF\x04\x00\x00\x00WAVE",
        packed(),
    ],
)
def test_what_is_no_picture_is_refused_whatever_it_calls_itself(data: bytes) -> None:
    with pytest.raises(NotAPictureError, match="Expected a JPEG, PNG or WebP file"):
        read_picture(data, BOUNDS)


@pytest.mark.parametrize("brand", [b"heic", b"heix", b"mif1"])
def test_heic_is_refused_with_the_way_out(brand: bytes) -> None:
    with pytest.raises(HeicPictureError, match="most compatible format"):
        read_picture(b"\0\0\0\x1cftyp" + brand + bytes(200), BOUNDS)


def test_webp_that_claims_very_many_pixels_is_refused() -> None:
    photo = bytearray(make_photo(make_scene(96, 72), "WEBP", exif=make_exif()))
    assert photo[12:16] == b"VP8X"
    photo[24:30] = b"\xff\xff\x00" * 2  # 65,536 to each side
    with pytest.raises(PictureTooLargeError):
        read_picture(bytes(photo), BOUNDS)


@pytest.mark.parametrize(
    "begins",
    [b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF\x04\x00\x00\x00WEBP"],
)
@pytest.mark.parametrize("goes_on", [b"", SCRIPT, bytes(200), b"\xff" * 200])
def test_first_bytes_of_a_picture_alone_make_none(begins: bytes, goes_on: bytes) -> None:
    with pytest.raises(BrokenPictureError):
        read_picture(begins + goes_on, BOUNDS)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_picture_that_breaks_off_anywhere_is_refused(kind: str) -> None:
    whole = make_photo(make_scene(96, 72), kind)
    for length in range(16, len(whole), len(whole) // 40):
        with pytest.raises(BrokenPictureError):
            read_picture(whole[:length], BOUNDS)


def test_bomb_is_refused_by_its_header_before_it_is_decoded() -> None:
    for width, height in ((50_000, 50_000), (2**31 - 1, 2**31 - 1)):
        with pytest.raises(PictureTooLargeError, match=f"{width} x {height} pixels"):
            read_picture(header_only_png(width, height), BOUNDS)


def test_bomb_that_keeps_within_bounds_is_decoded_and_dark() -> None:
    sent = make_bomb_png(3000, 3000)
    assert len(sent) < 20_000
    assert read_picture(sent, BOUNDS).legibility.too_dark


def test_header_that_claims_less_than_there_is_decodes_no_more_than_it_claims() -> None:
    honest = make_bomb_png(2000, 2000)
    body = struct.pack(">IIBBBBB", 100, 100, 8, 0, 0, 0, 0)
    lying = honest[:8] + png_chunk(b"IHDR", body) + honest[33:]
    assert (read_picture(lying, BOUNDS).width, read_picture(lying, BOUNDS).height) == (100, 100)


def test_notes_that_unpack_to_very_much_never_reach_the_decoder() -> None:
    photo = make_photo(make_scene(96, 72), "PNG")
    bomb = png_chunk(b"zTXt", b"Comment\0\0" + zlib.compress(bytes(80_000_000)))
    assert kept_of(photo[:33] + bomb + photo[33:]) == kept_of(photo)


def test_colour_profile_that_unpacks_to_very_much_is_refused() -> None:
    photo = make_photo(make_scene(96, 72), "PNG")
    bomb = png_chunk(b"iCCP", b"icc\0\0" + zlib.compress(bytes(80_000_000)))
    with pytest.raises(BrokenPictureError, match="cannot be decoded"):
        read_picture(photo[:33] + bomb + photo[33:], BOUNDS)


@pytest.mark.parametrize(
    ("sides", "expected"),
    [
        ((1, 100_000), "at least 64"),
        ((100_000, 1), "at least 64"),
        ((63, 64), "at least 64"),
        ((64, 641), "not a strip"),
        ((641, 64), "not a strip"),
    ],
)
def test_sides_of_no_photo_are_refused(sides: tuple[int, int], expected: str) -> None:
    with pytest.raises(PictureShapeError, match=expected):
        read_picture(make_photo(Image.new("RGB", sides), "PNG"), BOUNDS)


@pytest.mark.parametrize("sides", [(64, 64), (64, 640)])
def test_sides_that_are_just_enough_are_taken(sides: tuple[int, int]) -> None:
    picture = read_picture(make_photo(Image.new("RGB", sides), "PNG"), BOUNDS)
    assert (picture.width, picture.height) == sides


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("behind", [SCRIPT, packed(), b"\xff\xd8\xff\xe1SECRET\xff\xd9"])
def test_another_file_behind_the_picture_is_not_kept(kind: str, behind: bytes) -> None:
    photo = make_photo(make_scene(96, 72), kind)
    assert kept_of(photo + behind) == kept_of(photo)


def test_another_file_within_a_jpeg_is_not_kept() -> None:
    photo = make_photo(make_scene(96, 72), exif=make_exif())
    for marker in (0xFE, 0xE0, 0xE2, 0xE5, 0xED, 0xEF):
        block = struct.pack(">BBH", 0xFF, marker, len(packed()) + 2) + packed()
        assert kept_of(photo[:2] + block + photo[2:]) == kept_of(photo)


def test_another_file_within_a_png_is_not_kept() -> None:
    photo = make_photo(make_scene(96, 72), "PNG")
    for name in (b"tEXt", b"prVt", b"zzzz"):
        chunk = png_chunk(name, b"Comment\0" + packed())
        assert kept_of(photo[:33] + chunk + photo[33:]) == kept_of(photo)


def test_another_file_within_a_webp_is_not_kept() -> None:
    photo = make_photo(make_scene(96, 72), "WEBP", exif=make_exif())
    for hidden in (packed() + b"\0", packed()):
        chunk = b"JUNK" + struct.pack("<I", len(hidden)) + hidden + b"\0" * (len(hidden) % 2)
        head = b"RIFF" + struct.pack("<I", len(photo) - 8 + len(chunk))
        # Behind the first chunk, so that the others are found only if it is measured rightly.
        assert kept_of(head + photo[8:30] + chunk + photo[30:]) == kept_of(photo)


@pytest.mark.parametrize("kind", ["JPEG", "WEBP", "PNG"])
def test_position_in_the_other_form_of_notes_is_gone(kind: str) -> None:
    written = io.BytesIO()
    if kind == "PNG":
        notes = PngImagePlugin.PngInfo()
        notes.add_itxt("XML:com.adobe.xmp", POSITION.decode())
        make_scene(96, 72).save(written, kind, pnginfo=notes)
    else:
        make_scene(96, 72).save(written, kind, xmp=POSITION)
    assert b"SECRET" in written.getvalue()
    kept = kept_of(written.getvalue())
    assert b"SECRET" not in kept
    assert "xmp" not in Image.open(io.BytesIO(kept)).info
    if kind == "WEBP":
        assert kept[20] & 0b0000_1110 == 0  # no notes of either form, no movement


def test_second_picture_of_a_phone_is_gone_with_its_position() -> None:
    written = io.BytesIO()
    scene = make_scene(96, 72)
    exif = make_exif().tobytes()
    scene.save(written, "MPO", save_all=True, append_images=[scene], exif=exif)
    assert written.getvalue().count(b"SECRETPHONE") > 0
    kept = kept_of(written.getvalue())
    assert b"SECRET" not in kept
    assert kept.count(b"\xff\xd8\xff") == 1
    assert b"MPF" not in kept


def test_webp_that_moves_is_refused_and_a_png_that_moves_stands_still() -> None:
    frames = [make_scene(96, 72), Image.new("RGB", (96, 72), "red")]
    for kind in ("WEBP", "PNG"):
        written = io.BytesIO()
        frames[0].save(written, kind, save_all=True, append_images=frames[1:])
        if kind == "WEBP":
            with pytest.raises(BrokenPictureError, match="it moves"):
                read_picture(written.getvalue(), BOUNDS)
        else:
            assert b"acTL" in written.getvalue()
            kept = kept_of(written.getvalue())
            assert not {b"acTL", b"fcTL", b"fdAT"} & {kept[at : at + 4] for at in range(len(kept))}


def test_wrong_checksum_in_a_png_is_damage() -> None:
    photo = bytearray(make_photo(make_scene(96, 72), "PNG"))
    photo[-20] ^= 1
    with pytest.raises(BrokenPictureError, match="checksum"):
        read_picture(bytes(photo), BOUNDS)


def test_notes_that_are_damaged_are_left_out_and_the_picture_is_taken() -> None:
    photo = make_photo(make_scene(96, 72))
    notes = b"Exif\0\0II*\0" + b"\xff" * 30
    block = struct.pack(">BBH", 0xFF, 0xE1, len(notes) + 2) + notes
    picture = read_picture(photo[:2] + block + photo[2:], BOUNDS)
    assert picture.taken_at is None
    assert picture.kept == kept_of(photo)
