"""Dates are told in words, in the course's time zone and in English."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from fallwork.pages.dates import day_in_words, in_words

BERLIN = ZoneInfo("Europe/Berlin")


def test_a_moment_has_weekday_date_and_time() -> None:
    moment = datetime(2026, 12, 14, tzinfo=BERLIN)
    assert in_words(moment, BERLIN) == "Monday 14 December 2026, 00:00"


def test_a_moment_of_another_zone_is_told_in_the_course_s() -> None:
    moment = datetime(2026, 12, 13, 23, 30, tzinfo=UTC)
    assert in_words(moment, BERLIN) == "Monday 14 December 2026, 00:30"
    assert in_words(moment, ZoneInfo("America/Los_Angeles")) == "Sunday 13 December 2026, 15:30"


def test_summer_time_counts() -> None:
    moment = datetime(2027, 7, 1, 10, 0, tzinfo=UTC)
    assert in_words(moment, BERLIN) == "Thursday 1 July 2027, 12:00"


def test_every_day_and_month_has_its_english_name() -> None:
    names = [
        day_in_words(datetime(2026, month, 1, tzinfo=UTC), ZoneInfo("UTC"))
        for month in range(1, 13)
    ]
    assert names == [
        "Thursday 1 January 2026",
        "Sunday 1 February 2026",
        "Sunday 1 March 2026",
        "Wednesday 1 April 2026",
        "Friday 1 May 2026",
        "Monday 1 June 2026",
        "Wednesday 1 July 2026",
        "Saturday 1 August 2026",
        "Tuesday 1 September 2026",
        "Thursday 1 October 2026",
        "Sunday 1 November 2026",
        "Tuesday 1 December 2026",
    ]
