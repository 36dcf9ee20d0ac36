"""What of a lab is open at a given moment, and what opens next.

Takes labs with their dates and a moment; gives states and coming events. Knows no wording
except what the pages are called and for.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import Enum

from fallwork.scenario import Lab, Section, Term


@dataclass(frozen=True, kw_only=True)
class SubPage:
    """A page of a lab that opens at a date of its own."""

    name: str  # in its address
    title: str  # in links and headings
    about: str  # what it is for
    opens: Callable[[Lab], datetime | None]  # None: the lab has no such page


PRELAB = SubPage(
    name="prelab",
    title="Prelab",
    about="the physics of the lab in symbols, to read before you come in",
    opens=lambda lab: lab.opens_first,
)
EXAMPLE = SubPage(
    name="example",
    title="Worked example",
    about="the same steps with other numbers, worked in full",
    opens=lambda lab: lab.opens_first,
)
REPORT = SubPage(
    name="report",
    title="Report",
    about="what to do at the bench, how to compare, what to hand in",
    opens=lambda lab: lab.opens_first,
)
DATA = SubPage(
    name="data",
    title="Trials",
    about="the measured values, and how each was got from its record",
    opens=lambda lab: lab.trials_open if lab.measured is not None else None,
)
SOLUTION = SubPage(
    name="solution",
    title="Solution",
    about="all steps with the numbers of this lab",
    opens=lambda lab: lab.solution_opens,
)
SUB_PAGES = (PRELAB, EXAMPLE, REPORT, DATA, SOLUTION)  # in the order in which they are read


class State(Enum):
    """Where a lab stands in its term."""

    COMING = "coming"  # nothing but the overview is open
    RUNNING = "running"  # open, the report not yet due
    CLOSED = "closed"  # the last report was due, the solution is held back
    SOLVED = "solved"  # the solution is open
    WITHDRAWN = "withdrawn"  # taken down


@dataclass(frozen=True, kw_only=True)
class Event:
    """Something that is still to come."""

    at: datetime
    what: str  # "opens", "data", "due" or "solution"
    term: Term
    lab: Lab
    section: Section | None = None  # that it is for; None: for everybody else, or all


def is_open(sub: SubPage, lab: Lab, now: datetime) -> bool:
    """Whether the student edition of this moment holds the page; the first moment counts.

    A page that was taken down is there too, if it had been open: its address stays.
    """
    opens = sub.opens(lab)
    if lab.withdrawn is not None:
        now = min(now, lab.withdrawn.at)
    return opens is not None and now >= opens


def is_withdrawn(lab: Lab, now: datetime) -> bool:
    """Whether the lab has been taken down."""
    return lab.withdrawn is not None and now >= lab.withdrawn.at


def state(lab: Lab, now: datetime) -> State:
    """Where the lab stands at this moment."""
    if is_withdrawn(lab, now):
        return State.WITHDRAWN
    if now >= lab.solution_opens:
        return State.SOLVED
    if now < lab.opens_first:
        return State.COMING
    return State.RUNNING if now < lab.due_last else State.CLOSED


def starts(term: Term) -> datetime:
    """When the first lab of a term opens; a term without labs never did."""
    return min((lab.opens_first for lab in term.labs), default=datetime.min.replace(tzinfo=UTC))


def ends(term: Term) -> datetime:
    """When the last solution of a term opens."""
    return max((lab.solution_opens for lab in term.labs), default=starts(term))


def is_earlier(term: Term, terms: Iterable[Term], now: datetime) -> bool:
    """Whether a term is over and another that started later has begun."""
    return now >= ends(term) and any(starts(term) < starts(other) <= now for other in terms)


def coming(terms: Iterable[Term], now: datetime) -> tuple[Event, ...]:
    """Every later opening and due date, soonest first; at one moment in the order of files."""
    events = (event for term in terms for event in events_of(term, now) if event.at > now)
    return tuple(sorted(events, key=lambda event: event.at))


def events_of(term: Term, now: datetime) -> Iterator[Event]:
    """Every date of a term's labs, lab by lab; a lab that has been taken down has no more of them
    than it had had.
    """
    for lab in term.labs:
        for at, what, section in _dates(lab):
            if lab.withdrawn is None or now < lab.withdrawn.at or at < lab.withdrawn.at:
                yield Event(at=at, what=what, term=term, lab=lab, section=section)


def _dates(lab: Lab) -> Iterator[tuple[datetime, str, Section | None]]:
    yield lab.opens_first, "opens", None
    if lab.data_opens_last is not None:
        yield lab.data_opens_last, "data", None
    yield lab.due, "due", None
    for section in lab.sections.values():
        if section.due != lab.due:
            yield section.due, "due", section
    yield lab.solution_opens, "solution", None
