"""Moments in words, in the course's time zone and always in English.

Takes aware datetimes; gives text. The names are written out here because those of the standard
library change with the machine's locale.
"""

from datetime import datetime
from zoneinfo import ZoneInfo

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)


def day_in_words(moment: datetime, zone: ZoneInfo) -> str:
    """A day, e.g. ``Monday 14 December 2026``."""
    local = moment.astimezone(zone)
    return f"{_DAYS[local.weekday()]} {local.day} {_MONTHS[local.month - 1]} {local.year}"


def in_words(moment: datetime, zone: ZoneInfo) -> str:
    """A day and a time, e.g. ``Monday 14 December 2026, 00:00``."""
    return f"{day_in_words(moment, zone)}, {moment.astimezone(zone):%H:%M}"
