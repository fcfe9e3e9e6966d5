from decimal import Decimal
from pathlib import Path

import pytest
from pydantic import SecretStr

from deploy.environment import environment_of
from shared import settings
from shared.settings import ExaminationReading, Settings


def test_environment_gives_another_process_the_same_settings_and_nothing_stale(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    made = Settings(
        home=tmp_path / "with a blank",
        database_url="postgresql://admin:p%40ss@/depot?host=/run",
        secret_key=SecretStr("s" * 32),
        examination_reading=ExaminationReading.LENIENT,
        alert_days=(60, 10),
        sweep_every_s=0.5,
        tax_rate_percent=Decimal("8.875"),
    )
    monkeypatch.setenv("HARDSTAND_MAIL_URL", "smtp://stale")
    monkeypatch.setenv("ELSEWHERE", "kept")
    handed_on = environment_of(made)
    monkeypatch.delenv("HARDSTAND_MAIL_URL")
    for name, value in handed_on.items():
        monkeypatch.setenv(name, value)
    assert settings.load() == made
    assert handed_on["ELSEWHERE"] == "kept"
