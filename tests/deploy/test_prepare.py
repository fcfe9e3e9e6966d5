"""The step that comes before the processes."""

from __future__ import annotations

import socket
import time
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import pytest
from sqlalchemy import create_engine, text

from deploy import prepare, services
from deploy.environment import environment_of
from tracker.store import schema

if TYPE_CHECKING:
    from shared.settings import Settings


pytestmark = pytest.mark.usefixtures("logs_as_before")


def use(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> None:
    for name, value in environment_of(settings).items():
        if name.startswith("HARDSTAND_"):
            monkeypatch.setenv(name, value)


def test_database_is_brought_up_to_date_and_again_without_harm(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    schema.downgrade(settings.databases().owner, "base")
    use(monkeypatch, settings)
    assert [prepare.main([]), prepare.main([])] == [0, 0]
    schema.check(settings.databases().owner)


def test_broker_that_is_away_is_told_and_ends_it(
    settings: Settings, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    use(monkeypatch, settings.changed(redis_url="redis://127.0.0.1:1/0"))
    assert prepare.main([]) == 1
    assert "database.not_prepared" in capfd.readouterr().err


def test_broker_that_is_only_starting_is_waited_for(
    settings: Settings, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(prepare, "_PAUSE_S", 0.1)
    with socket.socket() as late:
        late.bind(("127.0.0.1", 0))
        use(monkeypatch, settings.changed(redis_url=f"redis://127.0.0.1:{late.getsockname()[1]}/0"))
        with ThreadPoolExecutor(1) as other:
            preparing = other.submit(prepare.main, ["--wait"])
            time.sleep(1)
            assert not preparing.done()
            use(monkeypatch, settings)
            assert preparing.result(60) == 0
    said = capfd.readouterr().err
    assert "service.awaited" in said
    assert "database.prepared" in said


def test_schema_of_a_newer_program_is_told_without_a_traceback(
    settings: Settings, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    use(monkeypatch, settings)
    engine = create_engine(settings.databases().owner)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    assert prepare.main(["--wait"]) == 1
    said = capfd.readouterr().err
    assert "a schema no newer than this program" in said
    assert "Traceback" not in said


def test_server_that_is_too_old_is_not_waited_for(
    settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(services, "_LEAST_REDIS", (99, 0))
    use(monkeypatch, settings)
    assert prepare.main(["--wait"]) == 1


def test_records_of_a_former_fold_are_told_of_at_start(
    settings: Settings, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    use(monkeypatch, settings)
    assert prepare.main([]) == 0
    assert "records.of_another_fold" not in capfd.readouterr().err
    engine = create_engine(settings.databases().owner)
    with engine.begin() as connection:
        connection.execute(text("UPDATE folded SET version = 1"))
    engine.dispose()
    assert prepare.main([]) == 0
    assert "records.of_another_fold" in capfd.readouterr().err
