"""Figures: takes a figure slot with its set-up and solution, gives SVG with a text alternative.

A new kind of figure is a function of its name in a module of its own or of its like, listed here.
``palette`` gives the colours by role, from which the site's style sheet is made.
"""

from collections.abc import Callable, Sequence

from fallwork.figures.diagram import diagram
from fallwork.figures.drawing import Role, palette
from fallwork.figures.energies import energy_bars, energy_position
from fallwork.figures.motion import motion, record
from fallwork.figures.scene import CannotDrawError, Figure, Scene
from fallwork.figures.sketch import sketch
from fallwork.figures.trials import scatter, scatter_prediction
from fallwork.figures.work import record_work, tension_work

__all__ = ["CannotDrawError", "Figure", "Role", "Scene", "draw", "palette"]

_DRAW: Sequence[Callable[[Scene], Figure]] = (
    *(sketch, diagram, motion, tension_work, energy_bars, energy_position),
    *(record, record_work, scatter, scatter_prediction),
)
KINDS = {each.__name__.replace("_", "-"): each for each in _DRAW}  # "tension-work" -> tension_work


def draw(scene: Scene) -> Figure:
    """The figure of a scene's slot.

    Sketch and diagram have a form without ``numbers``, which depends on nothing computed but on the
    signs of the motion; charts have none. Figures of trials need ``evidence``. Raises
    ``CannotDrawError`` where the set-up has no such figure.
    """
    kind = scene.slot.kind
    if kind not in KINDS:
        raise CannotDrawError(f"no kind of figure is called {kind!r}; there are {', '.join(KINDS)}")
    return KINDS[kind](scene)
