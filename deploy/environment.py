"""Settings as an environment: how a process that is started learns what its starter knows."""

from __future__ import annotations

import os

from pydantic import SecretStr

from shared.settings import PREFIX, Settings


def environment_of(settings: Settings) -> dict[str, str]:
    """Return this process's environment with every setting that is set spelled out."""
    # The one place besides the settings that touches the environment: to hand it on whole.
    handed_on = {
        name: value
        for name, value in os.environ.items()  # noqa: TID251
        if not name.startswith(PREFIX)
    }
    for name, value in settings:
        if value is not None:
            handed_on[PREFIX + name.upper()] = _text(value)
    return handed_on


def _text(value: object) -> str:
    if isinstance(value, SecretStr):
        return value.get_secret_value()
    if isinstance(value, tuple):
        return ",".join(map(str, value))
    return str(value)
