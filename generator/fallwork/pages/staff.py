"""What only staff's pages ask: the steps of a lab to look up and send, results and slips to mark
by, and what is good of a lab's numbers and trials.

Takes a page for staff; gives what its template writes. The numbers are the solution's, whether it
is open or not. What is good and what isn't is told by the planning and the measurement stages,
their words by the lesson.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from fallwork.lesson.answers import Following, Found, following, results, slips, tolerance
from fallwork.lesson.document import Lesson, Question, Step
from fallwork.lesson.expression import Symbol
from fallwork.lesson.measured import quality
from fallwork.pages.context import LabPage
from fallwork.pages.markdown import amount
from fallwork.pages.schedule import SOLUTION
from fallwork.pages.trials import evidence_of, findings_of, gravity_estimate
from fallwork.planning.review import Finding

__all__ = ["results", "slips", "tolerance"]  # for the templates
_SEVERAL = 2
_SAME = 1e-9  # relative; a value that differs by less is the same


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
    order = sorted(groups.values(), key=lambda group: group[0].of.unit != "m/s²")
    tables = (_consequences(lesson, group, digits) for group in order)
    return next((table for table in tables if len(table.columns) >= _SEVERAL), None)


def _consequences(lesson: Lesson, group: list[Found], digits: int) -> Carried:
    rows: dict[Markup, dict[str, Following]] = {}
    for slip in group:
        first: dict[str, Following] = {}
        for one in following(lesson, {slip.of.id: slip.value}):
            first.setdefault(one.of.id, one)
        changed = {key: one for key, one in first.items() if _differs(one)}
        rows[amount(slip.value, slip.unit, slip.figures(digits))] = changed
    changing = {key for values in rows.values() for key in values}
    columns = {found.of.id: found.of for found in results(lesson) if found.of.id in changing}
    return Carried(of=group[0].of, columns=columns, rows=rows)


def _differs(one: Following) -> bool:
    return abs(one.value - one.instead_of) > _SAME * max(abs(one.value), abs(one.instead_of))


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
