"""Set-ups of every kind, solved, with a lesson that has just the symbols of a figure.

One file in ``cases/`` is one set-up.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from fallwork.figures import Figure, draw
from fallwork.figures.scene import Scene
from fallwork.lesson.document import FigureSlot, Lesson, piece
from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.mechanics import Apparatus, Force, Interaction, Solution, apparatus_of, solve
from fallwork.scenario import load_scenario
from fallwork.scenario.model import Scenario

CASES = Path(__file__).parent / "cases"
GRAVITY = 9.80665

_LETTERS = {
    Interaction.NORMAL: "N",
    Interaction.FRICTION: "f",
    Interaction.TENSION: "T",
    Interaction.CONTACT: "P",
    Interaction.AXLE: "A",
    Interaction.ROLLING: "r",
    Interaction.BEARING_TORQUE: "tau",
    Interaction.LANDING: "L",
}


@dataclass(frozen=True)
class Setup:
    """A set-up with everything that a figure asks for."""

    scenario: Scenario
    apparatus: Apparatus
    solution: Solution
    lesson: Lesson

    def scene(self, kind: str, subject: str = "", *, to_scale: bool = True) -> Scene:
        return Scene(
            slot=FigureSlot(kind=kind, subject=subject),
            scenario=self.scenario,
            apparatus=self.apparatus,
            solution=self.solution,
            lesson=self.lesson,
            to_scale=to_scale,
        )

    def draw(self, kind: str, subject: str = "", *, to_scale: bool = True) -> Figure:
        return self.draw_slot(FigureSlot(kind=kind, subject=subject), to_scale=to_scale)

    def draw_slot(self, slot: FigureSlot, *, to_scale: bool = True) -> Figure:
        return draw(
            slot,
            scenario=self.scenario,
            apparatus=self.apparatus,
            solution=self.solution,
            lesson=self.lesson,
            to_scale=to_scale,
        )


def names() -> list[str]:
    """The set-ups in ``cases/``."""
    return sorted(path.stem for path in CASES.glob("*.yaml"))


def load(name: str) -> Setup:
    """One set-up of ``cases/``."""
    return set_up(load_scenario(CASES / f"{name}.yaml"))


def set_up(scenario: Scenario) -> Setup:
    """A scenario, solved, with its symbols."""
    apparatus = apparatus_of(scenario, GRAVITY)
    solution = solve(apparatus)
    return Setup(scenario, apparatus, solution, _lesson(scenario, apparatus, solution))


def _lesson(scenario: Scenario, apparatus: Apparatus, solution: Solution) -> Lesson:
    return Lesson(
        scenario=scenario.id,
        title=scenario.title,
        kind="numbers",
        summary=(),
        find=(),
        givens=(),
        symbols=tuple(_symbols(apparatus)),
        steps=(),
        safety=(),
        labels={0: dict(_labels(solution))},
    )


def _labels(solution: Solution) -> Iterator[tuple[str, Expression]]:
    phase = solution.phases[0]
    for force in phase.forces:
        yield force.name, _label(force)
        if force.interaction is Interaction.CONTACT:
            for at in range(len(phase.segment_tensions.get(force.partner, ()))):
                tension = symbol(f"tension.{force.partner}", "T", force.partner, "N")
                yield piece(force.name, at), as_expression(tension)
    for name in phase.accelerations:
        yield name, as_expression(symbol(f"acceleration.{name}", "a", name[0], "m/s²"))


def _symbols(apparatus: Apparatus) -> Iterator[Symbol]:
    yield symbol("distance", "d", "", "m")
    for name in apparatus.bodies:
        yield symbol(f"mass.{name}", "m", name[0], "kg")
    for name in apparatus.surfaces:
        yield symbol(f"slope.{name}", "theta", "", "rad")


def _label(force: Force) -> Expression:
    if force.interaction is Interaction.GRAVITY:
        gravity = as_expression(symbol("gravity", "g", "", "m/s²"))
        return as_expression(symbol(f"mass.{force.on}", "m", force.on[0], "kg")) * gravity
    letter = _LETTERS[force.interaction]
    own_string = force.interaction is Interaction.TENSION
    return as_expression(symbol(force.name, letter, force.partner if own_string else "", "N"))


def symbol(key: str, letter: str, subscript: str, unit: str) -> Symbol:
    return Symbol(id=key, letter=letter, subscript=subscript, meaning=key, unit=unit)
