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
    State,
    coming,
    day_in_words,
    in_words,
    is_open,
    state,
)
from fallwork.scenario import Lab, Quantity, Run, Scenario, Term

SCENARIO = Scenario(
    id="bare",
    title="Bare",
    objects={},
    surfaces={},
    strings={},
    run=Run(object="cart", distance=Quantity(kind="length", value=1.0, number="1", unit="m")),
    systems=(),
)
LAB = Lab(
    id="one",
    scenario=SCENARIO,
    variant=SCENARIO,
    example=SCENARIO,
    opens=datetime(2027, 2, 1, tzinfo=UTC),
    due=datetime(2027, 2, 12, 17, tzinfo=UTC),
    solution_opens=datetime(2027, 2, 15, tzinfo=UTC),
)
A_SECOND = timedelta(seconds=1)


@pytest.mark.parametrize(
    ("moment", "expected"),
    [
        (LAB.opens - A_SECOND, State.COMING),
        (LAB.opens, State.RUNNING),
        (LAB.due - A_SECOND, State.RUNNING),
        (LAB.due, State.CLOSED),
        (LAB.solution_opens - A_SECOND, State.CLOSED),
        (LAB.solution_opens, State.SOLVED),
    ],
)
def test_a_lab_goes_through_its_states(moment: datetime, expected: State) -> None:
    assert state(LAB, moment) is expected


def test_the_solution_opens_after_prelab_and_example() -> None:
    for moment, expected in (
        (LAB.opens - A_SECOND, [False, False, False]),
        (LAB.opens, [True, True, False]),
        (LAB.solution_opens - A_SECOND, [True, True, False]),
        (LAB.solution_opens, [True, True, True]),
    ):
        assert [is_open(sub, LAB, moment) for sub in (PRELAB, EXAMPLE, SOLUTION)] == expected


def test_coming_events_are_told_soonest_first_across_labs_and_terms() -> None:
    later = replace(LAB, id="two", opens=datetime(2027, 2, 13, tzinfo=UTC))
    terms = (Term(id="b", title="B", labs=(later,)), Term(id="a", title="A", labs=(LAB,)))
    events = coming(terms, datetime(2027, 2, 12, 17, tzinfo=UTC))
    assert [(event.lab.id, event.what) for event in events] == [
        ("two", "opens"),
        ("two", "solution"),
        ("one", "solution"),
    ]


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
    firsts = [datetime(2026, month, 1, tzinfo=UTC) for month in range(1, 13)]
    assert [day_in_words(first, ZoneInfo("UTC")) for first in firsts] == [
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
