"""Keeping pictures: in a folder, and over HTTP in a store of the tests' own that speaks S3."""

import hashlib
import os
import resource
import signal
import stat
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from shared.errors import HardstandError
from tests.support import object_server
from tests.support.object_server import ObjectServer
from tracker.store.photo_files import (
    FolderFiles,
    PhotoFileMissingError,
    PhotoFiles,
    PhotoFileSpoiltError,
    PhotoStoreAddressError,
    PhotoStoreAwayError,
    PhotoStoreFullError,
    open_photo_files,
)

PICTURE = b"picture " * 1000
DIGEST = hashlib.sha256(PICTURE).hexdigest()
NAME = f"{DIGEST[:2]}/{DIGEST}"


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Iterator[ObjectServer]:
    monkeypatch.setenv("AWS_ACCESS_KEY_ID", "KEY")
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "secret")
    with object_server.serve() as running:
        yield running


@pytest.fixture(params=["folder", "objects"])
def files(request: pytest.FixtureRequest, tmp_path: Path, server: ObjectServer) -> PhotoFiles:
    return open_photo_files(
        None if request.param == "folder" else address_of(server), home=tmp_path
    )


def address_of(server: ObjectServer, prefix: str = "photos/of/north") -> str:
    return f"s3://boxes/{prefix}?endpoint={server.url}&region=local"


def names_in(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def test_picture_is_kept_under_its_digest_and_read_back(files: PhotoFiles) -> None:
    assert files.keep(PICTURE) == DIGEST
    assert files.read(DIGEST) == PICTURE


def test_same_picture_again_changes_nothing(files: PhotoFiles) -> None:
    assert files.keep(PICTURE) == files.keep(PICTURE) == DIGEST
    assert files.read(DIGEST) == PICTURE


def test_picture_larger_than_one_part_is_kept_whole(files: PhotoFiles) -> None:
    large = os.urandom(6_000_000)
    assert files.read(files.keep(large)) == large


def test_many_at_once_keep_the_same_and_others(files: PhotoFiles) -> None:
    pictures = [PICTURE if number % 2 else bytes([number]) * 5000 for number in range(16)]
    with ThreadPoolExecutor(8) as pool:
        digests = list(pool.map(files.keep, pictures))
    assert [files.read(digest) for digest in digests] == pictures


def test_digest_that_nothing_lies_under_is_missing(files: PhotoFiles) -> None:
    with pytest.raises(PhotoFileMissingError, match=DIGEST):
        files.read(DIGEST)


@pytest.mark.parametrize(
    "name",
    [
        "",
        "../../etc/passwd",
        "/etc/passwd",
        DIGEST.upper(),
        DIGEST[:-1],
        DIGEST + "\n",
        "../" + DIGEST,
        "%2e%2e/" + DIGEST,
        DIGEST[:62] + "/.",
    ],
)
def test_name_that_is_no_digest_reaches_no_file(files: PhotoFiles, name: str) -> None:
    files.keep(PICTURE)
    with pytest.raises(PhotoFileMissingError):
        files.read(name)


def test_folder_holds_the_file_alone_and_only_its_owner_reads_it(tmp_path: Path) -> None:
    open_photo_files(None, tmp_path).keep(PICTURE)
    assert names_in(tmp_path) == [f"photos/{NAME}"]
    assert stat.S_IMODE((tmp_path / "photos" / NAME).stat().st_mode) == 0o600


def test_other_folder_is_used_when_it_is_named(tmp_path: Path) -> None:
    open_photo_files(str(tmp_path / "elsewhere"), tmp_path / "home").keep(PICTURE)
    assert names_in(tmp_path) == [f"elsewhere/{NAME}"]


def test_kept_file_is_not_written_again(tmp_path: Path) -> None:
    files = FolderFiles(tmp_path)
    files.keep(PICTURE)
    before = (tmp_path / NAME).stat()
    files.keep(PICTURE)
    after = (tmp_path / NAME).stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)


@pytest.mark.parametrize("spoilt", [b"", PICTURE[:-1], b"q" + PICTURE[1:]])
def test_exchanged_file_is_told_and_mended_by_the_right_one(tmp_path: Path, spoilt: bytes) -> None:
    files = FolderFiles(tmp_path)
    files.keep(PICTURE)
    (tmp_path / NAME).write_bytes(spoilt)
    with pytest.raises(PhotoFileSpoiltError, match="backup"):
        files.read(DIGEST)
    files.keep(PICTURE)
    assert files.read(DIGEST) == PICTURE


def test_full_disk_is_told_and_leaves_nothing_half_written(tmp_path: Path) -> None:
    files = FolderFiles(tmp_path)
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    handled = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    # The kernel refuses the file in its middle, as a full disk does.
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, limits[1]))
    try:
        with pytest.raises(PhotoStoreFullError, match="not kept"):
            files.keep(PICTURE)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        signal.signal(signal.SIGXFSZ, handled)
    assert names_in(tmp_path) == []
    with pytest.raises(PhotoFileMissingError):
        files.read(DIGEST)
    assert files.keep(PICTURE) == DIGEST


def test_folder_that_cannot_be_is_told_as_away(tmp_path: Path) -> None:
    (tmp_path / "photos").write_bytes(b"a file stands here")
    with pytest.raises(PhotoStoreAwayError, match="does not answer") as told:
        open_photo_files(None, tmp_path).keep(PICTURE)
    assert "photos" in told.value.said


def test_objects_lie_under_bucket_and_prefix(server: ObjectServer, tmp_path: Path) -> None:
    open_photo_files(address_of(server), tmp_path).keep(PICTURE)
    assert server.objects == {f"/boxes/photos/of/north/{NAME}": PICTURE}
    assert names_in(tmp_path) == []


def test_bucket_without_prefix_is_enough(server: ObjectServer, tmp_path: Path) -> None:
    open_photo_files(address_of(server, ""), tmp_path).keep(PICTURE)
    assert list(server.objects) == [f"/boxes/{NAME}"]


def test_object_that_is_there_is_not_sent_again(server: ObjectServer, tmp_path: Path) -> None:
    files = open_photo_files(address_of(server), tmp_path)
    files.keep(PICTURE)
    files.keep(PICTURE)
    assert [method for method, _ in server.seen] == ["HEAD", "PUT", "HEAD"]


@pytest.mark.parametrize("spoilt", [b"", PICTURE[:-1]])
def test_object_that_was_cut_off_is_told_and_mended_by_the_right_one(
    server: ObjectServer, tmp_path: Path, spoilt: bytes
) -> None:
    server.objects[f"/boxes/photos/of/north/{NAME}"] = spoilt
    files = open_photo_files(address_of(server), tmp_path)
    with pytest.raises(PhotoFileSpoiltError):
        files.read(DIGEST)
    files.keep(PICTURE)
    assert files.read(DIGEST) == PICTURE


def test_object_that_was_exchanged_is_told(server: ObjectServer, tmp_path: Path) -> None:
    server.objects[f"/boxes/photos/of/north/{NAME}"] = b"q" + PICTURE[1:]
    with pytest.raises(PhotoFileSpoiltError):
        open_photo_files(address_of(server), tmp_path).read(DIGEST)


def test_store_that_does_not_tell_what_is_missing_keeps_all_the_same(
    server: ObjectServer, tmp_path: Path
) -> None:
    server.hides_what_is_missing = True
    files = open_photo_files(address_of(server), tmp_path)
    assert files.read(files.keep(PICTURE)) == PICTURE


def test_store_that_lets_nobody_in_is_told_as_away(
    server: ObjectServer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("AWS_ACCESS_KEY_ID", "WRONG")
    files = open_photo_files(address_of(server), tmp_path)
    for ask in (lambda: files.keep(PICTURE), lambda: files.read(DIGEST)):
        with pytest.raises(PhotoStoreAwayError):
            ask()
    assert server.objects == {}


def test_store_that_fails_is_asked_again_a_few_times_and_told_as_away(
    server: ObjectServer, tmp_path: Path
) -> None:
    server.answers = 500
    with pytest.raises(PhotoStoreAwayError):
        open_photo_files(address_of(server), tmp_path).read(DIGEST)
    assert len(server.seen) == 3


def test_store_that_nobody_serves_is_told_as_away(tmp_path: Path) -> None:
    files = open_photo_files("s3://boxes?endpoint=http://127.0.0.1:9", tmp_path)
    with pytest.raises(PhotoStoreAwayError):
        files.read(DIGEST)


@pytest.mark.parametrize(
    "address",
    [
        "s3://",
        "s3:///photos",
        "s3://key:password@boxes/photos",
        "s3://boxes/photos?password=open",
        "gopher://boxes/photos",
        "https://boxes/photos",
    ],
)
def test_what_is_no_address_is_refused_without_repeating_it(address: str, tmp_path: Path) -> None:
    with pytest.raises(PhotoStoreAddressError) as told:
        open_photo_files(address, tmp_path)
    assert "password" not in str(told.value)
    assert isinstance(told.value, HardstandError)
