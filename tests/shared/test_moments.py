"""Moments in sentences: quoted in UTC by the record, told in a depot's own time at the edge."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from shared.moments import in_zone, moment_in, moment_said

LISBON = ZoneInfo("Europe/Lisbon")


def test_what_the_record_quotes_is_told_in_the_zone_summer_and_winter() -> None:
    winter, summer = (moment_said(f"2026-{month}-02T08:00:00+00:00") for month in ("03", "07"))
    said = f"Sold already, at {winter}; reserved until {summer}."
    assert in_zone(said, LISBON) == (
        "Sold already, at 2 Mar 2026, 08:00; reserved until 2 Jul 2026, 09:00."
    )


def test_day_changes_with_the_zone() -> None:
    late = moment_said("2026-03-02T23:30:00+00:00")
    assert in_zone(late, ZoneInfo("Asia/Tokyo")) == "3 Mar 2026, 08:30"


@pytest.mark.parametrize(
    "words",
    [
        "2026-03-02",
        "2026-13-40 08:00 UTC",
        "08:00 UTC",
        "at 2026-03-02 08:00",
        "on 1 Jan UTC",
    ],
)
def test_other_words_stay_as_they_are(words: str) -> None:
    assert in_zone(words, LISBON) == words


def test_moment_before_the_first_year_of_a_zone_stays_as_it_is() -> None:
    assert in_zone("0001-01-01 00:00 UTC", ZoneInfo("America/New_York")) == "0001-01-01 00:00 UTC"


def test_moment_is_written_as_the_pages_write_it() -> None:
    assert moment_in(datetime(2026, 3, 2, 8, tzinfo=UTC), LISBON) == "2 Mar 2026, 08:00"
    said = moment_in(datetime(2026, 3, 2, 8, tzinfo=UTC), LISBON, named=True)
    assert said == "2 Mar 2026, 08:00 (Europe/Lisbon)"
    assert in_zone("Since 2026-03-02 08:00 UTC.", UTC, named=True) == (
        "Since 2 Mar 2026, 08:00 (UTC)."
    )
