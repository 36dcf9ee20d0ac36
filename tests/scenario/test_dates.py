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
from fallwork.scenario.report import Refusal

DATES = {
    # A date alone is the first moment of the day, in the zone of the course.
    "2027-02-01 Europe/Zurich": "2027-02-01T00:00:00+01:00",
    "2027-07-12T17:00 Europe/Zurich": "2027-07-12T17:00:00+02:00",
    # Chile went from 00:00 to 01:00 on 2024-09-08: the day begins later.
    "2024-09-08 America/Santiago": "2024-09-08T01:00:00-03:00",
    # Cuba went from 01:00 back to 00:00 on 2024-11-03: the day begins at the first midnight.
    "2024-11-03 America/Havana": "2024-11-03T00:00:00-04:00",
    # Around a change of clocks.
    "2027-10-31T01:59 Europe/Zurich": "2027-10-31T01:59:00+02:00",
    "2027-10-31T03:00 Europe/Zurich": "2027-10-31T03:00:00+01:00",
    "2027-03-28T02:30 Europe/Zurich": "choose another time, e.g. 2027-03-28T03:00",
    "2027-10-31T02:30 Europe/Zurich": "02:30 comes twice on 2027-10-31",
    # Samoa had no 2011-12-30: it crossed the date line.
    "2011-12-30 Pacific/Apia": "2011-12-30 was skipped in Pacific/Apia",
}


@pytest.mark.parametrize("given", DATES)
def test_a_date_counts_in_the_zone_of_the_course_or_is_refused(given: str) -> None:
    text, zone = given.split()
    try:
        moment = read_date(text, ZoneInfo(zone))
        told = f"{moment.isoformat()} {moment.tzinfo}"
    except Refusal as error:
        told = str(error)
    assert {DATES[given] in told, zone in told} == {True}


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
    except Refusal:
        read = []
    assert read == (shows if len(shows) == 1 else [])
