"""What is open at a moment: the first moment of a date counts."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from fallwork.pages.schedule import EXAMPLE, PRELAB, SOLUTION, State, coming, is_open, state
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
