"""What tests of commands share: a shell on the test's own database, and quiet logs."""

from __future__ import annotations

import logging
from collections.abc import Iterator

import pytest
import structlog

from shared.clock import StandingClock
from shared.settings import Settings
from tests.support.command_line import CommandLine, GivenMeans


@pytest.fixture
def shell(settings: Settings, clock: StandingClock) -> CommandLine:
    """Run commands on a database of the test's own, on which nobody else works."""
    return CommandLine(GivenMeans(settings, clock))


@pytest.fixture(autouse=True)
def _quiet_logs() -> Iterator[None]:
    # As `hardstand` itself does: standard output belongs to the command.
    quiet = structlog.make_filtering_bound_logger(logging.CRITICAL)
    structlog.configure(wrapper_class=quiet)
    yield
    structlog.reset_defaults()
