"""Dates in the course's time zone, the change of clocks included.

The rules of the zones are those of the IANA time zone database, read by ``zoneinfo``; the dates
of the changes below are facts of the database (from memory).
"""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallwork.scenario.dates import first_moment, read_date
from fallwork.scenario.report import UnreadableError

ZURICH = ZoneInfo("Europe/Zurich")


def test_a_date_alone_is_the_first_moment_of_the_day() -> None:
    assert read_date("2027-02-01", ZURICH).isoformat() == "2027-02-01T00:00:00+01:00"


def test_a_time_of_day_counts_in_the_zone_of_the_course() -> None:
    assert read_date("2027-07-12T17:00", ZURICH).isoformat() == "2027-07-12T17:00:00+02:00"


def test_a_moment_knows_its_zone() -> None:
    assert read_date("2027-07-12T17:00", ZURICH).tzinfo is ZURICH


def test_a_day_whose_midnight_is_skipped_begins_later() -> None:
    # Chile went from 00:00 to 01:00 on 2024-09-08.
    begins = read_date("2024-09-08", ZoneInfo("America/Santiago"))
    assert begins.isoformat() == "2024-09-08T01:00:00-03:00"


def test_a_day_whose_midnight_comes_twice_begins_at_the_first() -> None:
    # Cuba went from 01:00 back to 00:00 on 2024-11-03.
    begins = read_date("2024-11-03", ZoneInfo("America/Havana"))
    assert begins.isoformat() == "2024-11-03T00:00:00-04:00"


def test_a_day_that_a_zone_left_out_is_refused() -> None:
    # Samoa had no 2011-12-30: it crossed the date line.
    with pytest.raises(UnreadableError, match="2011-12-30 was skipped in Pacific/Apia"):
        read_date("2011-12-30", ZoneInfo("Pacific/Apia"))


def test_a_skipped_time_is_refused_with_the_next_that_exists() -> None:
    with pytest.raises(UnreadableError) as caught:
        read_date("2027-03-28T02:30", ZURICH)
    assert caught.value.expected == "choose another time, e.g. 2027-03-28T03:00"


def test_a_repeated_time_is_refused() -> None:
    with pytest.raises(UnreadableError, match="02:30 comes twice on 2027-10-31"):
        read_date("2027-10-31T02:30", ZURICH)


def test_times_around_the_change_are_accepted() -> None:
    last, first = (read_date(f"2027-10-31T0{hour}", ZURICH) for hour in ("1:59", "3:00"))
    assert first.astimezone(UTC) - last.astimezone(UTC) == timedelta(hours=2, minutes=1)


ZONES = ["Europe/Zurich", "America/Santiago", "Africa/Cairo", "Asia/Beirut", "Australia/Lord_Howe"]


@given(st.sampled_from(ZONES), st.dates(min_value=date(2000, 1, 1), max_value=date(2037, 12, 31)))
def test_no_moment_of_a_day_comes_before_its_first(zone: str, day: date) -> None:
    # Oracle: the local date a second before, found from UTC, is another one.
    begins = first_moment(day, ZoneInfo(zone)).astimezone(UTC)
    before = (begins - timedelta(seconds=1)).astimezone(ZoneInfo(zone))
    assert begins.astimezone(ZoneInfo(zone)).date() == day
    assert before.date() < day


@given(st.sampled_from(ZONES), st.datetimes(datetime(2000, 1, 1), datetime(2037, 12, 31)))
def test_a_time_is_accepted_if_it_names_exactly_one_moment(zone: str, wall: datetime) -> None:
    # Oracle: count the moments of UTC that show this wall time, in steps of 15 minutes.
    wall = wall.replace(minute=wall.minute // 15 * 15, second=0, microsecond=0)
    around = datetime(wall.year, wall.month, wall.day, wall.hour, wall.minute, tzinfo=UTC)
    moments = [around + timedelta(minutes=15 * step) for step in range(-60, 61)]
    shows = [m for m in moments if m.astimezone(ZoneInfo(zone)).replace(tzinfo=None) == wall]
    try:
        read = [read_date(f"{wall:%Y-%m-%dT%H:%M}", ZoneInfo(zone)).astimezone(UTC)]
    except UnreadableError:
        read = []
    assert read == (shows if len(shows) == 1 else [])
