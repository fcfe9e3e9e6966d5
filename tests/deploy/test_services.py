import os
import signal
from pathlib import Path

import psycopg
import pytest
import redis
from pydantic import SecretStr

from deploy import services as deployed
from deploy.errors import DeployError, ServiceError
from deploy.services import Addresses
from shared import addresses
from shared.settings import Settings
from tests.support.services import SECRET, TestServices, make_settings


def who_am_i(url: str) -> tuple[str, str]:
    with psycopg.connect(addresses.libpq_address(url)) as connection:
        return connection.execute("select current_user, current_database()").fetchone()


def test_provide_without_addresses_embeds_both_and_prepares(own_services: Addresses) -> None:
    assert who_am_i(own_services.databases.worker) == ("hardstand_worker", "hardstand")
    with redis.Redis.from_url(own_services.redis_url) as client:
        assert client.ping()
    assert own_services.settings.databases() == own_services.databases
    assert own_services.settings.redis_url == own_services.redis_url


def test_provide_with_complete_settings_uses_them_and_starts_nothing(
    own_services: Addresses, tmp_path: Path
) -> None:
    settings = own_services.settings.changed(home=tmp_path / "other")
    with deployed.provide(settings) as found:
        assert found.databases == own_services.databases
        assert who_am_i(found.databases.web)[0] == "hardstand_web"
    assert not (tmp_path / "other").exists()


def test_provide_with_an_address_per_role_needs_no_administrator(
    services: TestServices, redis_url: str, own_services: Addresses, tmp_path: Path
) -> None:
    settings = make_settings(own_services.databases, redis_url=redis_url, home=tmp_path / "other")
    with deployed.provide(settings) as found:
        assert found.database_url is None
        assert who_am_i(found.databases.reader)[0] == "hardstand_reader"


def test_provide_with_an_address_for_some_roles_only_starts_no_other_truth(
    own_services: Addresses, tmp_path: Path
) -> None:
    web_only = Settings(
        home=tmp_path / "other",
        redis_url=own_services.redis_url,
        web_database_url=own_services.databases.web,
    )
    with pytest.raises(DeployError, match="hardstand_owner, hardstand_worker, hardstand_reader"):
        deployed.provide(web_only).__enter__()
    assert not (tmp_path / "other").exists()


def test_provide_with_a_redis_address_embeds_postgres_only(redis_url: str, tmp_path: Path) -> None:
    settings = Settings(home=tmp_path / "home", redis_url=redis_url)
    with deployed.provide(settings, durable=False) as found:
        assert found.redis_url == redis_url
        assert who_am_i(found.databases.owner)[0] == "hardstand_owner"
        assert not (tmp_path / "home/logs/redis.log").exists()


def test_provide_with_nobody_at_the_redis_address_says_so(tmp_path: Path) -> None:
    settings = Settings(
        home=tmp_path,
        redis_url="redis://:hush@127.0.0.1:1/0",
        database_url="postgresql://nobody@127.0.0.1:1/x",
    )
    with pytest.raises(ServiceError) as caught, deployed.provide(settings):
        pass
    assert "redis://:***@127.0.0.1:1/0" in str(caught.value)
    assert "HARDSTAND_REDIS_URL" in caught.value.remedy


def test_provide_keeps_a_secret_that_only_the_owner_may_read(own_services: Addresses) -> None:
    kept = own_services.settings.home / "secret"
    assert kept.stat().st_mode & 0o777 == 0o600
    assert kept.read_text().strip() == own_services.settings.secret_key.get_secret_value()


def test_provide_with_a_damaged_secret_refuses(tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("short")
    with (
        pytest.raises(DeployError, match="holds no secret"),
        deployed.provide(Settings(home=tmp_path)),
    ):
        pass


def test_provide_ends_on_sigterm_and_puts_the_old_handling_back(
    services: TestServices, redis_url: str, tmp_path: Path
) -> None:
    settings = Settings(
        home=tmp_path,
        database_url=services.database_url,
        redis_url=redis_url,
        secret_key=SecretStr(SECRET),
    )
    with pytest.raises(SystemExit) as caught, deployed.provide(settings):
        os.kill(os.getpid(), signal.SIGTERM)
    assert caught.value.code == 128 + signal.SIGTERM
    assert signal.getsignal(signal.SIGTERM) is signal.SIG_DFL


def test_addresses_are_not_shown_with_their_passwords(own_services: Addresses) -> None:
    password = addresses.read_login(own_services.databases.web).password
    assert len(password) == 64
    assert password not in repr(own_services)
