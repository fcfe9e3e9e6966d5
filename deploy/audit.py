"""Audit what the lock installs: `python -m deploy.audit`, from the project's folder.

Two parts. What the lock says of itself is always checked: every package pinned and with digests, no
pre-releases, and everything that pyproject.toml asks for. Known vulnerabilities are asked for at an
advisory source that speaks OSV; where none answers that is said, and is no pass.
"""

from __future__ import annotations

import argparse
import re
import tomllib
import urllib.error
import urllib.request
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import orjson
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import InvalidVersion, Version
from rich.console import Console

SOURCE: Final = "https://api.osv.dev/v1/querybatch"

_TIMEOUT_S: Final = 5
_DIGEST: Final = re.compile(r"--hash=sha256:[0-9a-f]{64}\b")


class NoAnswerError(Exception):
    """The advisory source does not answer, or not to what it was asked."""


@dataclass(frozen=True, slots=True)
class Pin:
    """One package of the lock."""

    name: str
    version: str
    digests: int


def read_pins(lock: str) -> tuple[list[Pin], list[str]]:
    """Return the packages of a lock, and its lines that name one without pinning it."""
    pins, loose = [], []
    for entry in re.split(r"^(?=[^\s#])", lock, flags=re.MULTILINE):
        line = entry.partition("\n")[0].rstrip("\\ ")
        if not line or line.startswith("#"):
            continue
        said = re.fullmatch(r"([A-Za-z0-9._-]+)(?:\[[^]]*\])?==([^\s;]+)(?:\s*;.*)?", line)
        if said is None:
            loose.append(line)
        else:
            digests = len(_DIGEST.findall(entry))
            pins.append(Pin(canonicalize_name(said[1]), said[2], digests))
    return pins, loose


def flaws(lock: str, project: Mapping[str, Any]) -> Iterator[str]:
    """Say what is wrong with a lock in itself and beside what a pyproject.toml asks for."""
    pins, loose = read_pins(lock)
    yield from (f"{line}: is not pinned by ==" for line in loose)
    versions: dict[str, list[Version]] = {}
    for pin in pins:
        if not pin.digests:
            yield f"{pin.name}: has no digest"
        try:
            version = Version(pin.version)
        except InvalidVersion:
            yield f"{pin.name}: {pin.version} is no version"
            continue
        if version.is_prerelease or version.local:
            yield f"{pin.name}: {version} is a pre-release or somebody's own"
        versions.setdefault(pin.name, []).append(version)
    for requirement in _asked_for(project):
        found = versions.get(canonicalize_name(requirement.name), [])
        if not any(version in requirement.specifier for version in found):
            locked = ", ".join(map(str, found)) or "nothing"
            yield f"{requirement}: is asked for, {locked} is locked; run `make lock`"


def _asked_for(project: Mapping[str, Any]) -> Iterator[Requirement]:
    said = project["project"]
    extras = said.get("optional-dependencies", {}).values()
    for line in (*said["dependencies"], *(one for extra in extras for one in extra)):
        yield Requirement(line)


def ask(source: str, pins: Sequence[Pin]) -> dict[str, list[str]]:
    """Return the ids of known vulnerabilities by `name==version`, only of those that have any.

    Raises:
        NoAnswerError: The source is away, slow, or answers something else.
    """
    queries = [
        {"package": {"ecosystem": "PyPI", "name": pin.name}, "version": pin.version} for pin in pins
    ]
    request = urllib.request.Request(  # noqa: S310 - an address of ours, no stranger's
        source, orjson.dumps({"queries": queries}), {"Content-Type": "application/json"}
    )
    try:
        with urllib.request.urlopen(request, timeout=_TIMEOUT_S) as answer:  # noqa: S310 - the same
            results = orjson.loads(answer.read())["results"]
        told = [[str(one["id"]) for one in result.get("vulns", ())] for result in results]
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as fault:
        raise NoAnswerError(f"{source}: {fault}") from fault
    if len(told) != len(pins):
        raise NoAnswerError(f"{source}: {len(told)} answers to {len(pins)} questions")
    return {f"{pin.name}=={pin.version}": ids for pin, ids in zip(pins, told, strict=True) if ids}


def audit(folder: Path, source: str, console: Console, *, must_answer: bool = False) -> int:
    """Audit the lock of a folder, say what was found, and return the exit status.

    Vulnerabilities that `[tool.hardstand-audit.accepted]` names, each with a reason, are told and
    let pass.
    """
    lock = (folder / "requirements.lock").read_text(encoding="utf-8")
    project = tomllib.loads((folder / "pyproject.toml").read_text(encoding="utf-8"))
    wrong = list(flaws(lock, project))
    _say(console, wrong)
    pins, _ = read_pins(lock)
    console.print(f"{len(pins)} packages locked, {len(wrong)} flaws of the lock")
    try:
        known = ask(source, pins)
    except NoAnswerError as fault:
        _say(console, [f"NOT AUDITED for vulnerabilities: no advisory source answers ({fault})"])
        return 1 if wrong or must_answer else 0
    accepted = project.get("tool", {}).get("hardstand-audit", {}).get("accepted", {})
    open_ones = {
        (package, one) for package, ids in known.items() for one in ids if one not in accepted
    }
    _say(console, (f"{package}: {one}" for package, one in sorted(open_ones)))
    passed = sorted({one for ids in known.values() for one in ids} & accepted.keys())
    _say(console, (f"accepted {one}: {accepted[one]}" for one in passed))
    console.print(f"{len(pins)} packages audited, {len(open_ones)} known vulnerabilities")
    return 1 if wrong or open_ones else 0


def _say(console: Console, lines: Iterable[str]) -> None:
    for line in lines:
        console.print(line, markup=False, highlight=False, soft_wrap=True)


def main() -> None:
    """Audit the project in the current folder."""
    parser = argparse.ArgumentParser(description="Audit what requirements.lock installs.")
    parser.add_argument("--source", default=SOURCE, help="An advisory source that speaks OSV.")
    parser.add_argument(
        "--must-answer", action="store_true", help="Fail where no advisory source answers."
    )
    said = parser.parse_args()
    raise SystemExit(audit(Path.cwd(), said.source, Console(), must_answer=said.must_answer))


if __name__ == "__main__":
    main()
