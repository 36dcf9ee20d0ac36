"""What templates ask about a page of a lab beyond what it is: corrections of what it shows,
recordings of its steps, and on pages for staff the steps to look up and send, results and slips to
mark by, and what is good of a lab's numbers and trials.

Takes a page; gives what its template writes; the sentences around are the template's. Staff's
numbers are the solution's, whether it is open or not. What is good and what isn't is told by the
planning and the measurement stages, their words by the lesson. Pages only link to recordings:
nothing is fetched or embedded.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from fallwork.lesson.answers import Following, Found, following, results, slips, tolerance
from fallwork.lesson.document import Lesson, Question, Step
from fallwork.lesson.expression import Symbol
from fallwork.lesson.measured import quality
from fallwork.pages.context import STAFF, Context, GivenLab, LabPage
from fallwork.pages.markdown import amount
from fallwork.pages.schedule import DATA, EXAMPLE, OVERVIEW, SOLUTION, STAFF_PAGES
from fallwork.pages.worked import evidence_of, findings_of, gravity_estimate
from fallwork.planning.published import EXAMPLE as OF_EXAMPLE
from fallwork.planning.published import MEASURED, RESULTS
from fallwork.planning.review import Finding
from fallwork.scenario import Correction, CourseData, as_written, fields_of
from fallwork.scenario.report import Report, unknown
from fallwork.scenario.term import time_in_words

__all__ = ["results", "slips", "tolerance"]  # for the templates
_SEVERAL = 2
_SAME = 1e-9  # relative; a value that differs by less is the same
_OF_SOLUTION = (OVERVIEW, SOLUTION, *STAFF_PAGES)
_SHOWN_ON = {  # the pages that show what a correction may be about, or introduce it
    OF_EXAMPLE: (OVERVIEW, EXAMPLE),
    RESULTS: _OF_SOLUTION,
    MEASURED: (DATA, *_OF_SOLUTION),
}
_TABLES = {RESULTS: "what is computed from the numbers", MEASURED: "the trials"}


# ---- corrections


def of_page(page: LabPage) -> list[Correction]:
    """The corrections of what the page, or one that it introduces, shows."""

    def about(field: str) -> str:
        return OF_EXAMPLE if field.startswith(OF_EXAMPLE) else field.partition(".")[0]

    said = page.given.lab.corrections
    return [each for each in said if page.sub in _SHOWN_ON.get(about(each.field), (page.sub,))]


def now(correction: Correction, given: GivenLab) -> str:
    """What a correction put there: what the next one found, else what stands there now; empty
    where it isn't one value.
    """
    field, said = correction.field, given.lab.corrections
    at = next(at for at, each in enumerate(said) if each is correction)
    following = [each.was for each in said[at + 1 :] if each.field == field]
    if following:
        return following[0]
    if field.startswith(OF_EXAMPLE):
        return fields_of(given.site.example(given)).get(field.removeprefix(OF_EXAMPLE), "")
    gravity = given.site.data.course.gravity
    if field == "course.gravity" and gravity:
        return as_written(gravity)
    return fields_of(given.lab.variant).get(field, "")


def in_words(field: str) -> str:
    """``example.cart.mass`` as ``worked example, cart, mass``."""
    table, *names = field.removeprefix(OF_EXAMPLE).split(".")
    words = [_TABLES.get(table, table), *names]
    start = ["worked example"] if field.startswith(OF_EXAMPLE) else []
    return ", ".join([*start, *(each.replace("_", " ") for each in words)])


# ---- recordings


def watched(page: LabPage, step: str) -> list[tuple[str, str]]:
    """Of each recording that shows a step: the address that leads there, and the time."""
    patterns = page.given.site.data.course.recording_times
    return [
        (each.moment(each.marks[step], patterns), time_in_words(each.marks[step]))
        for each in page.given.lab.recordings
        if step in each.marks
    ]


def check_recordings(data: CourseData, now: datetime) -> None:
    """Raise ``BadInput`` for marks of steps that no page of their lab has."""
    report = Report()
    for given in Context(data, now, STAFF, telling=False).labs():
        marks = {
            f"recordings.{number}.marks.{step}": step
            for number, each in enumerate(given.lab.recordings)
            for step in each.marks
        }
        known: dict[str, None] = {}
        for page in given.pages if not given.withdrawn else ():
            if not {*marks.values()} <= known.keys():  # those in symbols, which cost least, first
                known |= dict.fromkeys(step.id for step in page.steps)
        for path, step in marks.items() if not given.withdrawn else ():
            if step not in known:
                report.refuse(given.lab.places[path], "unknown", **unknown("step", step, [*known]))
    report.raise_if_any()


# ---- for staff


@dataclass(frozen=True, kw_only=True)
class StepLine:
    """A step as the most complete page has it, with what students ask about it."""

    step: Step
    read_at: str  # the page on which staff read it
    places: tuple[LabPage, ...]  # all on which it stands
    asked: dict[str, tuple[Question, LabPage]]  # by the question's id, with where it is answered


def step_lines(page: LabPage) -> list[StepLine]:
    """The steps of the solution, then those of the lab's other pages: each once."""
    places = page.given.pages
    found: dict[str, StepLine] = {}
    for there in sorted(places, key=lambda there: there.sub is not SOLUTION):
        for step in there.steps:
            holding = tuple(each for each in places if each.holds(step.id))
            line = StepLine(step=step, read_at=there.sub.name, places=holding, asked={})
            found.setdefault(step.id, line)
    for there in places:
        for step in there.steps:
            for question in step.questions:
                found[step.id].asked.setdefault(question.id, (question, there))
    return list(found.values())


def numbers_that_come_up(lesson: Lesson) -> list[Found]:
    """Every number that somebody may bring, right ones and slips, the smallest size first."""
    return sorted((*results(lesson), *slips(lesson)), key=lambda one: abs(one.value))


def accepted(found: Found, digits: int) -> list[float]:
    """The ends of the range that is accepted for a result."""
    share = found.tolerance(digits)
    return sorted(found.value * (1 + sign * share) for sign in (-1, 1))


@dataclass(frozen=True, kw_only=True)
class Carried:
    """What follows from the wrong values of one quantity."""

    of: Symbol
    columns: dict[str, Symbol]  # what changes, in the order of the steps
    rows: dict[Markup, dict[str, Following]]  # by the wrong value


def carried_on(lesson: Lesson, digits: int) -> Carried | None:
    """For the slips in the acceleration, or else in the first quantity from which several other
    results are worked out; None where there is no such quantity.
    """
    groups: dict[str, list[Found]] = {}
    for slip in slips(lesson):
        groups.setdefault(slip.of.id, []).append(slip)
    for group in sorted(groups.values(), key=lambda group: group[0].of.unit != "m/s²"):
        rows: dict[Markup, dict[str, Following]] = {}
        for slip in group:
            wrong = amount(slip.value, slip.unit, slip.figures(digits))
            # What comes first of each quantity; backwards, so that it stays.
            first = {one.of.id: one for one in [*following(lesson, {slip.of.id: slip.value})][::-1]}
            rows[wrong] = {
                key: one
                for key, one in first.items()
                if abs(one.value - one.instead_of)
                > _SAME * max(abs(one.value), abs(one.instead_of))
            }
        changing = {key for values in rows.values() for key in values}
        columns = {found.of.id: found.of for found in results(lesson) if found.of.id in changing}
        if len(columns) >= _SEVERAL:
            return Carried(of=group[0].of, columns=columns, rows=rows)
    return None


def review(page: LabPage) -> tuple[Finding, ...]:
    """The findings about the lab's numbers."""
    return findings_of(page.given.lab, page.given.site.data.course, page.shown.evidence)


def quality_of(page: LabPage) -> Sequence[Step]:
    """What is to say of the lab's trials, if there are any."""
    lab, course = page.given.lab, page.given.site.data.course
    if lab.measured is None:
        return ()
    evidence = page.shown.evidence or evidence_of(lab, gravity_estimate(course))
    return quality(page.shown.setup, evidence)
