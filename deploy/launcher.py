"""Become a server that dies with its starter; run as a script, it replaces itself by the server.

PostgreSQL refuses to run as root, so under root the script takes on an ordinary account first.
A script, not a `preexec_fn`: nothing of the starter's threads and locks is carried along.

Where the server's files are closed to that account (a clone under /root, say), the script keeps
the one capability that gets past, rather than open folders that are not ours. That capability
lets a database superuser at other files too; so it is kept only where needed.
"""

from __future__ import annotations

import argparse
import ctypes
import os
import pwd
import sys
from enum import Enum

_PR_SET_PDEATHSIG = 1
_PR_SET_SECUREBITS = 28
_SECBIT_NO_SETUID_FIXUP = 4
_PR_CAP_AMBIENT = 47
_PR_CAP_AMBIENT_RAISE = 2
_CAP_DAC_OVERRIDE = 1
_CAP_DAC_READ_SEARCH = 2
_CAPABILITY_VERSION_3 = 0x20080522


class Past(Enum):
    """What a server must get past to reach its files."""

    NOTHING = "nothing"
    FOLDERS = "folders"
    """Folders that its account may not enter."""
    FILES = "files"
    """Programs, too, that its account may not run: what was installed with a strict umask."""


# Containers commonly withhold the narrower one; the wider does as well.
_ENOUGH = {
    Past.FOLDERS: (_CAP_DAC_READ_SEARCH, _CAP_DAC_OVERRIDE),
    Past.FILES: (_CAP_DAC_OVERRIDE,),
}


class _CapabilityHeader(ctypes.Structure):
    _fields_ = (("version", ctypes.c_uint32), ("pid", ctypes.c_int))


class _CapabilitySet(ctypes.Structure):
    _fields_ = (
        ("effective", ctypes.c_uint32),
        ("permitted", ctypes.c_uint32),
        ("inheritable", ctypes.c_uint32),
    )


def main() -> None:
    """Take on the account, arrange to die with the starter, become the command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--starter", type=int, required=True)
    parser.add_argument("--stop-signal", type=int, required=True)
    parser.add_argument("--account", default="")
    parser.add_argument("--past", choices=[past.value for past in Past], default=Past.NOTHING.value)
    parser.add_argument("command", nargs="+")
    arguments = parser.parse_args()
    os.umask(0o077)
    if arguments.account:
        _become(arguments.account, Past(arguments.past))
    # After the change of account, which clears the arrangement.
    _die_with_starter(arguments.starter, arguments.stop_signal)
    os.execv(arguments.command[0], arguments.command)  # noqa: S606 - no shell wanted


def _become(name: str, past: Past) -> None:
    account = pwd.getpwnam(name)
    if past is not Past.NOTHING:
        # Capabilities then outlive the change of account, and count in access() as well, by
        # which PostgreSQL looks for its own programs.
        _prctl(_PR_SET_SECUREBITS, _SECBIT_NO_SETUID_FIXUP)
    os.setgroups([])
    os.setgid(account.pw_gid)
    os.setuid(account.pw_uid)
    if past is not Past.NOTHING:
        _keep_one_of(_ENOUGH[past])


def _keep_one_of(capabilities: tuple[int, ...]) -> None:
    for capability in capabilities:
        if _hold_only(capability):
            _prctl(_PR_CAP_AMBIENT, _PR_CAP_AMBIENT_RAISE, capability)
            return
    sys.exit("the account is kept from the server's files, and no capability gets past")


def _hold_only(capability: int) -> bool:
    header = _CapabilityHeader(_CAPABILITY_VERSION_3, 0)
    bit = 1 << capability
    sets = (_CapabilitySet * 2)(_CapabilitySet(bit, bit, bit), _CapabilitySet(0, 0, 0))
    failed: int = _libc().capset(ctypes.byref(header), ctypes.byref(sets))
    return failed == 0


def _die_with_starter(starter: int, stop_signal: int) -> None:
    if sys.platform != "linux":
        return  # no such arrangement elsewhere; the next start stops what was left
    _prctl(_PR_SET_PDEATHSIG, stop_signal)
    # The starter may have died before the arrangement stood.
    if os.getppid() != starter:
        sys.exit("the starter is gone")


def _prctl(*values: int) -> None:
    padded = [ctypes.c_ulong(value) for value in (*values, 0, 0, 0, 0)[:5]]
    if _libc().prctl(*padded) != 0:
        error = ctypes.get_errno()
        sys.exit(f"prctl{values}: {os.strerror(error)}")


def _libc() -> ctypes.CDLL:
    return ctypes.CDLL(None, use_errno=True)


if __name__ == "__main__":
    main()
