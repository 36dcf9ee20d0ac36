"""What of a lab is open at a given moment, and what opens next.

Takes labs with their dates and a moment; gives states and coming events. Knows no wording
except what the pages are called and for.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import Enum

from fallwork.scenario.model import Lab, Term


@dataclass(frozen=True, kw_only=True)
class SubPage:
    """A page of a lab that opens at a date of its own."""

    name: str  # in its address
    title: str  # in links and headings
    about: str  # what it is for
    opens: Callable[[Lab], datetime]


PRELAB = SubPage(
    name="prelab",
    title="Prelab",
    about="the physics of the lab in symbols, to read before you come in",
    opens=lambda lab: lab.opens,
)
EXAMPLE = SubPage(
    name="example",
    title="Worked example",
    about="the same steps with other numbers, worked in full",
    opens=lambda lab: lab.opens,
)
SOLUTION = SubPage(
    name="solution",
    title="Solution",
    about="all steps with the numbers of this lab",
    opens=lambda lab: lab.solution_opens,
)
SUB_PAGES = (PRELAB, EXAMPLE, SOLUTION)  # in the order in which they are read


class State(Enum):
    """Where a lab stands in its term."""

    COMING = "coming"  # nothing but the overview is open
    RUNNING = "running"  # open, the report not yet due
    CLOSED = "closed"  # the report was due, the solution is held back
    SOLVED = "solved"  # the solution is open


@dataclass(frozen=True, kw_only=True)
class Event:
    """Something that is still to come."""

    at: datetime
    what: str  # "opens", "due" or "solution"
    term: Term
    lab: Lab


def is_open(sub: SubPage, lab: Lab, now: datetime) -> bool:
    """Whether the student edition of this moment holds the page; the first moment counts."""
    return now >= sub.opens(lab)


def state(lab: Lab, now: datetime) -> State:
    """Where the lab stands at this moment."""
    if now >= lab.solution_opens:
        return State.SOLVED
    if now < lab.opens:
        return State.COMING
    return State.RUNNING if now < lab.due else State.CLOSED


def coming(terms: Iterable[Term], now: datetime) -> tuple[Event, ...]:
    """Every later opening and due date, soonest first; at one moment in the order of files."""
    events = (
        Event(at=at, what=what, term=term, lab=lab)
        for term in terms
        for lab in term.labs
        for what, at in (("opens", lab.opens), ("due", lab.due), ("solution", lab.solution_opens))
        if at > now
    )
    return tuple(sorted(events, key=lambda event: event.at))
