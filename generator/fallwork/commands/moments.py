"""Reads a moment that somebody typed.

Takes ISO 8601 text and the course's time zone; gives an aware datetime.
"""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from fallwork.errors import FallworkError
from fallwork.scenario.dates import iso_moment


class TimeFormatError(FallworkError):
    """A text that is no date or time."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.text = text

    def __str__(self) -> str:
        return (
            f'"{self.text}" is no time of a course; write for example 2027-02-15 or '
            "2027-02-15T08:00 (in the course's time zone, unless it says another)"
        )


def read_moment(text: str | None, time_zone: str) -> datetime:
    """The moment that ``text`` names; a date is its first moment; None is now."""
    if text is None:
        return datetime.now(UTC)
    try:
        return iso_moment(text, ZoneInfo(time_zone))
    except ValueError:
        raise TimeFormatError(text) from None
