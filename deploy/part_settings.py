"""What each process of the stack is told: all settings, but of the secrets only its own.

Whoever takes over the web process must not find the way to rewrite the history in its environment.
"""

from __future__ import annotations

from typing import Final

from deploy.process import Part
from shared.addresses import Role
from shared.settings import Settings

_WORKERS: Final = frozenset({Part.DRAIN, Part.SLOW})
_NOBODY: Final = frozenset[Part]()

SECRETS: Final = {
    "database_url": _NOBODY,
    "owner_database_url": _NOBODY,
    "reader_database_url": _NOBODY,
    "web_database_url": frozenset({Part.WEB}),
    "worker_database_url": _WORKERS,
    "secret_key": _WORKERS | {Part.WEB},
    "openid_client_secret": frozenset({Part.WEB}),
    "mail_url": frozenset({Part.SLOW}),
}
"""Which parts are told each setting that holds a secret; all are told of every other setting.

The broker's address is every part's, and gives no way into the database.
"""


def settings_for(part: Part, settings: Settings) -> Settings:
    """Return the settings with nothing secret in them but what the part needs.

    Args:
        part: Who is told.
        settings: Complete: with an address for each role, or what it is derived from.

    Raises:
        SettingsError: The address of the part's role is neither given nor to be derived.
    """
    spelled_out = {
        "web_database_url": settings.database_of(Role.WEB),
        "worker_database_url": settings.database_of(Role.WORKER),
    }
    withheld = {name: None for name, told in SECRETS.items() if part not in told}
    return settings.changed(**(spelled_out | withheld))
