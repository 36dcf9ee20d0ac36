"""A force against the distance moved, its work as the area: as worked out, and as measured.

The distance counts from the release along the way the object goes; the force as it points along
that way, so that work done against the motion lies below the axis.
"""

from collections.abc import Iterable

import numpy as np

from fallwork.figures.charts import Panel, dots, panels, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.lettering import Line
from fallwork.figures.motion import default_object
from fallwork.figures.placing import Spot, around
from fallwork.figures.record import channels_of, run_position, trial_of
from fallwork.figures.scene import CannotDrawError, Plate, Scene, plate, say
from fallwork.lesson.measured.words import shown
from fallwork.measurement.model import FoundRun, Measurand, Trial
from fallwork.measurement.view import view_of
from fallwork.mechanics.solution import Force, Interaction

HEIGHT = 130.0  # pt
NEEDED = (Measurand.MEAN_TENSION, Measurand.WORK_OF_TENSION)


def tension_work(scene: Scene) -> Plate:
    """The pull of a string on one object, from the start to the end of the first phase."""
    force = _force(scene)
    distance = abs(scene.phase.displacements.get(force.on) or 0.0)
    if not distance or not force.work:
        raise CannotDrawError(f"the {force.name} does no work")
    along = force.work / distance  # N, constant within a phase
    drawing = Drawing()
    work = scene.symbol(f"work.{force.name}") or say("work-work")
    area = (work, f"= {scene.number(force.work, 'J')}")
    panel = _draw(drawing, (along,), scene.the(force.on), distance, along, area)
    tension = scene.label(force.name) or say("work-pull")
    angles = (90.0, -90.0) if along > 0 else (-90.0, 90.0)
    spots = around(panel.at(distance / 2, along), angles=angles)
    size = f"= {scene.number(force.size or 0.0, 'N')}"
    drawing.label((tension, size), at=spots, role="accent-1")
    against = "-against" if along < 0 else ""  # a tension is a size and has no sign itself
    words = {
        "object": scene.the(force.on),
        "tension": scene.number(along, "N"),
        "size": scene.number(abs(along), "N"),
        "distance": scene.number(distance, "m"),
        "work": scene.number(force.work, "J"),
    }
    said, caption = (say(f"work-{part}{against}", **words) for part in ("description", "caption"))
    return plate(drawing, "work", [said], [caption], **words)


def _force(scene: Scene) -> Force:
    """The force that the slot names, or the pull on the object that it names, or on the first."""
    subject = scene.slot.subject or default_object(scene)
    for force in scene.phase.forces:
        if force.interaction is not Interaction.TENSION or not force.vector:
            continue
        if subject == force.name or (subject == force.on and force.size):
            return force
    raise CannotDrawError(f"no string pulls {subject!r}")


def _draw(
    drawing: Drawing,
    forces: Iterable[float],
    whose: str,
    distance: float,
    force: float,
    work: Line,
    share: float = 0.5,
) -> Panel:
    """Axes for ``forces`` in N, with the area below a constant one of them as its work.

    The words of the area stand at a ``share`` of its height.
    """
    (panel,) = panels((0.0, 1.12 * distance), with_room(forces, 0.3), height=HEIGHT)
    drawing.area(panel.part((0.0, 0.0), (distance, force)).corners, fill="tint-1", edge=None)
    panel.draw(drawing, x_title=say("work-distance", object=whose), y_title=say("work-tension"))
    start, end, foot = (panel.at(*at) for at in ((0, force), (distance, force), (distance, 0)))
    drawing.line(start, end, role="accent-1", width=2.2)
    drawing.line(end, foot, role="accent-1", width=1.0, dash=(3.5, 2.5))
    middle = Spot(at=panel.at(distance / 2, share * force), across=0.5, up=0.5)
    drawing.label(say("work-area"), work, at=[middle])
    return panel


def record_work(scene: Scene) -> Plate:
    """Readings of one trial within its run, their mean over the distance, and the area."""
    trial, _, run = trial_of(scene)
    if any(quantity not in trial.estimates for quantity in NEEDED) or trial.window is None:
        raise CannotDrawError(f"the record of {trial.name!r} has no force in the run")
    readings = _readings(trial, run)
    tension, work = (trial.estimates[quantity].value for quantity in NEEDED)
    distance = work / tension  # the measured one, or the given one that ends the run
    words = _words(scene, trial, distance)
    drawing = Drawing()
    forces = [tension, *(force for _, force in readings)]
    panel = _draw(drawing, forces, words["object"], distance, tension, words["work"], 0.45)
    dots(drawing, (panel.at(*reading) for reading in readings))
    x, y = panel.at(distance / 2, panel.y_range[1])
    spots = [Spot(at=(x, y - down), across=0.5, up=1.0) for down in (0.0, 8.0, -10.0)]
    drawing.label(say("record-work-mean", **words), at=spots, role="accent-1")
    return plate(drawing, "record-work", [say("record-work-description", **words)], **words)


def _readings(trial: Trial, run: FoundRun) -> list[tuple[float, float]]:
    """(position, force) of the readings in the stretch that was fitted, by the fitted line."""
    assert trial.record is not None  # as ``trial_of`` has seen
    force = next(c for c in channels_of(trial, trial.record, run) if c.name == "force")
    inside = (run.driven[0] <= force.time) & (force.time <= run.driven[1])
    start = trial.window[0] if trial.window is not None else run.driven[0]
    moved = run_position(run, force.time[inside]) - run_position(run, np.array(start))
    return list(zip(map(float, moved), map(float, force.values[inside]), strict=True))


def _words(scene: Scene, trial: Trial, distance: float) -> dict[str, str]:
    found = {"trial": trial.name, "object": scene.the(view_of(scene.scenario).moving)}
    found["distance"] = scene.number(distance, "m")
    for key, quantity, unit in (
        ("tension", Measurand.MEAN_TENSION, "N"),
        ("work", Measurand.WORK_OF_TENSION, "J"),
        ("distance", Measurand.DISTANCE, "m"),
    ):
        if estimate := trial.estimates.get(quantity):
            found[key] = shown(estimate, unit, scene.figures)
    return found
