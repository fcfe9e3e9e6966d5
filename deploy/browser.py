"""Find a Chromium to try the pages in, or install the one of the system's packages.

Run as `python -m deploy.browser`: prints its path. Only tests and screenshots need it.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Final

from deploy.errors import DeployError

_NAMES: Final = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
_PACKAGE: Final = "chromium"
_INSTALL_WITHIN_S: Final = 600

FLAGS: Final = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
"""What a headless Chromium is started with: it asks nobody but the pages it is shown."""


class BrowserMissingError(DeployError):
    """There is no Chromium, and none could be installed."""

    def __init__(self, why: str) -> None:
        super().__init__(
            f"There is no Chromium on this machine: {why}",
            expected=f"one of {', '.join(_NAMES)} on the path",
            remedy=f"Install the system's package, such as `sudo apt-get install {_PACKAGE}`",
        )


def find_browser() -> Path | None:
    """Return the first Chromium on the path; None when there is none."""
    found = next(filter(None, map(shutil.which, _NAMES)), None)
    return Path(found) if found else None


def provide_browser() -> Path:
    """Return a Chromium; installs the system's package where there is none and that is allowed.

    Raises:
        BrowserMissingError: none was found, and none could be installed.
    """
    return find_browser() or _install()


def _install() -> Path:
    tool = shutil.which("apt-get")
    if tool is None:
        raise BrowserMissingError("this system has no apt-get to install one with")
    if os.geteuid() != 0:
        raise BrowserMissingError("only root may install one")
    for arguments in (("update",), ("install", "--yes", "--no-install-recommends", _PACKAGE)):
        _run(tool, "--quiet", *arguments)
    found = find_browser()
    if found is None:
        raise BrowserMissingError(f"the package {_PACKAGE} brought none")
    return found


def _run(*command: str) -> None:
    try:
        # To standard error: standard output holds the path alone.
        subprocess.run(command, check=True, stdout=sys.stderr, timeout=_INSTALL_WITHIN_S)  # noqa: S603 - our own words
    except (subprocess.CalledProcessError, subprocess.TimeoutExpired) as fault:
        raise BrowserMissingError(str(fault)) from fault


def main() -> None:
    """Print the path of a Chromium, installing it where needed."""
    try:
        sys.stdout.write(f"{provide_browser()}\n")
    except BrowserMissingError as fault:
        raise SystemExit(str(fault)) from None


if __name__ == "__main__":
    main()
