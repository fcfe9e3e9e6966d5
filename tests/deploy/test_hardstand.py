"""The command as a shell starts it, in a process and a data folder of its own."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.support.command_line import SOUND_MASSES, as_lines, make_report

ROOT = Path(__file__).parents[2]


def hardstand(
    home: Path, *words: str, given: bytes = b"", **settings: str
) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "deploy.hardstand", *words],
        input=given,
        capture_output=True,
        cwd=ROOT,
        env={"HARDSTAND_HOME": str(home), "PATH": "/usr/bin:/bin", "PYTHONPATH": "."} | settings,
        timeout=100,
        check=False,
    )


def test_check_needs_no_services_and_starts_none(tmp_path: Path) -> None:
    done = hardstand(tmp_path / "home", "check", "CSQU3054383", "CSQU3054384", "--json")
    assert done.returncode == 1
    assert done.stderr == b""
    assert [one["ok"] for one in json.loads(done.stdout)] == [True, False]
    assert not (tmp_path / "home").exists()


def test_command_starts_services_for_itself_and_the_next_finds_the_data(tmp_path: Path) -> None:
    home = tmp_path / "home"
    events = as_lines(make_report("gate-in", masses=SOUND_MASSES), make_report("gate-out"))
    sent = hardstand(home, "send", "-", "--wait", "--json", given=events)
    assert (sent.returncode, sent.stderr) == (0, b"")
    assert [one["verdict"] for one in json.loads(sent.stdout)] == ["recorded", "recorded"]
    again = hardstand(home, "send", "-", "--wait", "--json", given=events)
    assert again.stdout == sent.stdout
    proven = hardstand(home, "verify", "--json")
    assert proven.returncode == 0
    assert json.loads(proven.stdout)["rows"] == 2


@pytest.mark.parametrize(
    ("settings", "status", "says"),
    [
        ({"HARDSTAND_HOUSE": "x"}, 2, b"HARDSTAND_HOUSE, which is no setting"),
        ({"HARDSTAND_DATABASE_URL": "postgresql://a@127.0.0.1:1/b"}, 3, b"hardstand: "),
    ],
)
def test_service_or_setting_that_is_missing_is_told_without_a_traceback(
    tmp_path: Path, settings: dict[str, str], status: int, says: bytes
) -> None:
    done = hardstand(tmp_path / "home", "stock", "--json", **settings)
    assert done.returncode == status
    assert done.stdout == b""
    assert says in done.stderr
    assert b"Traceback" not in done.stderr


def test_what_only_developers_install_is_named_where_it_is_missing() -> None:
    program = "import sys; sys.modules['stdnum'] = None; from deploy.hardstand import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", program, "bench"],
        capture_output=True,
        cwd=ROOT,
        timeout=100,
        check=False,
    )
    assert done.returncode == 1
    assert b"requirements.lock" in done.stderr
    assert b"Traceback" not in done.stderr
