"""The lessons about measuring on their pages: report, trials, and the end of the solution.

Takes a set-up that is worked through, its lab and the page; gives it with the lesson of that page.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace

from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.measured import data_lesson, report_lesson, with_comparison
from fallwork.pages.schedule import DATA, REPORT, SOLUTION, SubPage
from fallwork.pages.trials import evidence_of, gravity_estimate, judged
from fallwork.pages.worked import Worked
from fallwork.scenario import Course, Lab

IN_SYMBOLS = (REPORT.name, DATA.name)  # pages that show no result of the model


def with_measuring(base: Worked, lab: Lab, sub: SubPage, course: Course) -> Worked:
    """The page's own lesson; ``base`` as it is for a page that has nothing to do with trials."""
    make = _LESSONS.get(sub.name)
    return base if make is None else make(base, lab, course)


def setup_of(base: Worked, *, numbers: bool) -> Setup:
    """What lessons about measuring start from."""
    return Setup(base.scenario, base.apparatus, base.solution, base.digits, numbers)


def _report(base: Worked, lab: Lab, course: Course) -> Worked:
    lesson = report_lesson(setup_of(base, numbers=False), course.rubric)
    return replace(base, lesson=replace(lesson, safety=base.lesson.safety))


def _data(base: Worked, lab: Lab, course: Course) -> Worked:
    evidence = evidence_of(lab, gravity_estimate(course))
    return replace(
        base, lesson=data_lesson(setup_of(base, numbers=False), evidence), evidence=evidence
    )


def _solution(base: Worked, lab: Lab, course: Course) -> Worked:
    if lab.measured is None or not base.solution.moves:
        return base
    evidence = judged(lab, course)
    lesson = with_comparison(base.lesson, setup_of(base, numbers=True), evidence)
    return replace(base, lesson=lesson, evidence=evidence)


_LESSONS: Mapping[str, Callable[[Worked, Lab, Course], Worked]] = {
    REPORT.name: _report,
    DATA.name: _data,
    SOLUTION.name: _solution,
}
