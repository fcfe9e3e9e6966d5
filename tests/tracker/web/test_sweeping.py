"""The web process looks for waiting events now and then, unless told to leave it to the workers."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable

from structlog.testing import capture_logs

from tests.support.depot import BOX, Depot, lane_of, report, wait_until
from tests.support.stories import tell
from tracker.web.app import create_app
from tracker.web.sweeping import Sweeper


class NotingAnnouncer:
    """Notes which lanes it is asked to announce."""

    def __init__(self) -> None:
        self.told: list[int] = []

    def announce(self, lanes: Iterable[int]) -> None:
        """Note them."""
        self.told += lanes

    def begin(self, lane: int) -> None:
        """Fail: nothing is drained here."""
        raise AssertionError(lane)


def quick_yard(yard: Depot, every_s: float) -> tuple[Depot, NotingAnnouncer]:
    """Return a yard that sweeps so often, with an event whose announcement was lost."""
    yard.send(report("gate-in"))
    announcer = NotingAnnouncer()
    return yard.with_settings(web_sweep_every_s=every_s).with_announcer(announcer), announcer


def test_lost_announcement_is_made_up_for_while_the_application_runs(yard: Depot) -> None:
    sweeping, announcer = quick_yard(yard, 0.02)
    app = create_app(sweeping.web)

    async def story() -> None:
        async with app.router.lifespan_context(app):
            await asyncio.to_thread(wait_until, lambda: announcer.told)

    tell(story())
    assert set(announcer.told) == {lane_of(BOX)}


def test_sweep_that_fails_is_followed_by_others(yard: Depot) -> None:
    sweeping, announcer = quick_yard(yard, 0.02)

    async def story() -> None:
        yard.change("REVOKE SELECT ON intake FROM hardstand_web")
        with capture_logs() as said:
            async with Sweeper(sweeping.web):
                await asyncio.to_thread(wait_until, lambda: len(said) > 1)
                assert announcer.told == []
                yard.change("GRANT SELECT ON intake TO hardstand_web")
                await asyncio.to_thread(wait_until, lambda: announcer.told)
        assert said[0]["event"] == "web.not_swept"

    tell(story())


def test_nothing_is_swept_where_it_is_left_to_the_workers(yard: Depot) -> None:
    sweeping, announcer = quick_yard(yard, 0)

    async def story() -> int:
        before = len(asyncio.all_tasks())
        async with Sweeper(sweeping.web):
            return len(asyncio.all_tasks()) - before

    assert tell(story()) == 0
    assert announcer.told == []
