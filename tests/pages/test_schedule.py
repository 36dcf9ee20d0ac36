"""What is open at a moment: the first moment of a date counts. Moments in words: in the course's
time zone and in English.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from fallwork.pages.schedule import (
    EXAMPLE,
    PRELAB,
    SOLUTION,
    coming,
    day_in_words,
    in_words,
    is_open,
    state,
)
from fallwork.scenario import Term
from pages.history import LEVEL

LAB = replace(
    LEVEL,
    id="one",
    opens=datetime(2027, 2, 1, tzinfo=UTC),
    due=datetime(2027, 2, 12, 17, tzinfo=UTC),
    solution_opens=datetime(2027, 2, 15, tzinfo=UTC),
)
A_SECOND = timedelta(seconds=1)
FIRSTS = """
Thursday 1 January 2026, Sunday 1 February 2026, Sunday 1 March 2026, Wednesday 1 April 2026,
Friday 1 May 2026, Monday 1 June 2026, Wednesday 1 July 2026, Saturday 1 August 2026,
Tuesday 1 September 2026, Thursday 1 October 2026, Sunday 1 November 2026, Tuesday 1 December 2026
"""


@pytest.mark.parametrize(
    ("moment", "expected", "there"),
    [
        (LAB.opens - A_SECOND, "coming", ()),
        (LAB.opens, "running", (PRELAB, EXAMPLE)),
        (LAB.due - A_SECOND, "running", (PRELAB, EXAMPLE)),
        (LAB.due, "closed", (PRELAB, EXAMPLE)),
        (LAB.solution_opens - A_SECOND, "closed", (PRELAB, EXAMPLE)),
        (LAB.solution_opens, "solved", (PRELAB, EXAMPLE, SOLUTION)),
    ],
)
def test_a_lab_goes_through_its_states(
    moment: datetime, expected: str, there: tuple[object, ...]
) -> None:
    assert state(LAB, moment).value == expected
    subs = (PRELAB, EXAMPLE, SOLUTION)
    assert tuple(sub for sub in subs if is_open(sub, LAB, moment)) == there


def test_coming_events_are_told_soonest_first_across_labs_and_terms() -> None:
    later = replace(LAB, id="two", opens=datetime(2027, 2, 13, tzinfo=UTC))
    terms = (Term(id="b", title="B", labs=(later,)), Term(id="a", title="A", labs=(LAB,)))
    events = coming(terms, datetime(2027, 2, 12, 17, tzinfo=UTC))
    told = [f"{event.lab.id} {event.what}" for event in events]
    assert told == ["two opens", "two solution", "one solution"]


@pytest.mark.parametrize(
    ("month", "day", "hour", "zone", "words"),
    [
        (12, 13, 23, "Europe/Berlin", "Monday 14 December 2026, 00:30"),
        (12, 13, 23, "America/Los_Angeles", "Sunday 13 December 2026, 15:30"),
        (7, 1, 10, "Europe/Berlin", "Wednesday 1 July 2026, 12:30"),  # summer time
    ],
)
def test_a_moment_is_told_in_the_zone_of_the_course(
    month: int, day: int, hour: int, zone: str, words: str
) -> None:
    assert in_words(datetime(2026, month, day, hour, 30, tzinfo=UTC), ZoneInfo(zone)) == words


def test_every_day_and_month_has_its_english_name() -> None:
    firsts = (datetime(2026, month, 1, tzinfo=UTC) for month in range(1, 13))
    said = ", ".join(day_in_words(first, ZoneInfo("UTC")) for first in firsts)
    assert said == " ".join(FIRSTS.split())
