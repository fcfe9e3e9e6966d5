import hashlib
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path

import pytest
from PIL import Image
from sqlalchemy import text
from sqlalchemy.exc import ProgrammingError

from shared.clock import StandingClock
from shared.errors import HardstandError
from tests.conftest import MONDAY_MORNING
from tests.support.depot import Depot, report
from tests.support.pictures import make_exif, make_photo, make_scene
from tracker.papers.pictures import NotAPictureError, PictureTooLargeError
from tracker.services.photos import PhotoUnknownError, open_photo, take_photo
from tracker.store.photo_files import (
    PhotoFileMissingError,
    PhotoFileSpoiltError,
    PhotoStoreAwayError,
)

PHOTO = make_photo(make_scene(800, 600), exif=make_exif(orientation=6))


def files_of(depot: Depot) -> list[Path]:
    return [path for path in (depot.web.settings.home / "photos").rglob("*") if path.is_file()]


def file_of(depot: Depot, digest: str) -> Path:
    return depot.web.settings.home / "photos" / digest[:2] / digest


def test_receipt_tells_digest_facts_and_that_it_can_be_read(depot: Depot) -> None:
    receipt = take_photo(depot.web, PHOTO)
    kept = open_photo(depot.web, receipt.digest)
    assert receipt.digest == hashlib.sha256(kept.content).hexdigest()
    assert (receipt.media_type, receipt.width, receipt.height) == ("image/jpeg", 600, 800)
    assert receipt.taken_at == "2026-03-02T07:15:00+01:00"
    assert (receipt.too_dark, receipt.too_blurred, receipt.says) == (False, False, ())
    assert b"SECRET" not in kept.content


def test_photo_that_cannot_be_read_is_kept_and_says_so_at_once(depot: Depot) -> None:
    receipt = take_photo(depot.web, make_photo(make_scene(800, 600, blur_px=8)))
    assert (receipt.too_dark, receipt.too_blurred) == (False, True)
    assert receipt.says == ("Too blurred to read. Take it again, held still and closer.",)
    assert open_photo(depot.web, receipt.digest).media_type == "image/jpeg"


def test_same_photo_again_gets_the_same_receipt_and_one_row(
    depot: Depot, clock: StandingClock
) -> None:
    first = take_photo(depot.web, PHOTO)
    clock.move(timedelta(days=1))
    assert take_photo(depot.web, PHOTO) == first
    kept = open_photo(depot.web, first.digest).content
    assert take_photo(depot.web, kept) == first
    assert depot.one("SELECT received_at FROM photos") == MONDAY_MORNING
    assert len(files_of(depot)) == 3


def test_same_photo_from_many_at_once_is_one(depot: Depot) -> None:
    with ThreadPoolExecutor(6) as pool:
        receipts = list(pool.map(lambda _: take_photo(depot.web, PHOTO), range(6)))
    assert len({receipt.digest for receipt in receipts}) == 1
    assert depot.one("SELECT count(*) FROM photos") == 1


@pytest.mark.parametrize(("size", "side"), [("small", 320), ("large", 800)])
def test_smaller_pictures_are_upright_jpegs(depot: Depot, size: str, side: int) -> None:
    receipt = take_photo(depot.web, make_photo(make_scene(800, 600), "PNG"))
    opened = open_photo(depot.web, receipt.digest, size)
    assert opened.media_type == "image/jpeg"
    again = take_photo(depot.web, opened.content)
    assert again.width == side


def test_digest_that_nobody_was_given_is_unknown(depot: Depot) -> None:
    take_photo(depot.web, PHOTO)
    for digest in ("0" * 64, "", "../secret", "\0", PHOTO.hex()):
        with pytest.raises(PhotoUnknownError):
            open_photo(depot.web, digest)


def test_file_that_is_no_photo_row_is_not_shown(depot: Depot) -> None:
    receipt = take_photo(depot.web, PHOTO)
    small = depot.one("SELECT small FROM photos").hex()
    assert file_of(depot, small).is_file()
    with pytest.raises(PhotoUnknownError):
        open_photo(depot.web, small)
    assert open_photo(depot.web, receipt.digest, "small").content


def test_photo_exchanged_in_the_store_is_told_and_not_shown(depot: Depot) -> None:
    receipt = take_photo(depot.web, PHOTO)
    other = make_photo(make_scene(640, 480))
    file_of(depot, receipt.digest).write_bytes(other)
    with pytest.raises(PhotoFileSpoiltError):
        open_photo(depot.web, receipt.digest)


@pytest.mark.parametrize("size", ["small", "large"])
@pytest.mark.parametrize("harm", ["exchanged", "gone"])
def test_smaller_picture_that_is_lost_is_made_again_from_the_original(
    depot: Depot, size: str, harm: str
) -> None:
    receipt = take_photo(depot.web, PHOTO)
    before = open_photo(depot.web, receipt.digest, size)
    lost = file_of(depot, depot.rows("SELECT small, large FROM photos")[0][size].hex())
    if harm == "gone":
        lost.unlink()
    else:
        lost.write_bytes(make_photo(make_scene(320, 240)))
    assert open_photo(depot.web, receipt.digest, size) == before


def test_photo_whose_file_is_gone_is_told_as_missing(depot: Depot) -> None:
    receipt = take_photo(depot.web, PHOTO)
    for path in files_of(depot):
        path.unlink()
    for size in ("original", "small"):
        with pytest.raises(PhotoFileMissingError):
            open_photo(depot.web, receipt.digest, size)


def test_what_is_no_photo_leaves_nothing(depot: Depot) -> None:
    with pytest.raises(NotAPictureError):
        take_photo(depot.web, b"<html>")
    assert files_of(depot) == []
    assert depot.one("SELECT count(*) FROM photos") == 0


@pytest.mark.parametrize("bound", ["photo_most_mb", "photo_most_megapixels"])
def test_bounds_are_settings(depot: Depot, bound: str) -> None:
    noise = make_photo(Image.effect_noise((1200, 1000), 90), "PNG")
    assert len(noise) > 1_000_000
    assert take_photo(depot.web, noise).width == 1200
    with pytest.raises(PictureTooLargeError):
        take_photo(depot.with_settings(**{bound: 1}).web, noise)


def test_nothing_is_known_of_a_photo_that_could_not_be_kept(depot: Depot, tmp_path: Path) -> None:
    (tmp_path / "a-file").write_bytes(b"")
    blocked = depot.with_settings(photo_store=str(tmp_path / "a-file"))
    with pytest.raises(PhotoStoreAwayError) as told:
        take_photo(blocked.web, PHOTO)
    assert isinstance(told.value, HardstandError)
    assert depot.one("SELECT count(*) FROM photos") == 0


@pytest.mark.parametrize("change", ["UPDATE photos SET too_dark = true", "DELETE FROM photos"])
def test_no_process_may_change_or_remove_what_is_known_of_a_photo(
    depot: Depot, change: str
) -> None:
    take_photo(depot.web, PHOTO)
    for context in (depot.web, depot.worker):
        with (
            pytest.raises(ProgrammingError, match="permission denied"),
            context.engine.begin() as connection,
        ):
            connection.execute(text(change))
    assert depot.one("SELECT too_dark FROM photos") is False


def test_event_names_its_photo_and_the_history_keeps_the_digest(depot: Depot) -> None:
    receipt = take_photo(depot.web, PHOTO)
    depot.record(report("gate-in", photos=[receipt.digest]))
    assert depot.show().record["photos"] == [receipt.digest]
    assert receipt.digest in depot.one("SELECT body::text FROM history")
