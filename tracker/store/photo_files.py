"""Where pictures lie: under their own digest, in a folder or in a store that speaks S3.

A file is named by what is in it, so it is never overwritten, and what is read back is checked.
Only what is to be forgotten is removed. A digest is the only name that is taken, so that no path
can be meant.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final, Protocol
from urllib.parse import parse_qsl, urlsplit

import obstore
from obstore.exceptions import BaseError, PermissionDeniedError
from obstore.store import ObjectStore, S3Store
from typing_extensions import override

from shared.errors import HardstandError

if TYPE_CHECKING:
    from obstore.store import S3Config

_DIGEST: Final = re.compile(r"[0-9a-f]{64}")
# EFBIG: a limit on the size of files, which is a full disk to whoever meets it.
_FULL: Final = frozenset((errno.ENOSPC, errno.EDQUOT, errno.EFBIG))
_WAIT: Final = timedelta(seconds=20)
_MOST_RETRIES: Final = 2
_ASKABLE: Final = frozenset(("endpoint", "region"))


class PhotoStoreError(HardstandError):
    """The base of what goes wrong with the photo store."""


class PhotoStoreAddressError(PhotoStoreError):
    """A text is no address of a photo store. It is not repeated: it may hold a password."""

    def __init__(self) -> None:
        super().__init__(
            "The setting photo_store cannot be read",
            expected="a folder, or s3://bucket/prefix, with endpoint and region alone behind ?",
        )


class PhotoStoreFullError(PhotoStoreError):
    """There is no room left; nothing of the picture was kept."""

    def __init__(self) -> None:
        super().__init__(
            "There is no room left for photos, and this one was not kept",
            remedy="Make room in the photo store, then send it again",
        )


class PhotoStoreAwayError(PhotoStoreError):
    """The store cannot be reached, or does not let us in; carries what it said."""

    def __init__(self, said: str) -> None:
        self.said = said
        super().__init__("The photo store does not answer as it should", remedy="Try again later")


class PhotoFileMissingError(PhotoStoreError):
    """No picture lies under a digest; carries it."""

    def __init__(self, digest: str) -> None:
        self.digest = digest
        super().__init__(f"The photo store has no picture {digest}")


class PhotoFileSpoiltError(PhotoStoreError):
    """What lies under a digest has another digest: it was damaged or exchanged; carries it."""

    def __init__(self, digest: str) -> None:
        self.digest = digest
        super().__init__(
            f"The picture {digest} is not what was kept under this digest",
            remedy="Bring it back from a backup",
        )


class PhotoFiles(Protocol):
    """A photo store. Both ways of keeping survive a crash in the middle: whole, or not there."""

    def keep(self, data: bytes) -> str:
        """Keep a picture and return its digest; the same picture again changes nothing."""

    def read(self, digest: str) -> bytes:
        """Return the picture under a digest, checked against it."""

    def remove(self, digest: str) -> None:
        """Remove the picture under a digest for ever; one that is not there is as well."""


def digest_of(data: bytes) -> str:
    """Return the digest that a picture is kept under: SHA-256, in small hex digits."""
    return hashlib.sha256(data).hexdigest()


def open_photo_files(address: str | None, home: Path) -> PhotoFiles:
    """Return the store at an address; without one, the folder `photos` in `home`.

    Raises:
        PhotoStoreAddressError: it is neither a folder nor an address of the s3 kind.
    """
    if address is None:
        return FolderFiles(home / "photos")
    if "://" not in address:
        return FolderFiles(Path(address).expanduser().absolute())
    return ObjectFiles(_s3_store(address))


@dataclass(frozen=True, slots=True)
class FolderFiles(PhotoFiles):
    """Keeps pictures in a folder, in 256 folders by the first two digits."""

    folder: Path

    @override
    def keep(self, data: bytes) -> str:
        """Keep a picture; on the disk, not only on its way, when this returns."""
        digest = digest_of(data)
        path = self.folder / _name_of(digest)
        if _holds(path, data):
            return digest
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            _write_whole(path, data)
        except OSError as fault:
            if fault.errno in _FULL:
                raise PhotoStoreFullError from fault
            raise PhotoStoreAwayError(str(fault)) from fault
        return digest

    @override
    def read(self, digest: str) -> bytes:
        """Return the picture under a digest."""
        try:
            return _checked(digest, (self.folder / _name_of(digest)).read_bytes())
        except FileNotFoundError:
            raise PhotoFileMissingError(digest) from None
        except OSError as fault:
            raise PhotoStoreAwayError(str(fault)) from fault

    @override
    def remove(self, digest: str) -> None:
        """Remove the picture under a digest; gone from the disk when this returns."""
        path = self.folder / _name_of(digest)
        try:
            path.unlink()
            _sync_folder(path.parent)
        except FileNotFoundError:
            return
        except OSError as fault:
            raise PhotoStoreAwayError(str(fault)) from fault


@dataclass(frozen=True, slots=True)
class ObjectFiles(PhotoFiles):
    """Keeps pictures in a store of objects, under the same names as in a folder."""

    store: ObjectStore

    @override
    def keep(self, data: bytes) -> str:
        """Keep a picture; the store makes it appear whole, and one that is there is let be."""
        digest = digest_of(data)
        name = _name_of(digest)
        with _telling_faults():
            if self._size_of(name) != len(data):
                # Not on condition that there is none, which not every store understands: of two
                # that come at once, both bring the same.
                obstore.put(self.store, name, data, use_multipart=False)
        return digest

    @override
    def read(self, digest: str) -> bytes:
        """Return the picture under a digest."""
        try:
            with _telling_faults():
                found = obstore.get(self.store, _name_of(digest)).bytes().to_bytes()
        except FileNotFoundError:
            raise PhotoFileMissingError(digest) from None
        return _checked(digest, found)

    @override
    def remove(self, digest: str) -> None:
        """Remove the picture under a digest."""
        with contextlib.suppress(FileNotFoundError), _telling_faults():
            obstore.delete(self.store, _name_of(digest))

    def _size_of(self, name: str) -> int | None:
        try:
            return obstore.head(self.store, name)["size"]
        except (FileNotFoundError, PermissionDeniedError):
            # Who may not list is not told that nothing is there; putting shows who may not enter.
            return None


def _s3_store(address: str) -> S3Store:
    parts = urlsplit(address)
    asked = dict(parse_qsl(parts.query))
    if parts.scheme != "s3" or not parts.netloc or "@" in parts.netloc or set(asked) - _ASKABLE:
        raise PhotoStoreAddressError
    config: S3Config = {"region": asked.get("region", "us-east-1")}
    if "endpoint" in asked:
        config["endpoint"] = asked["endpoint"]
    return S3Store(
        parts.netloc,
        prefix=parts.path.strip("/") or None,
        config=config,
        client_options={"timeout": _WAIT, "allow_http": True},
        retry_config={"max_retries": _MOST_RETRIES, "retry_timeout": _WAIT},
    )


def _name_of(digest: str) -> str:
    if not _DIGEST.fullmatch(digest):
        raise PhotoFileMissingError(digest)
    return f"{digest[:2]}/{digest}"


def _checked(digest: str, found: bytes) -> bytes:
    if digest_of(found) != digest:
        raise PhotoFileSpoiltError(digest)
    return found


@contextlib.contextmanager
def _telling_faults() -> Iterator[None]:
    try:
        yield
    except FileNotFoundError:
        raise
    except (BaseError, OSError) as fault:
        raise PhotoStoreAwayError(str(fault)) from fault


def _holds(path: Path, data: bytes) -> bool:
    try:
        return path.stat().st_size == len(data) and path.read_bytes() == data
    except OSError:
        return False


def _write_whole(path: Path, data: bytes) -> None:
    """Write beside the place and move there, so that half a picture is never found."""
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".coming-")
    try:
        with open(handle, "wb") as file:  # noqa: PTH123 - a handle, not a path
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(beside).replace(path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise
    # The names too: of the file in its folder, and of that in the one above.
    for folder in (path.parent, path.parent.parent):
        _sync_folder(folder)


def _sync_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
