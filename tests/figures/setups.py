"""Set-ups of every kind with their lessons, solved and drawn once; a file in ``cases/`` is one."""

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from fallwork.figures import Figure, Scene, draw
from fallwork.lesson import build_lesson
from fallwork.lesson.document import FigureSlot, Lesson
from fallwork.lesson.measured import Evidence
from fallwork.mechanics import Apparatus, Solution, apparatus_of, solve
from fallwork.scenario import Scenario, load_scenario, with_numbers
from lesson.kit import DEMO, GRAVITY
from lesson.measured import kit

CASES = Path(__file__).parent / "cases"
NAMES = sorted(path.stem for path in CASES.glob("*.yaml"))
CHARTS = ("motion", "tension-work", "energy-bars", "energy-position")


@dataclass(frozen=True)
class Setup:
    """A set-up with everything that a figure asks for."""

    scenario: Scenario
    apparatus: Apparatus
    solution: Solution
    lesson: Lesson
    evidence: Evidence | None = None

    def scene(self, kind: str | FigureSlot, subject: str = "", *, to_scale: bool = True) -> Scene:
        return Scene(slot=_slot(kind, subject), to_scale=to_scale, **vars(self))

    def draw(self, kind: str | FigureSlot, subject: str = "", **more: Any) -> Figure:
        return draw(Scene(slot=_slot(kind, subject), **{"to_scale": True, **vars(self), **more}))


def _slot(kind: str | FigureSlot, subject: str) -> FigureSlot:
    return FigureSlot(kind=kind, subject=subject) if isinstance(kind, str) else kind


def set_up(scenario: Scenario) -> Setup:
    """A scenario, solved, with the lesson of its solution."""
    apparatus = apparatus_of(scenario, GRAVITY)
    solution = solve(apparatus)
    lesson = build_lesson(scenario, apparatus, solution, figures=3, numbers=True)
    return Setup(scenario, apparatus, solution, lesson)


@cache
def setup(name: str) -> Setup:
    """A set-up of ``cases/``, or of the demo: ``demo/…``; ``trials``: the level track, measured."""
    if name == "trials":
        return replace(setup("demo/level-track"), evidence=kit.usual())
    folder = DEMO if name.startswith("demo/") else CASES
    return set_up(load_scenario(folder / f"{Path(name).name}.yaml"))


def level(**numbers: str) -> Setup:
    """The level track with other numbers, each given as ``cart_mass``."""
    changes = {name.replace("_", "."): number for name, number in numbers.items()}
    return set_up(with_numbers(load_scenario(DEMO / "level-track.yaml"), changes))


@dataclass(frozen=True)
class Entry:
    """One figure to draw."""

    case: str
    kind: str | FigureSlot
    subject: str = ""
    to_scale: bool = True

    def scene(self) -> Scene:
        return setup(self.case).scene(self.kind, self.subject, to_scale=self.to_scale)


@cache
def drawn(entry: Entry) -> Figure:
    return setup(entry.case).draw(entry.kind, entry.subject, to_scale=entry.to_scale)


def sample(kind: str, subject: str = "", *, to_scale: bool = True) -> Figure:
    """A figure of the level track: cart 0.420 kg, weight 0.080 kg, friction 0.008, 0.600 m."""
    return drawn(Entry("demo/level-track", kind, subject, to_scale))


@cache
def entries(case: str) -> tuple[Entry, ...]:
    """Sketches and diagrams of a set-up, and charts of what moves; or the figures of trials."""
    if case == "trials":
        given = ("acceleration", "mean_tension", "final_speed")
        kinds = [("record", "trial-01"), ("record", "trial-07"), ("record-work", "trial-01")]
        kinds += [(kind, each) for kind in ("scatter", "scatter-prediction") for each in given]
        return tuple(Entry(case, *kind) for kind in kinds)
    apparatus = setup(case).apparatus
    found = [Entry(case, "sketch", to_scale=False)]
    for name in (*apparatus.bodies, *apparatus.pulleys):
        found += [Entry(case, "diagram", name, scaled) for scaled in (False, True)]
    charts = CHARTS if setup(case).solution.moves else ()
    return (*found, *(Entry(case, kind) for kind in charts))
