"""Set-ups of every kind with their lessons, solved and drawn once; a file in ``cases/`` is one."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from fallwork.figures import Figure, Scene, draw
from fallwork.lesson.build import build_lesson
from fallwork.lesson.document import FigureSlot, Lesson
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import Scenario, load_scenario
from lesson.kit import DEMO, GRAVITY, everything
from lesson.measured import kit

CASES = Path(__file__).parent / "cases"
NAMES = sorted(path.stem for path in CASES.glob("*.yaml"))
CHARTS = ("motion", "tension-work", "energy-bars", "energy-position")


class Setup(Scene):
    """As it is drawn: its sketch, or what is asked for."""

    def scene(self, kind: str | FigureSlot, subject: str = "", *, numbers: bool = True) -> Scene:
        slot = FigureSlot(kind=kind, subject=subject) if isinstance(kind, str) else kind
        return replace(self, slot=slot, numbers=numbers, index=slot.phase)

    def draw(self, kind: str | FigureSlot, subject: str = "", **more: Any) -> Figure:
        return draw(replace(self.scene(kind, subject), **more))


def slots(lesson: Lesson) -> set[FigureSlot]:
    return {part for part in everything(lesson.steps) if isinstance(part, FigureSlot)}


def set_up(scenario: Scenario) -> Setup:
    apparatus = apparatus_of(scenario, GRAVITY)
    parts = (scenario, apparatus, solve(apparatus))
    lesson = build_lesson(*parts, figures=3, numbers=True)
    return Setup(*parts, 3, True, slot=FigureSlot(kind="sketch"), lesson=lesson)


@cache
def setup(name: str) -> Setup:
    """A set-up of ``cases/``, or of the demo: ``demo/…``; ``trials``: the level track, measured."""
    if name == "trials":
        return replace(setup("demo/level-track"), evidence=kit.usual())
    folder = DEMO if name.startswith("demo/") else CASES
    return set_up(load_scenario(folder / f"{Path(name).name}.yaml"))


@cache
def drawn(case: str, kind: str, subject: str = "", numbers: bool = True) -> Figure:
    return setup(case).draw(kind, subject, numbers=numbers)


def sample(kind: str, subject: str = "", *, numbers: bool = True) -> Figure:
    """A figure of the level track: cart 0.420 kg, weight 0.080 kg, friction 0.008, 0.600 m."""
    return drawn("demo/level-track", kind, subject, numbers)


def entries(case: str) -> list[tuple[str, str, str, bool]]:
    """What ``drawn`` takes: sketch, diagrams and charts of a set-up, or the figures of trials."""
    if case == "trials":
        given = ("acceleration", "mean_tension", "final_speed")
        kinds = [("record", "trial-01"), ("record", "trial-07"), ("record-work", "trial-01")]
        kinds += [(kind, each) for kind in ("scatter", "scatter-prediction") for each in given]
        return [(case, *kind, True) for kind in kinds]
    apparatus = setup(case).apparatus
    found = [(case, "sketch", "", False)]
    for name in (*apparatus.bodies, *apparatus.pulleys):
        found += [(case, "diagram", name, scaled) for scaled in (False, True)]
    more = {each.kind for each in slots(setup(case).lesson)} - {"sketch", "diagram"}
    more |= {*CHARTS} if setup(case).solution.moves else set()
    return found + [(case, kind, "", True) for kind in sorted(more)]
