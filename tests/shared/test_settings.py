import re
from pathlib import Path

import pytest
from pydantic import SecretStr, ValidationError

from shared import addresses, settings
from shared.addresses import Role
from shared.settings import ExaminationReading, Settings, SettingsError

SECRET = "s" * 32


@pytest.fixture(autouse=True)
def _no_settings_around(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in Settings.model_fields:
        monkeypatch.delenv(settings.PREFIX + name.upper(), raising=False)


def test_load_from_an_empty_environment_gives_the_defaults(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    loaded = settings.load()
    assert loaded.home == tmp_path / ".hardstand"
    assert (loaded.lanes, loaded.lane_buckets, loaded.drain_batch) == (4, 1024, 1000)
    assert loaded.alert_days == (90, 30, 7)
    assert loaded.examination_reading is ExaminationReading.STRICT
    assert (loaded.database_url, loaded.redis_url, loaded.mail_url) == (None, None, None)


def test_load_reads_the_environment_by_prefix(monkeypatch: pytest.MonkeyPatch) -> None:
    given = {
        "HARDSTAND_HOME": "~/depot",
        "HARDSTAND_WEB_PORT": "9000",
        "HARDSTAND_ALERT_DAYS": "7, 60,7",
        "HARDSTAND_EXAMINATION_READING": "lenient",
        "HARDSTAND_MAIL_URL": "smtp://localhost:2525",
        "HARDSTAND_WEB_DATABASE_URL": "postgres://w@h/d",
    }
    for name, value in given.items():
        monkeypatch.setenv(name, value)
    loaded = settings.load()
    assert loaded.home == Path.home() / "depot"
    assert loaded.web_port == 9000
    assert loaded.alert_days == (60, 7)
    assert loaded.examination_reading is ExaminationReading.LENIENT
    assert loaded.mail_url == "smtp://localhost:2525"
    assert loaded.web_database_url == "postgresql+psycopg://w@h/d"


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"OPENID_ISSUER": "https://who.example"}, "HARDSTAND_OPENID_CLIENT_ID"),
        ({"OPENID_CLIENT_ID": "hardstand"}, "HARDSTAND_OPENID_CLIENT_ID"),
        (
            {"OPENID_ISSUER": "http://who.example", "OPENID_CLIENT_ID": "hardstand"},
            "HARDSTAND_OPENID_ISSUER",
        ),
        (
            {"OPENID_ISSUER": "http://localhost.example", "OPENID_CLIENT_ID": "hardstand"},
            "HARDSTAND_OPENID_ISSUER",
        ),
    ],
)
def test_load_with_half_a_provider_or_one_that_can_be_listened_to_is_refused(
    monkeypatch: pytest.MonkeyPatch, given: dict[str, str], says: str
) -> None:
    for name, value in given.items():
        monkeypatch.setenv(settings.PREFIX + name, value)
    with pytest.raises(SettingsError) as caught:
        settings.load()
    assert re.findall(r"HARDSTAND_\w+", str(caught.value)) == [says]


def test_secret_of_the_provider_is_shown_nowhere() -> None:
    made = Settings(
        openid_issuer="https://who.example",
        openid_client_id="hardstand",
        openid_client_secret=SecretStr("a-secret-of-two"),
    )
    assert "a-secret-of-two" not in f"{made!r} {made} {made.model_dump()} {made.model_dump_json()}"


def test_load_with_a_misspelt_name_names_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HARDSTAND_DATABSE_URL", "x")
    with pytest.raises(SettingsError, match="HARDSTAND_DATABSE_URL"):
        settings.load()


def test_load_with_the_tests_own_names_around_is_content(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HARDSTAND_TEST_REDIS_URL", "x")
    assert settings.load().redis_url is None


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("LANES", "0"),
        ("ALERT_DAYS", "30,soon"),
        ("ALERT_DAYS", "-1"),
        ("MAIL_URL", "localhost:25"),
        ("EXAMINATION_READING", "lax"),
        ("CURRENCY", "euro"),
        ("TAX_RATE_PERCENT", "20%"),
        ("TAX_RATE_PERCENT", "101"),
        ("TAX_RATE_PERCENT", "-0.5"),
        ("TAX_RATE_PERCENT", "19.00001"),
        ("TAX_RATE_PERCENT", "NaN"),
        ("SECRET_KEY", "hush-hush"),
        ("WEB_DATABASE_URL", "mysql://u:hush-hush@h/d"),
    ],
)
def test_load_with_a_value_that_cannot_be_names_the_setting_and_shows_no_value(
    monkeypatch: pytest.MonkeyPatch, name: str, value: str
) -> None:
    monkeypatch.setenv(f"HARDSTAND_{name}", value)
    with pytest.raises(SettingsError) as caught:
        settings.load()
    assert name in str(caught.value)
    assert "hush-hush" not in str(caught.value)


def test_settings_cannot_be_changed_in_place_and_take_no_unknown_name() -> None:
    made = Settings()
    with pytest.raises(ValidationError, match="frozen"):
        made.lanes = 5
    with pytest.raises(ValidationError, match="lains"):
        Settings.model_validate({"lains": 5})


def test_changed_checks_like_any_other() -> None:
    assert Settings().changed(lanes=7).lanes == 7
    with pytest.raises(ValidationError):
        Settings().changed(lanes=-7)


def test_databases_are_derived_with_a_password_per_role() -> None:
    url = "postgresql://admin:root@h:1/depot"
    made = Settings(database_url=url, secret_key=SecretStr(SECRET))
    for role in Role:
        password = addresses.derive_password(SECRET, url, role)
        assert made.databases().of(role) == f"postgresql+psycopg://{role}:{password}@h:1/depot"


def test_databases_given_one_by_one_are_taken_as_they_are() -> None:
    made = Settings(
        database_url="postgresql://admin@h/depot",
        secret_key=SecretStr(SECRET),
        reader_database_url="postgresql://me@replica/depot",
    )
    assert made.databases().reader == "postgresql+psycopg://me@replica/depot"
    assert "@h/depot" in made.databases().web


def test_role_with_an_address_needs_nobody_elses() -> None:
    made = Settings(web_database_url="postgresql://hardstand_web:hush@h/depot")
    assert made.database_of(Role.WEB) == "postgresql+psycopg://hardstand_web:hush@h/depot"
    with pytest.raises(SettingsError, match=Role.OWNER):
        made.database_of(Role.OWNER)


@pytest.mark.parametrize("missing", ["database_url", "secret_key"])
def test_databases_without_what_they_derive_from_say_what_is_missing(missing: str) -> None:
    given = {"database_url": "postgresql://admin@h/depot", "secret_key": SECRET}
    del given[missing]
    with pytest.raises(SettingsError, match=f"HARDSTAND_{missing.upper()}"):
        Settings.model_validate(given).databases()


def test_repr_shows_no_password() -> None:
    made = Settings(
        database_url="postgresql://admin:hush@h/depot",
        mail_url="smtp://me:hush@h",
        secret_key=SecretStr("hush" * 8),
    )
    assert "hush" not in repr(made)


def test_every_setting_is_described() -> None:
    assert [name for name, field in Settings.model_fields.items() if not field.description] == []
