"""The pages of a lab, what of a course is open at a given moment, and moments in words.

Takes labs with their dates and a moment; gives states, and the course as students may have it.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from enum import Enum
from operator import attrgetter
from zoneinfo import ZoneInfo

from fallwork.errors import table
from fallwork.planning.published import MEASURED, RESULTS
from fallwork.scenario import Correction, CourseData, Lab, Measured, Recording, Term


def day_in_words(moment: datetime, zone: ZoneInfo) -> str:
    """A day, e.g. ``Monday 14 December 2026``."""
    local, words = moment.astimezone(zone), table("pages", "words")
    day, month = words["days"][local.weekday()], words["months"][local.month - 1]
    return f"{day} {local.day} {month} {local.year}"


def in_words(moment: datetime, zone: ZoneInfo) -> str:
    """A day and a time, e.g. ``Monday 14 December 2026, 00:00``."""
    return f"{day_in_words(moment, zone)}, {moment.astimezone(zone):%H:%M}"


# ---- the pages of a lab


@dataclass(frozen=True)
class SubPage:
    """A page of a lab. All but the overview and those for staff open at dates of their own."""

    name: str  # in its address
    title: str  # in links and headings
    template: str
    opens: Callable[[Lab], datetime | None] = lambda lab: None  # None: the lab has no such page
    paper: bool = False  # whether it is handed out on paper


_AT_ONCE, _AT_LAST = attrgetter("opens_first"), attrgetter("solution_opens")
OVERVIEW = SubPage("index", "Overview", "overview")
PRELAB = SubPage("prelab", "Prelab", "lesson", _AT_ONCE, paper=True)
EXAMPLE = SubPage("example", "Worked example", "lesson", _AT_ONCE)
BENCH = SubPage("bench", "Bench sheet", "bench", _AT_ONCE, paper=True)
REPORT = SubPage("report", "Report", "lesson", _AT_ONCE)
DATA = SubPage("data", "Trials", "lesson", lambda lab: lab.trials_open if lab.measured else None)
SOLUTION = SubPage("solution", "Solution", "lesson", _AT_LAST, paper=True)
IN_SYMBOLS = (PRELAB, BENCH, REPORT, DATA)  # pages that show no result of the model
SUB_PAGES = (PRELAB, EXAMPLE, BENCH, REPORT, DATA, SOLUTION)  # in the order in which they are read
MARKING = SubPage("marking", "Marking sheet", "marking", paper=True)
STAFF_PAGES = (SubPage("steps", "Steps", "steps"), MARKING, SubPage("notes", "Notes", "notes"))


def is_open(sub: SubPage, lab: Lab, now: datetime) -> bool:
    """Whether the student edition of this moment holds the page; the first moment counts.

    A page that was taken down is there too, if it had been open: its address stays.
    """
    opens = sub.opens(lab)
    if lab.withdrawn is not None:
        now = min(now, lab.withdrawn.at)
    return opens is not None and now >= opens


# ---- labs and terms


class State(Enum):
    """Where a lab stands in its term; what is on comes first."""

    RUNNING = "running"  # open, the report not yet due
    CLOSED = "closed"  # the last report was due, the solution is held back
    COMING = "coming"  # nothing but the overview is open
    SOLVED = "solved"  # the solution is open
    WITHDRAWN = "withdrawn"  # taken down


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


# ---- what students' pages may be made of: the rest isn't handed to them


def opened(data: CourseData, now: datetime) -> CourseData:
    """The data without the numbers, trials, reasons and corrections that aren't open at ``now``
    (aware). What is computed from open numbers is held back page by page.
    """

    def of_lab(lab: Lab) -> Lab:
        open_yet = is_open(PRELAB, lab, now)
        # Trials to come are announced by their date, whether they are there already or not.
        to_come = lab.data_opens_last is not None and now < lab.trials_open
        return replace(
            lab,
            # Until it opens, a lab is its scenario file, under the title that the term gives it.
            variant=lab.variant if open_yet else replace(lab.scenario, title=lab.title),
            variants=lab.variants if open_yet else {},
            example=lab.example if open_yet else None,
            measured=lab.measured if is_open(DATA, lab, now) else Measured() if to_come else None,
            extended_to=None,
            recordings=recordings_open(lab, now),
            corrections=tuple(each for each in lab.corrections if is_told(each, lab, now)),
            withdrawn=lab.withdrawn if is_withdrawn(lab, now) else None,
        )

    terms = (replace(term, labs=tuple(map(of_lab, term.labs))) for term in data.terms)
    return replace(data, terms=tuple(terms))


def recordings_open(lab: Lab, now: datetime) -> tuple[Recording, ...]:
    """Those that students have: none before the lab opens."""
    return tuple(each for each in lab.recordings if max(each.at, lab.opens_first) <= now)


def is_told(correction: Correction, lab: Lab, now: datetime) -> bool:
    """Whether students may see what the correction was about."""
    opens = {RESULTS: lab.solution_opens, MEASURED: lab.trials_open}
    return opens.get(correction.field.partition(".")[0], lab.opens_first) <= now
