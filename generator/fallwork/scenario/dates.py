"""Reads the dates of a term in the course's time zone.

Takes ``2027-02-01`` (the first moment of that day) or ``2027-02-12T17:00``; gives aware
datetimes. A time that the change of clocks skips or repeats is refused: it names no moment.
"""

import re
from calendar import monthrange
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from fallwork.scenario.report import Refusal, shown

PATTERN = r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?:T[0-9]{2}:[0-9]{2})?"
YEARS = range(1900, 2200)  # of a moment: its day in another time zone is in the calendar too
DATE_EXAMPLE = "2027-02-01 or 2027-02-12T17:00"


def read_date(text: str, zone: ZoneInfo) -> datetime:
    """The moment that a text names; raises Refusal."""
    if not re.fullmatch(PATTERN, text):
        hint = re.sub(r"(?<=[0-9]) +(?=[0-9]{2}:)", "T", text)
        wanted = hint if re.fullmatch(PATTERN, hint) else f"e.g. {DATE_EXAMPLE}"
        raise Refusal("no-date", text=shown(text), wanted=wanted)
    day, _, clock = text.partition("T")
    try:
        on = date.fromisoformat(day)
    except ValueError:
        year, month, _ = (int(part) for part in day.split("-"))
        expected = "write year-month-day"
        if 1 <= month <= 12 and year:
            expected = f"that month has {monthrange(year, month)[1]} days"
        raise Refusal("not-in-the-calendar", day=shown(day), expected=expected) from None
    if not 2000 <= on.year < 2100:
        raise Refusal("far-year", year=day[:4])
    if not clock:
        return first_moment(on, zone)
    try:
        wall = datetime.combine(on, time.fromisoformat(clock))
    except ValueError:
        raise Refusal("no-time-of-day", clock=shown(clock)) from None
    moment = wall.replace(tzinfo=zone)
    names = {"time": f"{wall:%H:%M}", "day": day, "zone": zone.key}
    if (later := _end_of_gap(moment)) != moment:
        raise Refusal("time-skipped", later=f"{later:%Y-%m-%dT%H:%M}", **names)
    if moment.utcoffset() != moment.replace(fold=1).utcoffset():
        raise Refusal("time-twice", **names)
    return moment


def iso_moment(text: str, zone: ZoneInfo | None = None) -> datetime:
    """The moment that a text in ISO 8601 names, in ``zone`` unless it says another. Raises
    ValueError for anything else, for a time without a zone and for years outside YEARS.
    """
    moment = datetime.fromisoformat(text.strip())
    if moment.year not in YEARS:
        raise ValueError(f"a year from {YEARS[0]} to {YEARS[-1]}")
    if moment.tzinfo is None and zone is None:
        raise ValueError("a time zone")
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)


def first_moment(day: date, zone: ZoneInfo) -> datetime:
    """The first moment of a day, which is not midnight where the clocks skip it."""
    moment = _end_of_gap(datetime.combine(day, time(), tzinfo=zone))
    if moment.date() != day:
        raise Refusal("day-skipped", day=day.isoformat(), zone=zone.key)
    return moment


def _end_of_gap(moment: datetime) -> datetime:
    """The first minute from there on that exists: datetimes of one zone compare by their clocks."""
    while moment.astimezone(UTC).astimezone(moment.tzinfo) != moment:
        moment += timedelta(minutes=1)
    return moment
