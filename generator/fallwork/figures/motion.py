"""Velocity and position of one object against time: takes a solved run, plots its phases.

Positive is the lesson's sense of the object; time counts from the release.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

from fallwork.figures.charts import RIGHT, Panel, left_edge, panels, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.geometry import kind_of
from fallwork.figures.lettering import width_of
from fallwork.figures.placing import Point, Spot, around
from fallwork.figures.scene import CannotDrawError, Plate, Scene, plate, say
from fallwork.lesson.run import end_in_words
from fallwork.mechanics.solution import End, Phase, Role

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

    def speed_at(self, time: float) -> float:
        """m/s, a time after the start of the phase."""
        return self.speed + self.acceleration * time

    def position_at(self, time: float) -> float:
        """m, a time after the start of the phase."""
        return self.position + self.speed * time + self.acceleration * time**2 / 2

    @property
    def end(self) -> float:
        """s, from the release."""
        return self.start + self.duration

    @property
    def last(self) -> Point:
        """m/s and m, at the end."""
        return self.speed_at(self.duration), self.position_at(self.duration)

    def curve(self) -> list[Point]:
        """(s from the release, m) at moments close enough to look smooth."""
        times = (self.duration * step / SAMPLES for step in range(SAMPLES + 1))
        return [(self.start + time, self.position_at(time)) for time in times]


def motion(scene: Scene) -> Plate:
    """Two panels with a common time axis: velocity above, position below."""
    name = scene.slot.subject or default_object(scene)
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
    bodies = [n for n in scene.apparatus.bodies if kind_of(scene.apparatus, n) == "slider"]
    sliders = [n for n in bodies if scene.phase.displacements.get(n) != 0.0]
    return sliders[0] if sliders else scene.apparatus.run.object


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
        if found and not phase.start_velocities[name] and not phase.accelerations[name]:
            break  # it has landed, or stays at rest
        found.append(_part(phase, name, sense, found[-1] if found else None))
        if phase.duration is None or found[-1].duration < phase.duration:
            break
    return tuple(found)


def _part(phase: Phase, name: str, sense: float, before: Part | None) -> Part:
    most = LONGEST * before.end if before else None
    duration = most or 1.0 if phase.duration is None else phase.duration
    cut = most is not None and duration > most
    return Part(
        start=before.end if before else 0.0,
        duration=most if cut and most else duration,
        speed=sense * phase.start_velocities[name],
        acceleration=sense * phase.accelerations[name],
        position=before.last[1] if before else 0.0,
        ends=None if cut or phase.duration is None else phase.ends,
    )


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
        top, bottom = (upper.at(part.end, level) for level in reversed(upper.y_range))
        place, foot = (lower.at(part.end, y) for y in (part.last[1], lower.y_range[0]))
        for ends in ((top, bottom), (place, foot)):
            drawing.line(*ends, role="quiet", width=0.9, dash=(3.5, 2.5))
        drawing.label(letter, at=[_letter_spot(top)])
    for part in letters.values():
        speed, position = part.last
        for panel, value, unit, role in (
            (upper, speed, "m/s", "accent-5"),
            (lower, position, "m", "accent-1"),
        ):
            place = panel.at(part.end, value)
            drawing.disc(place, 2.4, fill="ink")
            spots = _value_spots(place, last=part is parts[-1])
            drawing.label(scene.number(value, unit), at=spots, role=role)
    y = drawing.extent()[0] - 6.0
    for letter, part in letters.items():
        event, time = end_in_words(part.ends, scene.noun), scene.number(part.end, "s")
        words = say("motion-key", letter=letter, ends=event, time=time)
        y = drawing.label(words, at=[Spot(at=(lower.box.left, y), across=0.0, up=1.0)]).bottom - 5.0


def _letter_spot(top: Point) -> Spot:
    """Above a broken line; beside it where the title of the axis stands above."""
    x, y = top
    if x < width_of(say("motion-velocity")) + LETTER:
        return Spot(at=(x + 3.0, y), across=0.0, up=1.0)
    return Spot(at=(x, y + 3.0), across=0.5, up=0.0)


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
        speed, position = part.last
        yield say(
            f"motion-{key}",
            speed=scene.number(speed, "m/s"),
            time=scene.number(part.end, "s"),
            position=scene.number(position, "m"),
            ends=f" ({end_in_words(part.ends, scene.the)})" if part.ends else "",
        )
    if parts[-1].ends is None:
        yield say("motion-goes-on")
