"""Tension against the distance moved, its work as the area: takes a run, plots its first phase.

The distance counts from the start along the way the object goes; the force as it points along that
way, so that work done against the motion lies below the axis.
"""

from collections.abc import Iterable

from fallwork.figures.canvas import Box
from fallwork.figures.charts import RIGHT, Panel, left_edge, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.labels import Spot, Words
from fallwork.figures.motion import default_object
from fallwork.figures.scene import CannotDrawError, Plate, Scene, say
from fallwork.mechanics.solution import Force, Interaction

HEIGHT = 130.0  # pt


def tension_work(scene: Scene) -> Plate:
    """The pull of a string on one object, from the start to the end of the first phase."""
    force = _force(scene)
    distance = abs(scene.phase.displacements.get(force.on) or 0.0)
    if not distance or not force.work:
        raise CannotDrawError(f"the {force.name} does no work")
    along = force.work / distance  # N, constant within a phase
    drawing = Drawing()
    panel = force_panel((along,), distance)
    draw_work(drawing, panel, scene.the(force.on), distance, along)
    _write(drawing, scene, force, panel, distance, along)
    values = {
        "object": scene.the(force.on),
        "tension": scene.number(along, "N"),
        "size": scene.number(abs(along), "N"),
        "distance": scene.number(distance, "m"),
        "work": scene.number(force.work, "J"),
    }
    against = "-against" if along < 0 else ""  # a tension is a size and has no sign itself
    return Plate(
        sheet=drawing.sheet(),
        title=say("work-title", **values),
        description=say(f"work-description{against}", **values),
        caption=say(f"work-caption{against}", **values),
    )


def force_panel(forces: Iterable[float], distance: float) -> Panel:
    """Axes for forces in N against distances up to a bit more than ``distance`` in m."""
    y_range = with_room(forces, 0.3)
    return Panel(
        box=Box(left=left_edge(y_range), bottom=0.0, right=RIGHT, top=HEIGHT),
        x_range=(0.0, 1.12 * distance),
        y_range=y_range,
    )


def draw_work(drawing: Drawing, panel: Panel, whose: str, distance: float, force: float) -> None:
    """The area below a constant force, the axes on it, and the force as a line."""
    start, low_end, end, high_start = (
        panel.at(*corner) for corner in ((0, 0), (distance, 0), (distance, force), (0, force))
    )
    drawing.area((start, low_end, end, high_start), fill="tint-1", edge=None)
    panel.draw(drawing, x_title=say("work-distance", object=whose), y_title=say("work-tension"))
    drawing.line(high_start, end, role="accent-1", width=2.2)
    drawing.line(end, low_end, role="accent-1", width=1.0, dash=(3.5, 2.5))


def _force(scene: Scene) -> Force:
    """The force that the slot names, or the pull on the object that it names, or on the first."""
    subject = scene.slot.subject or default_object(scene)
    pulls = [f for f in scene.phase.forces if f.interaction is Interaction.TENSION and f.vector]
    for force in pulls:
        if subject == force.name or (subject == force.on and force.size):
            return force
    raise CannotDrawError(f"no string pulls {subject!r}")


def _write(
    drawing: Drawing, scene: Scene, force: Force, panel: Panel, distance: float, along: float
) -> None:
    middle = panel.at(distance / 2, along / 2)
    work = scene.symbol(f"work.{force.name}") or say("work-work")
    words = Words(lines=((say("work-area"),), (work, f"= {scene.number(force.work or 0.0, 'J')}")))
    drawing.label(words, (Spot(at=middle, across=0.5, up=0.5),))
    x, y = panel.at(distance / 2, along)
    tension = scene.label(force.name) or say("work-pull")
    size = Words(lines=((tension, f"= {scene.number(force.size or 0.0, 'N')}"),))
    above = Spot(at=(x, y + 5.0), across=0.5, up=0.0)
    below = Spot(at=(x, y - 5.0), across=0.5, up=1.0)
    drawing.label(size, (above, below) if along > 0 else (below, above), role="accent-1")
