"""Fixtures for tests that need a service or a clock; see tests/README.md for which to ask for."""

from __future__ import annotations

import contextlib
import itertools
import logging
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import redis
import structlog

from deploy import services as deployed
from shared import addresses, logs
from shared.clock import StandingClock
from shared.settings import Settings
from tests.support import depot as depots
from tests.support import services as support
from tests.support.depot import Depot
from tests.support.services import TestServices

if TYPE_CHECKING:
    from collections.abc import Iterator

    from deploy.services import Addresses
    from shared.addresses import DatabaseAddresses

MONDAY_MORNING = datetime(2026, 3, 2, 8, tzinfo=UTC)

_HELD = pytest.StashKey[contextlib.ExitStack]()
_FOUND = pytest.StashKey[TestServices]()
_numbers = itertools.count(1)


@pytest.hookimpl(optionalhook=True)
def pytest_configure_node(node) -> None:  # noqa: ANN001 - xdist's, which publishes no types
    """Start the services in the process that all workers come from, and outlive none of them."""
    node.workerinput["services"] = _services_of_run(node.config).to_dict()


def pytest_unconfigure(config: pytest.Config) -> None:
    """Stop what was started for this run."""
    if _HELD in config.stash:
        config.stash[_HELD].close()


@pytest.fixture(scope="session")
def services(request: pytest.FixtureRequest) -> TestServices:
    """One PostgreSQL and one Redis for the whole run, shared by all its workers."""
    sent = getattr(request.config, "workerinput", {}).get("services")
    return TestServices(**sent) if sent else _services_of_run(request.config)


@pytest.fixture(scope="session")
def template_db(services: TestServices) -> TestServices:
    """The services, with a migrated template database in them."""
    support.make_template(services)
    return services


@pytest.fixture
def db(template_db: TestServices, worker_number: int) -> Iterator[DatabaseAddresses]:
    """A migrated database of the test's own: one address per role."""
    name = f"test_{template_db.run}_{worker_number}_{next(_numbers)}"
    with support.copy_template(template_db, name) as databases:
        yield databases


@pytest.fixture
def redis_url(services: TestServices, worker_number: int) -> Iterator[str]:
    """A logical Redis database of the worker's own, empty; FLUSHDB it, never FLUSHALL."""
    url = addresses.with_redis_database(services.redis_url, worker_number % 16)
    with redis.Redis.from_url(url) as client:
        client.flushdb()
        yield url
        client.flushdb()


@pytest.fixture
def settings(db: DatabaseAddresses, redis_url: str, tmp_path: Path) -> Settings:
    """Settings that name the test's own database, Redis and data folder."""
    return support.make_settings(db, redis_url=redis_url, home=tmp_path / "home")


@pytest.fixture
def depot(settings: Settings, clock: StandingClock) -> Iterator[Depot]:
    """The web's and the worker's means over the test's own database; nothing is announced."""
    with depots.open_up(settings, clock) as opened:
        yield opened


@pytest.fixture
def own_services(tmp_path: Path) -> Iterator[Addresses]:
    """Embedded servers of the test's own, to be killed and flushed at will; a second each."""
    with deployed.provide(Settings(home=tmp_path / "home"), durable=False) as found:
        yield found


@pytest.fixture
def clock() -> StandingClock:
    """A clock that stands at 08:00 UTC on Monday, 2 March 2026, until it is moved."""
    return StandingClock(MONDAY_MORNING)


@pytest.fixture
def logs_as_before() -> Iterator[None]:
    """For tests that set up logging as a process does: what comes after them logs as before."""
    root = logging.getLogger()
    handlers, level = root.handlers, root.level
    yield
    logs.clear()
    logging.captureWarnings(False)
    structlog.reset_defaults()
    root.handlers, root.level = handlers, level


@pytest.fixture(scope="session")
def worker_number(request: pytest.FixtureRequest) -> int:
    """The number of this worker in a run with several, else 0."""
    name = getattr(request.config, "workerinput", {}).get("workerid", "gw0")
    return int(name.removeprefix("gw"))


def _services_of_run(config: pytest.Config) -> TestServices:
    if _FOUND not in config.stash:
        held = config.stash.setdefault(_HELD, contextlib.ExitStack())
        folder = held.enter_context(tempfile.TemporaryDirectory(prefix="hardstand-tests-"))
        config.stash[_FOUND] = held.enter_context(support.provide(Path(folder)))
    return config.stash[_FOUND]
