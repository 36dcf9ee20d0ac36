"""Draws any figure: takes a scene, gives the finished SVG with its words.

A new kind of figure is a module of its own and one line in ``KINDS``.
"""

from collections.abc import Callable, Mapping

from fallwork.figures.diagram import diagram
from fallwork.figures.energy_charts import energy_bars, energy_position
from fallwork.figures.motion import motion
from fallwork.figures.record import record
from fallwork.figures.scatter import scatter, scatter_prediction
from fallwork.figures.scene import CannotDrawError, Figure, Plate, Scene
from fallwork.figures.sketch import sketch
from fallwork.figures.svg import svg_of
from fallwork.figures.work import record_work, tension_work
from fallwork.lesson.document import FigureSlot

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


def draw(scene: Scene) -> Figure:
    """The figure of a scene's slot.

    Without ``to_scale``, sketch and diagram depend on nothing computed but on the signs of the
    motion. Figures of trials need ``evidence``. Raises ``CannotDrawError`` where the set-up has no
    such figure.
    """
    if scene.slot.kind not in KINDS:
        raise CannotDrawError(
            f"no kind of figure is called {scene.slot.kind!r}; there are {', '.join(KINDS)}"
        )
    plate, name = KINDS[scene.slot.kind](scene), figure_id(scene.slot)
    words = {"title": plate.title, "description": plate.description}
    svg = svg_of(plate.drawing, figure_id=name, **words)
    return Figure(id=name, caption=plate.caption, svg=svg, **words)


def figure_id(slot: FigureSlot) -> str:
    """Unique among the figures of one page, fit for an address: ``diagram-cart``."""
    words = f"{slot.kind} {slot.subject}".lower().replace(",", " ")
    words += f" phase {slot.phase + 1}" if slot.phase else ""
    return "-".join("".join(c if c.isalnum() else " " for c in words).split())
