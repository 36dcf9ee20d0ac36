"""Velocity and position of one object against time: takes a solved run, plots its phases.

Positive is the lesson's sense of the object; time counts from the release.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

from fallwork.figures.charts import RIGHT, Panel, left_edge, panels, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.lettering import width_of
from fallwork.figures.placing import Point, Spot, around
from fallwork.figures.scene import CannotDrawError, Plate, Scene, plate, say
from fallwork.lesson.run import end_in_words
from fallwork.mechanics.solution import End, Role

HEIGHT = 96.0  # pt, of each panel
BETWEEN = 30.0
LETTER = 10.0  # pt from the end of a title to the middle of a letter that stands clear of it
LONGEST = 2.0  # a later phase is shown for at most so many times what went before
ROOM = 0.3  # beyond the extremes, for their values
SAMPLES = 24  # points of a curve


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

    def state(self, time: float) -> Point:
        """m/s and m, a time after the start of the phase."""
        moved = self.speed * time + self.acceleration * time**2 / 2
        return self.speed + self.acceleration * time, self.position + moved

    @property
    def last(self) -> Point:
        """The same at its end."""
        return self.state(self.duration)

    def curve(self) -> list[Point]:
        """(s from the release, m) at moments close enough to look smooth."""
        times = (self.duration * step / SAMPLES for step in range(SAMPLES + 1))
        return [(self.start + time, self.state(time)[1]) for time in times]


def motion(scene: Scene) -> Plate:
    """Two panels with a common time axis: velocity above, position below."""
    name = scene.subject or default_object(scene)
    parts = parts_of(scene, name)
    if not scene.solution.moves or not parts:
        raise CannotDrawError(f"{name!r} doesn't move")
    drawing = Drawing()
    upper, lower = _panels(scene, parts)
    upper.draw(drawing, y_title=say("motion-velocity"), numbers=False)
    lower.draw(drawing, x_title=say("motion-time"), y_title=say("motion-position"))
    for part in parts:
        ends = (upper.at(part.start, part.speed), upper.at(part.end, part.last[0]))
        drawing.line(*ends, role="accent-5", width=1.8)
        curve = (lower.at(*point) for point in part.curve())
        drawing.line(*curve, role="accent-1", width=1.8)
    _mark_ends(drawing, scene, parts, upper, lower)
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
    sense = float(scene.senses[name])
    for phase in scene.solution.phases:
        if phase.role is Role.LANDING or phase.duration == 0.0 or name not in phase.accelerations:
            continue
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


def _panels(scene: Scene, parts: Sequence[Part]) -> tuple[Panel, ...]:
    """Beyond the end there is room for its values."""
    speeds = with_room([v for part in parts for v in (part.speed, part.last[0])], ROOM)
    positions = with_room([x for part in parts for _, x in part.curve()], ROOM)
    room = width_of(scene.number(parts[-1].last[0], "m/s")) + 8.0
    share = room / (RIGHT - left_edge(speeds, positions))
    times = (0.0, parts[-1].end / (1.0 - share))
    return panels(times, speeds, positions, height=HEIGHT, between=BETWEEN)


def _mark_ends(
    drawing: Drawing, scene: Scene, parts: Sequence[Part], upper: Panel, lower: Panel
) -> None:
    """Where phases end: broken lines with a letter, the values on it, and a key below."""
    letters = dict(zip(ascii_uppercase, (part for part in parts if part.ends), strict=False))
    for letter, part in letters.items():
        (x, y), bottom = (upper.at(part.end, level) for level in reversed(upper.y_range))
        place, foot = (lower.at(part.end, level) for level in (part.last[1], lower.y_range[0]))
        for ends in (((x, y), bottom), (place, foot)):
            drawing.line(*ends, role="quiet", width=0.9, dash=(3.5, 2.5))
        spot = Spot(at=(x, y + 3.0), across=0.5, up=0.0)
        if x < width_of(say("motion-velocity")) + LETTER:  # the axis has its title above there
            spot = Spot(at=(x + 3.0, y), across=0.0, up=1.0)
        drawing.label(letter, at=[spot])
    looks = ((upper, "m/s", "accent-5"), (lower, "m", "accent-1"))
    for part in letters.values():
        for (panel, unit, role), value in zip(looks, part.last, strict=True):
            place = panel.at(part.end, value)
            drawing.disc(place, 2.4, fill="ink")
            spots = _value_spots(place, last=part is parts[-1])
            drawing.label(scene.number(value, unit), at=spots, role=role)
    y = drawing.extent()[0] - 6.0
    for letter, part in letters.items():
        event, time = end_in_words(part.ends, scene.noun), scene.number(part.end, "s")
        words = say("motion-key", letter=letter, ends=event, time=time)
        y = drawing.label(words, at=[Spot(at=(lower.box.left, y), across=0.0, up=1.0)]).bottom - 5.0


def _value_spots(point: Point, *, last: bool) -> Iterator[Spot]:
    """Round a point of a curve; to the right of the last one there is nothing else."""
    if last:
        yield from around(point, angles=(0.0, -30.0, 30.0), gaps=[6.0])
    yield from around(point, angles=(135.0, -45.0, -135.0, 45.0, 90.0), gaps=[8.0])
    yield from around(point, angles=(180.0, 0.0), gaps=[6.0])
    yield from around(point, angles=(-120.0, -60.0, 120.0, 60.0), gaps=(16.0, 24.0))


def _description(scene: Scene, name: str, parts: Sequence[Part]) -> Iterator[str]:
    start = scene.number(parts[0].speed, "m/s")
    yield say("motion-start", object=scene.the(name), speed=start)
    for part in parts:
        key = "rises" if part.acceleration > 0 else "falls" if part.acceleration < 0 else "stays"
        values = zip(("speed", "position"), part.last, ("m/s", "m"), strict=True)
        words = {word: scene.number(value, unit) for word, value, unit in values}
        ends = f" ({end_in_words(part.ends, scene.the)})" if part.ends else ""
        yield say(f"motion-{key}", time=scene.number(part.end, "s"), ends=ends, **words)
    if parts[-1].ends is None:
        yield say("motion-goes-on")
