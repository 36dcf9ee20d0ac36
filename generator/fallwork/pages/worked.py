"""A set of numbers, solved, with its lesson and its figures.

Takes a scenario and the local gravity; gives what a page about it shows.
"""

from dataclasses import dataclass, field

from fallwork.figures import Figure, Scene, draw
from fallwork.lesson import build_lesson, uncertainties
from fallwork.lesson.document import FigureSlot, Lesson
from fallwork.lesson.measured import Evidence
from fallwork.measurement import Case, Estimate
from fallwork.mechanics import apparatus_of, solve
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Solution
from fallwork.scenario import Scenario


@dataclass(frozen=True, kw_only=True)
class Worked:
    """One set of numbers, solved, and what a page says about it."""

    scenario: Scenario
    apparatus: Apparatus
    solution: Solution
    lesson: Lesson
    digits: int  # significant figures of results
    evidence: Evidence | None = None  # the trials, where the page shows them
    _drawn: dict[FigureSlot, Figure] = field(default_factory=dict, init=False, compare=False)

    def draw(self, slot: FigureSlot) -> Figure:
        """To scale exactly where the lesson shows numbers. Each drawing is made once."""
        if slot not in self._drawn:
            scene = Scene(
                slot=slot,
                scenario=self.scenario,
                apparatus=self.apparatus,
                solution=self.solution,
                lesson=self.lesson,
                to_scale=self.lesson.kind == "numbers",
                figures=self.digits,
                evidence=self.evidence,
            )
            self._drawn[slot] = draw(scene)
        return self._drawn[slot]


def worked(
    scenario: Scenario, *, gravity: float, digits: int, numbers: bool, telling: bool = True
) -> Worked:
    """The scenario worked through, with numbers or in symbols only; ``telling`` how well its
    results are known.
    """
    apparatus = apparatus_of(scenario, gravity)
    solution = solve(apparatus)
    case = Case(scenario=scenario, gravity=Estimate(value=gravity, u=0.0))
    return Worked(
        scenario=scenario,
        apparatus=apparatus,
        solution=solution,
        lesson=build_lesson(
            scenario,
            apparatus,
            solution,
            figures=digits,
            numbers=numbers,
            known=uncertainties(case, figures=digits) if numbers and telling else None,
        ),
        digits=digits,
    )
