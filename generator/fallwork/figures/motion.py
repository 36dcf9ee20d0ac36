"""The motion of one object against time, and the work of a pull on it against the distance moved.

Takes a solved run, or a record of one. Positive is the lesson's sense of the object; time counts
from the release. The distance counts along the way the object goes, and the force as it points
along that way, so that work done against the motion lies below the axis.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

import numpy as np

from fallwork.figures.charts import DASHES, Panel, panels, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.lettering import Line
from fallwork.figures.placing import Spot, around
from fallwork.figures.scene import CannotDrawError, Plate, Scene, plate, say
from fallwork.figures.trials import channels_of, run_position, trial_of
from fallwork.lesson.measured.words import shown
from fallwork.lesson.run import end_in_words
from fallwork.measurement.model import Measurand
from fallwork.measurement.view import view_of
from fallwork.mechanics.solution import End, Force, Interaction, Role

HEIGHT = 96.0  # pt, of each panel
BETWEEN = 30.0
LONGEST = 2.0  # a later phase is shown for at most so many times what went before
ROOM = 0.3  # beyond the extremes and beyond the end, for their values
SAMPLES = 24  # points of a curve
UNITS = ("m/s", "m")
ROLES = ("accent-5", "accent-1")
WORK_HEIGHT = 130.0  # pt, of a panel with an area
NEEDED = (Measurand.MEAN_TENSION, Measurand.WORK_OF_TENSION)


@dataclass(frozen=True, kw_only=True)
class Part:
    """One phase as it is plotted: SI, in the object's own sense."""

    start: float  # s
    duration: float  # s, as far as it is shown
    speed: float  # m/s at the start
    acceleration: float  # m/s²
    position: float  # m at the start
    ends: End | None  # what ends the phase, where that is shown

    @property
    def end(self) -> float:
        """s, from the release."""
        return self.start + self.duration

    def state(self, time: float) -> tuple[float, float]:
        """m/s and m, a time after the start of the phase."""
        gained = self.acceleration * time
        moved = self.speed * time + gained * time / 2
        turns = math.isclose(self.speed, -gained, rel_tol=1e-9)  # no rounding left of nothing
        return 0.0 if turns else self.speed + gained, self.position + moved

    @property
    def last(self) -> tuple[float, float]:
        """The same at its end."""
        return self.state(self.duration)

    @property
    def states(self) -> list[tuple[float, float, float]]:
        """s from the release, m/s and m, at moments close enough to look smooth."""
        times = (self.duration * step / SAMPLES for step in range(SAMPLES + 1))
        return [(self.start + time, *self.state(time)) for time in times]


def motion(scene: Scene) -> Plate:
    """Two panels with a common time axis: velocity above, position below."""
    name = scene.subject or default_object(scene)
    parts = parts_of(scene, name)
    if not scene.solution.moves or not parts:
        raise CannotDrawError(f"{name!r} doesn't move")
    speeds, positions = zip(*(state[1:] for part in parts for state in part.states), strict=True)
    times, drawing = (0.0, (1.0 + ROOM) * parts[-1].end), Drawing()
    ranges = (with_room(speeds, ROOM), with_room(positions, ROOM))
    upper, lower = both = panels(drawing, times, *ranges, height=HEIGHT, between=BETWEEN)
    upper.axes(say("motion-velocity"), numbers=False)
    lower.axes(say("motion-position"), say("motion-time"))
    for part in parts:
        ends = part.states[::SAMPLES]
        upper.line(*((time, speed) for time, speed, _ in ends), role=ROLES[0], width=1.8)
        lower.line(*((time, x) for time, _, x in part.states), role=ROLES[1], width=1.8)
    _mark_ends(scene, parts, both)
    words = {"object": scene.the(name)}
    caption = [say("motion-caption-turns", **words)] if parts[0].speed < 0 else []
    return plate(drawing, "motion", _description(scene, name, parts), caption, **words)


def default_object(scene: Scene) -> str:
    """The first thing that moves on a surface, else the object of the run."""
    bodies = (name for name, body in scene.apparatus.bodies.items() if body.surface)
    moved = (name for name in bodies if scene.phase.displacements.get(name) != 0.0)
    return next(moved, scene.apparatus.run.object)


def path_object(scene: Scene) -> str:
    """By whose path a run is told: as above, but the run's own object if that goes another way."""
    usual, given = default_object(scene), scene.apparatus.run.object
    paths = [abs(scene.phase.displacements.get(name) or 0.0) for name in (usual, given)]
    return usual if math.isclose(*paths, rel_tol=1e-9) or not paths[1] else given


def parts_of(scene: Scene, name: str) -> tuple[Part, ...]:
    """The phases of an object as far as they are shown."""
    found: list[Part] = []
    for phase in scene.solution.phases:
        if phase.role is Role.LANDING or phase.duration == 0.0 or name not in phase.accelerations:
            continue
        sense = float(scene.senses[name])
        speed, acceleration = phase.start_velocities[name], phase.accelerations[name]
        if found and not speed and not acceleration:
            break  # it has landed, or stays at rest
        start, position = (found[-1].end, found[-1].last[1]) if found else (0.0, 0.0)
        duration, most = phase.duration, LONGEST * start or math.inf
        whole = duration is not None and duration <= most
        shown = min(most, math.inf if duration is None else duration)
        part = Part(
            start=start,
            duration=1.0 if shown == math.inf else shown,
            speed=sense * speed,
            acceleration=sense * acceleration,
            position=position,
            ends=phase.ends if whole else None,
        )
        found.append(part)
        if not whole:
            break
    return tuple(found)


def _mark_ends(scene: Scene, parts: Sequence[Part], both: Sequence[Panel]) -> None:
    """Where phases end: broken lines with a letter, the values on it, and a key below."""
    upper, lower = both
    drawing, look = upper.drawing, {"role": "quiet", "width": 0.9, "dash": DASHES}
    letters = dict(zip(ascii_uppercase, (part for part in parts if part.ends), strict=False))
    for letter, part in letters.items():
        low, high = upper.y_range
        upper.line((part.end, high), (part.end, low), **look)
        lower.line((part.end, part.last[1]), (part.end, lower.y_range[0]), **look)
        drawing.label(letter, at=[Spot(upper.at(part.end, high) + 3.0, 0.0, 1.0)])
    for part in letters.values():
        for panel, unit, role, value in zip(both, UNITS, ROLES, part.last, strict=True):
            place = panel.at(part.end, value)
            drawing.disc(place, 2.4, fill="ink")
            spots = [*around(place, angles=(0.0, -30.0, 30.0), gaps=[6.0])]
            spots = spots if part is parts[-1] else []  # to its right there is nothing else
            angles = (135.0, -45.0, -135.0, 45.0, 90.0, 180.0, 0.0, -120.0, -60.0, 120.0, 60.0)
            spots += around(place, angles=angles, gaps=(8.0, 16.0, 24.0))
            drawing.label(scene.number(value, unit), at=spots, role=role)
    y = drawing.extent()[0] - 6.0
    for letter, part in letters.items():
        event, time = end_in_words(part.ends, scene.noun), scene.number(part.end, "s")
        words = say("motion-key", letter=letter, ends=event, time=time)
        y = drawing.label(words, at=[Spot(complex(lower.box.left, y), 0.0, 1.0)]).bottom - 5.0


def _description(scene: Scene, name: str, parts: Sequence[Part]) -> Iterator[str]:
    start = scene.number(parts[0].speed, "m/s")
    yield say("motion-start", object=scene.the(name), speed=start)
    for part in parts:
        key = "rises" if part.acceleration > 0 else "falls" if part.acceleration < 0 else "stays"
        speed, position = map(scene.number, part.last, UNITS)
        ends = f" ({end_in_words(part.ends, scene.the)})" if part.ends else ""
        words = {"time": scene.number(part.end, "s"), "speed": speed, "position": position}
        yield say(f"motion-{key}", ends=ends, **words)
    if parts[-1].ends is None:
        yield say("motion-goes-on")


# Work.


def tension_work(scene: Scene) -> Plate:
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
    return plate(panel.drawing, "work", [said], [caption], **words)


def _force(scene: Scene) -> Force:
    """The force that the slot names, or the pull on the object that it names, or on the first."""
    subject = scene.subject or default_object(scene)
    for force in scene.phase.forces:
        named = subject == force.name or (subject == force.on and force.size)
        if named and force.interaction is Interaction.TENSION and force.vector:
            return force
    raise CannotDrawError(f"no string pulls {subject!r}")


def _panel(
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
    ranges = ((0.0, 1.12 * distance), with_room(forces, 0.3))
    (panel,) = panels(Drawing(), *ranges, height=WORK_HEIGHT)
    panel.shade((0.0, 0.0), (distance, force), "tint-1")
    panel.axes(say("work-tension"), say("work-distance", object=whose))
    panel.line((0.0, force), (distance, force), role="accent-1", width=2.2)
    panel.line((distance, force), (distance, 0.0), role="accent-1", width=1.0, dash=DASHES)
    middle = Spot(panel.at(distance / 2, share * force), 0.5, 0.5)
    panel.drawing.label(say("work-area"), work, at=[middle])
    return panel


def record_work(scene: Scene) -> Plate:
    """Readings of one trial within its run, their mean over the distance, and the area."""
    trial, found, run = trial_of(scene)
    if any(quantity not in trial.estimates for quantity in NEEDED) or trial.window is None:
        raise CannotDrawError(f"the record of {trial.name!r} has no force in the run")
    force = next(c for c in channels_of(trial, found, run) if c.name == "force")
    inside = (run.driven[0] <= force.time) & (force.time <= run.driven[1])
    start = run_position(run, np.array(trial.window[0]))
    moved, pulls = run_position(run, force.time[inside]) - start, force.values[inside].tolist()
    tension, work = (trial.estimates[quantity].value for quantity in NEEDED)
    distance = work / tension  # the measured one, or the given one that ends the run
    words = {"trial": trial.name, "object": scene.the(view_of(scene.scenario).moving)}
    words["distance"] = scene.number(distance, "m")
    measured = (*NEEDED, Measurand.DISTANCE)
    for key, quantity, unit in zip(("tension", "work", "distance"), measured, "NJm", strict=True):
        if estimate := trial.estimates.get(quantity):
            words[key] = shown(estimate, unit, scene.figures)
    forces = [tension, *pulls]
    panel = _panel(forces, words["object"], distance, tension, words["work"], 0.45)
    panel.dots(zip(moved.tolist(), pulls, strict=True))
    top = panel.at(distance / 2, panel.y_range[1])
    spots = [Spot(top - down, 0.5, 1.0) for down in (0j, 8j, -10j)]
    panel.drawing.label(say("record-work-mean", **words), at=spots, role="accent-1")
    said = [say("record-work-description", **words)]
    return plate(panel.drawing, "record-work", said, **words)
