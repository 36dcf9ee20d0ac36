"""A set of numbers, solved, with its lesson and its figures; and what pages with trials add.

Takes a scenario and the local gravity, or a lab and its page; gives what the page shows.
"""

from dataclasses import dataclass, field, replace

from fallwork.figures import Figure, Scene, draw
from fallwork.lesson import build_lesson
from fallwork.lesson.document import FigureSlot, Lesson, symbols_of
from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.measured import Evidence, data_lesson, report_lesson, with_comparison
from fallwork.measurement.model import Estimate
from fallwork.measurement.prediction import Case
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.schedule import BENCH, DATA, REPORT, SOLUTION, SubPage
from fallwork.pages.trials import evidence_of, gravity_estimate, judged
from fallwork.scenario import Course, Lab, Scenario
from fallwork.scenario.course import Safety

TABLES = "tables"  # the mark of the fold of a report that holds tables to fill in
IN_SYMBOLS = (BENCH, REPORT, DATA)  # pages that show no result of the model


@dataclass(frozen=True, kw_only=True)
class Worked:
    """One set of numbers, solved, and what a page says about it."""

    setup: Setup
    lesson: Lesson
    evidence: Evidence | None = None  # the trials, where the page shows them
    _drawn: dict[FigureSlot, Figure] = field(default_factory=dict, init=False, compare=False)

    @property
    def digits(self) -> int:
        """Significant figures of results."""
        return self.setup.figures

    def draw(self, slot: FigureSlot) -> Figure:
        """To scale exactly where the lesson shows numbers. Each drawing is made once."""
        if slot not in self._drawn:
            scene = Scene(
                slot=slot,
                scenario=self.setup.scenario,
                apparatus=self.setup.apparatus,
                solution=self.setup.solution,
                lesson=self.lesson,
                to_scale=self.lesson.kind == "numbers",
                figures=self.digits,
                evidence=self.evidence,
            )
            self._drawn[slot] = draw(scene)
        return self._drawn[slot]

    @property
    def on_overview(self) -> tuple[Symbol, ...]:
        """Every symbol that stands on a lab's overview, in the order of the page."""
        lesson = self.lesson
        givens = tuple(each.symbol for each in lesson.givens)
        return symbols_of((lesson.summary, lesson.find, givens, lesson.safety))


def worked(
    scenario: Scenario,
    *,
    gravity: float,
    digits: int,
    numbers: bool,
    telling: bool = True,
    safety: Safety | None = None,
) -> Worked:
    """The scenario worked through, with numbers or in symbols only; ``telling`` how well its
    results are known, ``safety`` how far things can fall.
    """
    apparatus = apparatus_of(scenario, gravity)
    setup = Setup(scenario, apparatus, solve(apparatus), digits, numbers)
    case = Case(scenario=scenario, gravity=Estimate(value=gravity, u=0.0))
    lesson = build_lesson(
        scenario,
        apparatus,
        setup.solution,
        figures=digits,
        numbers=numbers,
        case=case if telling else None,
        safety=safety,
    )
    return Worked(setup=setup, lesson=lesson)


def with_measuring(base: Worked, lab: Lab, sub: SubPage, course: Course) -> Worked:
    """The page's own lesson; ``base`` as it is for a page that has nothing to do with trials."""
    setup = replace(base.setup, numbers=sub is SOLUTION)
    if sub is BENCH:  # the tables of the report, to fill in at the bench
        tables = (
            replace(step, short=fold.title, blocks=fold.blocks, folds=(), slips=(), questions=())
            for step in report_lesson(setup, ()).steps
            for fold in step.folds
            if fold.mark == TABLES
        )
        return replace(base, lesson=replace(base.lesson, steps=tuple(tables)))
    if sub is REPORT:
        lesson = report_lesson(setup, course.rubric)
        return replace(base, lesson=replace(lesson, safety=base.lesson.safety))
    if sub is DATA:
        evidence = evidence_of(lab, gravity_estimate(course))
        return replace(base, lesson=data_lesson(setup, evidence), evidence=evidence)
    if sub is SOLUTION and lab.measured is not None and setup.moves:
        evidence = judged(lab, course)
        compared = with_comparison(base.lesson, setup, evidence)
        return replace(base, lesson=compared, evidence=evidence)
    return base
