"""Velocity and position of one object against time: takes a solved run, plots its phases.

Positive is the lesson's sense of the object; time counts from the release.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from string import ascii_uppercase

from fallwork.figures.canvas import WORD_SIZE, Box, Point, measure
from fallwork.figures.charts import RIGHT, Panel, left_edge, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.geometry import kind_of
from fallwork.figures.labels import Spot, Words
from fallwork.figures.scene import CannotDrawError, Plate, Scene, say, sentence
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


def motion(scene: Scene) -> Plate:
    """Two panels with a common time axis."""
    name = scene.slot.subject or default_object(scene)
    parts = parts_of(scene, name)
    if not scene.solution.moves or not parts:
        raise CannotDrawError(f"{name!r} doesn't move")
    drawing = Drawing()
    upper, lower = _panels(scene, parts)
    upper.draw(drawing, x_title="", y_title=say("motion-velocity"), numbers=False)
    lower.draw(drawing, x_title=say("motion-time"), y_title=say("motion-position"))
    for part in parts:
        ends = ((part.start, part.speed), (part.end, part.speed_at(part.duration)))
        drawing.line(*(upper.at(*end) for end in ends), role="accent-5", width=1.8)
        curve = (lower.at(part.start + t, part.position_at(t)) for t in _times(part))
        drawing.line(*curve, role="accent-1", width=1.8)
    _mark_ends(drawing, scene, parts, upper, lower)
    return Plate(
        sheet=drawing.sheet(),
        title=say("motion-title", object=scene.the(name)),
        description=_description(scene, name, parts),
        caption=say(f"motion-caption{_turns(parts)}", object=scene.the(name)),
    )


def _turns(parts: Sequence[Part]) -> str:
    """The ending of the caption's key where the object turns round."""
    return "-turns" if parts[0].speed < 0 else ""


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
        position=before.position_at(before.duration) if before else 0.0,
        ends=None if cut or phase.duration is None else phase.ends,
    )


def _times(part: Part) -> list[float]:
    return [part.duration * step / SAMPLES for step in range(SAMPLES + 1)]


def _panels(scene: Scene, parts: Sequence[Part]) -> tuple[Panel, Panel]:
    """Velocity above, position below; beyond the end there is room for its values."""
    speeds = with_room([p.speed_at(t) for p in parts for t in (0.0, p.duration)], ROOM)
    positions = with_room([p.position_at(t) for p in parts for t in _times(p)], ROOM)
    left = left_edge(speeds, positions)
    last = scene.number(parts[-1].speed_at(parts[-1].duration), "m/s")
    room = (measure(last, WORD_SIZE)[0] + 8.0) / (RIGHT - left)
    times = (0.0, parts[-1].end / (1.0 - room))
    upper, lower = (
        Panel(
            box=Box(left=left, bottom=bottom, right=RIGHT, top=bottom + HEIGHT),
            x_range=times,
            y_range=y_range,
        )
        for y_range, bottom in ((speeds, HEIGHT + BETWEEN), (positions, 0.0))
    )
    return upper, lower


def _mark_ends(
    drawing: Drawing, scene: Scene, parts: Sequence[Part], upper: Panel, lower: Panel
) -> None:
    """Where phases end: broken lines with a letter, the values on it, and a key below."""
    shown = [part for part in parts if part.ends]
    letters = dict(zip(shown, ascii_uppercase, strict=False))
    for part, letter in letters.items():
        top, bottom = (upper.at(part.end, level) for level in reversed(upper.y_range))
        place = lower.at(part.end, part.position_at(part.duration))
        foot = lower.at(part.end, lower.y_range[0])
        for ends in ((top, bottom), (place, foot)):
            drawing.line(*ends, role="quiet", width=0.9, dash=(3.5, 2.5))
        drawing.label(Words(lines=((letter,),)), (_letter_spot(top),))
    for part in shown:
        speed, position = part.speed_at(part.duration), part.position_at(part.duration)
        for panel, value, unit, role in (
            (upper, speed, "m/s", "accent-5"),
            (lower, position, "m", "accent-1"),
        ):
            place = panel.at(part.end, value)
            drawing.disc(place, 2.4, fill="ink")
            text = Words(lines=((scene.number(value, unit),),))
            drawing.label(text, _value_spots(place, last=part is parts[-1]), role=role)
    y = drawing.extent()[0] - 6.0
    for part, letter in letters.items():
        words = say(
            "motion-key",
            letter=letter,
            ends=end_in_words(part.ends, scene.noun),
            time=scene.number(part.end, "s"),
        )
        spot = Spot(at=(lower.box.left, y), across=0.0, up=1.0)
        y = drawing.label(Words(lines=((words,),)), (spot,)).bottom - 5.0


def _letter_spot(top: Point) -> Spot:
    """Above a broken line; beside it where the title of the axis stands above."""
    x, y = top
    title = measure(say("motion-velocity"), WORD_SIZE)[0]
    if x < title + LETTER:
        return Spot(at=(x + 3.0, y), across=0.0, up=1.0)
    return Spot(at=(x, y + 3.0), across=0.5, up=0.0)


def _value_spots(point: Point, *, last: bool) -> list[Spot]:
    """Round a point of a curve; to the right of the last one there is nothing else."""
    x, y = point
    right, left = (6.0, 0.0), (-6.0, 1.0)
    upper, middle, lower = (6.0, 0.0), (0.0, 0.5), (-6.0, 1.0)
    around = [(left, upper), (right, lower), (left, lower), (right, upper), ((0.0, 0.5), upper)]
    if last:
        around = [(right, middle), (right, lower), (right, upper), *around]
    around += [(left, middle), (right, middle), (left, (-14.0, 1.0)), (right, (-14.0, 1.0))]
    around += [(left, (14.0, 0.0)), (right, (14.0, 0.0))]
    return [Spot(at=(x + dx, y + dy), across=across, up=up) for (dx, across), (dy, up) in around]


def _description(scene: Scene, name: str, parts: Sequence[Part]) -> str:
    said = [say("motion-start", object=scene.the(name), speed=scene.number(parts[0].speed, "m/s"))]
    for part in parts:
        key = "rises" if part.acceleration > 0 else "falls" if part.acceleration < 0 else "stays"
        said.append(
            say(
                f"motion-{key}",
                speed=scene.number(part.speed_at(part.duration), "m/s"),
                time=scene.number(part.end, "s"),
                position=scene.number(part.position_at(part.duration), "m"),
                ends=f" ({end_in_words(part.ends, scene.the)})" if part.ends else "",
            )
        )
    if parts[-1].ends is None:
        said.append(say("motion-goes-on"))
    return " ".join(sentence(part) for part in said)
