from dataclasses import replace

from tests.conftest import MONDAY_MORNING
from tests.support.depot import Depot
from tracker.store import photos
from tracker.store.photos import PhotoRow

ROW = PhotoRow(
    digest="ab" * 32,
    media_type="image/png",
    bytes=1234,
    width=640,
    height=480,
    taken_at=None,
    received_at=MONDAY_MORNING,
    too_dark=False,
    too_blurred=True,
    small="cd" * 32,
    large="ef" * 32,
)


def test_photo_is_found_as_it_was_added(depot: Depot) -> None:
    with depot.web.engine.begin() as connection:
        assert photos.add(connection, ROW) == ROW
        assert photos.find(connection, ROW.digest) == ROW
        assert photos.find(connection, "00" * 32) is None


def test_photo_added_again_stays_as_it_was(depot: Depot) -> None:
    with depot.web.engine.begin() as connection:
        photos.add(connection, ROW)
        assert photos.add(connection, replace(ROW, too_dark=True, width=1)) == ROW


def test_worker_reads_what_the_web_has_added(depot: Depot) -> None:
    with depot.web.engine.begin() as connection:
        photos.add(connection, ROW)
    with depot.worker.engine.begin() as connection:
        assert photos.find(connection, ROW.digest) == ROW
