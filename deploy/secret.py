"""The installation's secret: given in the settings, else made once and kept in the data folder."""

from __future__ import annotations

import os
import secrets
from typing import TYPE_CHECKING

from pydantic import SecretStr

from deploy.errors import DeployError

if TYPE_CHECKING:
    from pathlib import Path

    from shared.settings import Settings

_BYTES = 32
_LEAST_CHARACTERS = 32


def with_secret(settings: Settings) -> Settings:
    """Return the settings with a secret in them; makes and keeps one if none is given.

    May be called by several processes at once: all get the same.

    Raises:
        DeployError: The kept secret is too short to be one.
    """
    if settings.secret_key is not None:
        return settings
    settings.home.mkdir(parents=True, exist_ok=True, mode=0o700)
    return settings.changed(secret_key=SecretStr(_keep(settings.home / "secret")))


def _keep(path: Path) -> str:
    if not path.exists():
        _make(path)
    kept = path.read_text().strip()
    if len(kept) < _LEAST_CHARACTERS:
        raise DeployError(
            f"{path} holds no secret",
            expected=f"{_LEAST_CHARACTERS} characters or more",
            remedy="Remove the file to have a new one made; everybody then signs in again",
        )
    return kept


def _make(path: Path) -> None:
    # Written whole beside it, then linked into place: nobody reads half of it, the first one wins.
    making = path.with_name(f"{path.name}.{os.getpid()}")
    making.touch(mode=0o600)
    making.write_text(secrets.token_hex(_BYTES) + "\n")
    try:
        os.link(making, path)
    except FileExistsError:
        pass
    finally:
        making.unlink()
