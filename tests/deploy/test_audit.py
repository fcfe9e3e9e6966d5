"""The audit of the lock: what it says of itself, and what an advisory source says of it."""

from __future__ import annotations

import contextlib
import http.server
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Any

import orjson
import pytest
from rich.console import Console

from deploy.audit import NoAnswerError, Pin, ask, audit, flaws, read_pins

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]
DIGEST = "    --hash=sha256:" + "0" * 64
LOCK = f"""# made by a tool
abc==1.2 \\
{DIGEST} \\
{DIGEST}
    # via hardstand
some-thing[extra]==3.0.1 ; sys_platform != 'win32' \\
{DIGEST}
"""
PROJECT: dict[str, Any] = {
    "project": {
        "dependencies": ["abc>=1"],
        "optional-dependencies": {"dev": ["Some_Thing[extra]>=3"]},
    }
}
NOBODY = "http://127.0.0.1:1/"


@contextlib.contextmanager
def source(answer: bytes, asked: list[Any] | None = None) -> Iterator[str]:
    """Provide an advisory source that answers so."""

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            if asked is not None:
                asked.append(orjson.loads(body))
            self.send_response(200)
            self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            self.wfile.write(answer)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()
        thread.join()


def run(folder: Path, address: str, **options: bool) -> tuple[int, str]:
    """Audit a folder; return the status and what was said."""
    console = Console(record=True, width=300)
    status = audit(folder, address, console, **options)
    return status, console.export_text()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A project of two packages that has accepted one vulnerability."""
    (tmp_path / "requirements.lock").write_text(LOCK)
    (tmp_path / "pyproject.toml").write_text(
        '[project]\ndependencies = ["abc>=1"]\n'
        '[tool.hardstand-audit.accepted]\nOSV-1 = "is never reached"\n'
    )
    return tmp_path


def test_lock_of_this_project_has_no_flaw() -> None:
    status, said = run(ROOT, NOBODY)
    assert status == 0, said
    assert "0 flaws of the lock" in said
    pins, loose = read_pins((ROOT / "requirements.lock").read_text())
    assert len(pins) > 100
    assert loose == []


def test_pins_are_read_with_extras_markers_and_digests() -> None:
    assert read_pins(LOCK) == ([Pin("abc", "1.2", 2), Pin("some-thing", "3.0.1", 1)], [])


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        ("abc==1.2", "abc>=1.2", "is not pinned"),
        ("abc==1.2", "abc @ https://example.org/abc.whl", "is not pinned"),
        ("3.0.1", "3.0.1rc1", "pre-release"),
        ("3.0.1", "3.0.1.dev4", "pre-release"),
        ("3.0.1", "3.0.1+ours", "pre-release"),
        ("3.0.1", "three", "is no version"),
        ("abc==1.2", "abc==0.9", "abc>=1: is asked for, 0.9 is locked"),
        ("abc==1.2", "abd==1.2", "abc>=1: is asked for, nothing is locked"),
        (f" \\\n{DIGEST}\n    # via", "\n    # via", ""),
        (f"'win32' \\\n{DIGEST}", "'win32'", "some-thing: has no digest"),
        ("0" * 64, "0" * 63, "has no digest"),
    ],
)
def test_flaw_of_a_lock_is_found(before: str, after: str, says: str) -> None:
    assert before in LOCK
    assert list(flaws(LOCK, PROJECT)) == []
    found = list(flaws(LOCK.replace(before, after), PROJECT))
    assert bool(found) == bool(says)
    assert any(says in one for one in found) or not says


def test_known_vulnerability_fails_the_audit_and_is_named(folder: Path) -> None:
    asked: list[Any] = []
    with source(b'{"results": [{"vulns": [{"id": "OSV-7"}, {"id": "OSV-1"}]}, {}]}', asked) as url:
        status, said = run(folder, url)
    assert status == 1
    assert "abc==1.2: OSV-7" in said
    assert "accepted OSV-1: is never reached" in said
    assert "1 known vulnerabilities" in said
    first, second = asked[0]["queries"]
    assert first == {"package": {"ecosystem": "PyPI", "name": "abc"}, "version": "1.2"}
    assert second["package"]["name"] == "some-thing"


def test_accepted_vulnerability_alone_passes_and_is_told(folder: Path) -> None:
    with source(b'{"results": [{}, {"vulns": [{"id": "OSV-1"}]}]}') as url:
        status, said = run(folder, url)
    assert status == 0
    assert "accepted OSV-1: is never reached" in said


def test_nothing_known_passes(folder: Path) -> None:
    with source(b'{"results": [{}, {}]}') as url:
        assert run(folder, url)[0] == 0


@pytest.mark.parametrize(
    "answer", [b"", b"<html>", b"[]", b'{"results": 7}', b'{"results": [{}]}', b'{"results": [1]}']
)
def test_answer_that_is_none_is_no_pass(answer: bytes) -> None:
    with source(answer) as url, pytest.raises(NoAnswerError):
        ask(url, read_pins(LOCK)[0])


def test_source_that_is_away_is_said_and_fails_only_where_it_must_answer(folder: Path) -> None:
    status, said = run(folder, NOBODY)
    assert (status, "NOT AUDITED" in said) == (0, True)
    assert "0 known vulnerabilities" not in said
    assert run(folder, NOBODY, must_answer=True)[0] == 1
    lock = folder / "requirements.lock"
    lock.write_text(lock.read_text().replace("abc==1.2", "abc==1.2b1"))
    assert run(folder, NOBODY)[0] == 1
