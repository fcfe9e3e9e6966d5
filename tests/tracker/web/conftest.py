"""The web application of a test."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.support.depot import Depot, open_up
from tests.support.web import Site, open_site

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shared.clock import StandingClock
    from shared.settings import Settings


@pytest.fixture
def yard(settings: Settings, clock: StandingClock) -> Iterator[Depot]:
    """A depot without a web application."""
    with open_up(settings, clock) as depot:
        yield depot


@pytest.fixture
def site(yard: Depot) -> Iterator[Site]:
    """A running web application with two depots, NORTH and SOUTH, and nobody who may sign in."""
    with open_site(yard) as site:
        yield site
