from datetime import UTC, datetime, timedelta, timezone

import pytest

from shared.clock import ClockError, StandingClock, SystemClock

EIGHT = datetime(2026, 3, 2, 8, tzinfo=UTC)


def test_system_clock_tells_utc_and_never_goes_back() -> None:
    clock = SystemClock()
    first, second = clock.now(), clock.now()
    assert first.tzinfo is UTC
    assert first <= second
    assert first.year >= 2025


def test_standing_clock_stands_until_moved(clock: StandingClock) -> None:
    assert clock.now() == clock.now() == EIGHT
    assert clock.move(timedelta(hours=2)) == clock.now() == EIGHT + timedelta(hours=2)
    clock.set(EIGHT)
    assert clock.now() == EIGHT


def test_standing_clock_given_another_zone_tells_utc() -> None:
    clock = StandingClock(datetime(2026, 3, 2, 9, tzinfo=timezone(timedelta(hours=1))))
    assert clock.now() == EIGHT
    assert clock.now().tzinfo is UTC


def test_standing_clock_given_no_zone_refuses(clock: StandingClock) -> None:
    naive = EIGHT.replace(tzinfo=None)
    with pytest.raises(ClockError) as caught:
        clock.set(naive)
    assert caught.value.moment == naive
    assert clock.now() == EIGHT
    with pytest.raises(ClockError):
        StandingClock(naive)
