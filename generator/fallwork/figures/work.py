"""The work of a pull on one object: force against the distance moved, solved or measured.

The distance counts along the way the object goes, and the force as it points along that way, so
that work done against the motion lies below the axis.
"""

from collections.abc import Iterable

import numpy as np

from fallwork.figures.charts import DASHES, Panel, panels, with_room
from fallwork.figures.lettering import Line
from fallwork.figures.motion import default_object, run_position, series_of, trial_of
from fallwork.figures.placing import Spot, around
from fallwork.figures.scene import CannotDrawError, Figure, Scene, figure, say
from fallwork.lesson.measured.words import shown
from fallwork.measurement.model import Measurand
from fallwork.measurement.prediction import view_of
from fallwork.mechanics.solution import Force, Interaction

HEIGHT = 130.0  # pt
NEEDED = (Measurand.MEAN_TENSION, Measurand.WORK_OF_TENSION)


def tension_work(scene: Scene) -> Figure:
    """The pull of a string on one object, from the start to the end of the first phase."""
    force = _force(scene)
    distance = abs(scene.phase.displacements.get(force.on) or 0.0)
    if not distance or not force.work:
        raise CannotDrawError(f"the {force.name} does no work")
    along = force.work / distance  # N, constant within a phase
    against = "-against" if along < 0 else ""  # a tension is a size and has no sign itself
    values = (("tension", along, "N"), ("size", abs(along), "N"), ("distance", distance, "m"))
    words = {key: scene.number(value, unit) for key, value, unit in values}
    words |= {"object": scene.the(force.on), "work": scene.number(force.work, "J")}
    area = (scene.symbol(f"work.{force.name}") or say("work-work"), f"= {words['work']}")
    panel = _panel((along,), words["object"], distance, along, area)
    size = (scene.label(force.name) or say("work-pull"), f"= {words['size']}")
    angles = (-90.0, 90.0) if against else (90.0, -90.0)
    spots = around(panel.at(distance / 2, along), angles=angles)
    panel.drawing.label(size, at=spots, role="accent-1")
    said, caption = (say(f"work-{part}{against}", **words) for part in ("description", "caption"))
    return figure(scene, panel.drawing, "work", [said], [caption], **words)


def _force(scene: Scene) -> Force:
    """The force that the slot names, or the pull on the object that it names, or on the first."""
    subject = scene.subject or default_object(scene)
    for force in scene.phase.forces:
        named = subject == force.name or (subject == force.on and force.size)
        if named and force.interaction is Interaction.TENSION and force.vector:
            return force
    raise CannotDrawError(f"no string pulls {subject!r}")


def _panel(
    forces: Iterable[float], whose: str, distance: float, force: float, work: Line, up: float = 0.5
) -> Panel:
    """Axes for ``forces`` in N; the area below one is its work, named so far ``up`` its height."""
    (panel,) = panels((0.0, 1.12 * distance), with_room(forces, 0.3), height=HEIGHT)
    panel.shade((0.0, 0.0), (distance, force), "tint-1")
    panel.axes(say("work-tension"), say("work-distance", object=whose))
    panel.line((0.0, force), (distance, force), role="accent-1", width=2.2)
    panel.line((distance, force), (distance, 0.0), role="accent-1", width=1.0, dash=DASHES)
    middle = Spot(panel.at(distance / 2, up * force), 0.5, 0.5)
    panel.drawing.label(say("work-area"), work, at=[middle])
    return panel


def record_work(scene: Scene) -> Figure:
    """Readings of one trial within its run, their mean over the distance, and the area."""
    trial, found, run = trial_of(scene)
    if any(quantity not in trial.estimates for quantity in NEEDED) or trial.window is None:
        raise CannotDrawError(f"the record of {trial.name!r} has no force in the run")
    force = next(each for each in series_of(trial, found, run) if each.name == "force")
    time, pulls = np.transpose(force.readings)
    inside = (run.driven[0] <= time) & (time <= run.driven[1])
    moved = run_position(run, time[inside]) - run_position(run, np.array(trial.window[0]))
    tension, work = (trial.estimates[quantity].value for quantity in NEEDED)
    distance = work / tension  # the measured one, or the given one that ends the run
    words = {"trial": trial.name, "object": scene.the(view_of(scene.scenario).moving)}
    words["distance"] = scene.number(distance, "m")
    measured = (*NEEDED, Measurand.DISTANCE)
    for key, quantity, unit in zip(("tension", "work", "distance"), measured, "NJm", strict=True):
        if estimate := trial.estimates.get(quantity):
            words[key] = shown(estimate, unit, scene.figures)
    forces = [tension, *pulls[inside].tolist()]
    panel = _panel(forces, words["object"], distance, tension, words["work"], 0.45)
    panel.dots(zip(moved.tolist(), forces[1:], strict=True))
    top = panel.at(distance / 2, panel.y_range[1])
    spots = [Spot(top - down, 0.5, 1.0) for down in (0j, 8j, -10j)]
    panel.drawing.label(say("record-work-mean", **words), at=spots, role="accent-1")
    said = [say("record-work-description", **words)]
    return figure(scene, panel.drawing, "record-work", said, **words)
