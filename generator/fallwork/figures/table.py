"""Draws any figure: takes a slot with its set-up, gives the finished SVG with its words.

A new kind of figure is a module of its own and one line in ``KINDS``.
"""

from collections.abc import Callable, Mapping

from fallwork.figures.canvas import house_style, written
from fallwork.figures.diagram import diagram
from fallwork.figures.energy_bars import energy_bars
from fallwork.figures.energy_position import energy_position
from fallwork.figures.model import Figure
from fallwork.figures.motion import motion
from fallwork.figures.record import record
from fallwork.figures.record_work import record_work
from fallwork.figures.scatter import scatter, scatter_prediction
from fallwork.figures.scene import CannotDrawError, Plate, Scene
from fallwork.figures.sketch import sketch
from fallwork.figures.svg import inline_svg
from fallwork.figures.tension_work import tension_work
from fallwork.lesson.document import FigureSlot, Lesson
from fallwork.lesson.measured import Evidence
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.solution import Solution
from fallwork.scenario import Scenario

KINDS: Mapping[str, Callable[[Scene], Plate]] = {
    "sketch": sketch,
    "diagram": diagram,
    "motion": motion,
    "tension-work": tension_work,
    "energy-bars": energy_bars,
    "energy-position": energy_position,
    "record": record,
    "record-work": record_work,
    "scatter": scatter,
    "scatter-prediction": scatter_prediction,
}


def draw(
    slot: FigureSlot,
    *,
    scenario: Scenario,
    apparatus: Apparatus,
    solution: Solution,
    lesson: Lesson,
    to_scale: bool,
    figures: int = 3,
    evidence: Evidence | None = None,
) -> Figure:
    """The figure of a slot. ``figures``: significant figures of the numbers that it shows.

    Without ``to_scale``, sketch and diagram depend on nothing computed but on the signs of the
    motion. Figures of trials need ``evidence``. Raises ``CannotDrawError`` where the set-up has no
    such figure.
    """
    scene = Scene(
        slot=slot,
        scenario=scenario,
        apparatus=apparatus,
        solution=solution,
        lesson=lesson,
        to_scale=to_scale,
        figures=figures,
        evidence=evidence,
    )
    name = figure_id(slot)
    with house_style(name):
        plate = plate_of(scene)
        raw = written(plate.sheet)
    return Figure(
        id=name,
        title=plate.title,
        description=plate.description,
        caption=plate.caption,
        svg=inline_svg(raw, figure_id=name, title=plate.title, description=plate.description),
    )


def plate_of(scene: Scene) -> Plate:
    """The figure before it is written; call it inside ``house_style``."""
    if scene.slot.kind not in KINDS:
        raise CannotDrawError(
            f"no kind of figure is called {scene.slot.kind!r}; there are {', '.join(KINDS)}"
        )
    return KINDS[scene.slot.kind](scene)


def figure_id(slot: FigureSlot) -> str:
    """Unique among the figures of one page, fit for an address: ``diagram-cart``."""
    words = f"{slot.kind} {slot.subject}".lower().replace(",", " ")
    words += f" phase {slot.phase + 1}" if slot.phase else ""
    return "-".join("".join(c if c.isalnum() else " " for c in words).split())
