"""Figures: takes a figure slot with its set-up and solution, gives SVG with a text alternative.

A new kind of figure is a function in a module of its own or of its like, and one line in ``KINDS``.
``palette`` gives the colours by role, from which the site's style sheet is made.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from fallwork.figures.diagram import diagram
from fallwork.figures.drawing import WIDTH
from fallwork.figures.energies import energy_bars, energy_position
from fallwork.figures.motion import motion, record
from fallwork.figures.palette import Role, Use, palette
from fallwork.figures.placing import Spot
from fallwork.figures.scene import CannotDrawError, Plate, Scene, say
from fallwork.figures.sketch import sketch
from fallwork.figures.trials import scatter, scatter_prediction
from fallwork.figures.work import record_work, tension_work
from fallwork.lesson.document import FigureSlot

__all__ = ["CannotDrawError", "Figure", "Role", "Scene", "Use", "draw", "palette"]

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
OF_TRIALS = ("record", "record-work", "scatter", "scatter-prediction")


@dataclass(frozen=True, kw_only=True)
class Figure:
    """An SVG drawing with the text that stands for it."""

    id: str  # unique on its page, e.g. "diagram-cart"
    title: str
    description: str  # the text alternative
    caption: str
    svg: str  # a complete <svg> element, no XML declaration


def draw(scene: Scene) -> Figure:
    """The figure of a scene's slot.

    Without ``to_scale``, sketch and diagram depend on nothing computed but on the signs of the
    motion. Figures of trials need ``evidence``. Raises ``CannotDrawError`` where the set-up has no
    such figure.
    """
    kind = scene.slot.kind
    if kind not in KINDS:
        raise CannotDrawError(f"no kind of figure is called {kind!r}; there are {', '.join(KINDS)}")
    plate = KINDS[kind](scene)
    words = {"title": plate.title, "description": plate.description, "caption": plate.caption}
    if kind in OF_TRIALS and scene.evidence is not None and scene.evidence.simulated:
        corner = complex(WIDTH - 3.0, plate.drawing.extent()[1] + 6.0)
        plate.drawing.label(say("simulated"), at=[Spot(corner, 1.0, 0.0)])
        for key in ("description", "caption"):
            words[key] += " " + say("simulated-sentence")
    name = figure_id(scene.slot)
    svg = plate.drawing.svg(name, words["title"], words["description"])
    return Figure(id=name, svg=svg, **words)


def figure_id(slot: FigureSlot) -> str:
    """Unique among the figures of one page, fit for an address: ``diagram-cart``."""
    words = f"{slot.kind} {slot.subject}".lower().replace(",", " ")
    words += f" phase {slot.phase + 1}" if slot.phase else ""
    return "-".join("".join(c if c.isalnum() else " " for c in words).split())
