"""Velocity and position of one object against time: takes a solved run, plots its phases.

Positive is the lesson's sense of the object; time counts from the release.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

from fallwork.figures.charts import DASHES, Panel, panels, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.placing import Spot, around
from fallwork.figures.scene import CannotDrawError, Plate, Scene, plate, say
from fallwork.lesson.run import end_in_words
from fallwork.mechanics.solution import End, Role

HEIGHT = 96.0  # pt, of each panel
BETWEEN = 30.0
LONGEST = 2.0  # a later phase is shown for at most so many times what went before
ROOM = 0.3  # beyond the extremes and beyond the end, for their values
SAMPLES = 24  # points of a curve
UNITS = ("m/s", "m")
ROLES = ("accent-5", "accent-1")


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
        moved = self.speed * time + self.acceleration * time**2 / 2
        return self.speed + self.acceleration * time, self.position + moved

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
