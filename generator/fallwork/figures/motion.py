"""Motion against time: of one object as it was solved, and as the record of a trial has it.

Positive is the lesson's sense of the object, in a record that of its run; time counts from the
release, in a record from its start. A record's force has its zero offset taken off; the run is a
shaded stretch.
"""

import math
from collections.abc import Iterator, Sequence
from string import ascii_uppercase
from typing import NamedTuple

import numpy as np

from fallwork.figures.charts import DASHES, Pair, Panel, Range, panels, with_room
from fallwork.figures.placing import Spot, around
from fallwork.figures.scene import CannotDrawError, Figure, Scene, figure, say
from fallwork.lesson.words import end_in_words
from fallwork.measurement.model import Array, FoundRun, Measurand, Record, Trial
from fallwork.mechanics.solution import End, Role
from fallwork.scenario.report import listed

LONGEST = 2.0  # a later phase is shown for at most so many times what went before
ROOM = 0.3  # beyond the extremes and beyond the end, for their values
SOLVED, MEASURED = (ROOM, 1.8, 96.0, 30.0), (0.12, 1.6, 74.0, 28.0)
# ^ room beyond the extremes; in pt the width of lines, the height of panels, between two of them
SAMPLES = 24  # points of a curve
FEWEST_MARKS = 2  # a column with fewer readings isn't plotted
UNITS = ("m/s", "m")
ROLES = {"velocity": "accent-5", "position": "accent-1", "force": "accent-1"}


class Series(NamedTuple):
    """What one panel has against time, SI; points are pairs of time and value."""

    name: str  # of its words and its colour
    lines: Sequence[Array]  # solved or fitted, each (points, 2)
    readings: Sequence[Pair] = ()


def _over_time(
    series: Sequence[Series], times: Range, look: Sequence[float], run: Pair = ()
) -> tuple[Panel, ...]:
    """A panel for each, below each other, with a common time axis; the ``run`` is shaded."""
    room, width, height, between = look
    points = (each.readings or np.vstack(each.lines).tolist() for each in series)
    ranges = [with_room((y for _, y in each), room) for each in points]
    plots = panels(times, *ranges, height=height, between=between)
    for panel, each in zip(plots, series, strict=True):
        if run:
            panel.shade((run[0], panel.y_range[0]), (run[1], panel.y_range[1]), "tint-5")
        lowest = panel is plots[-1]
        time = say("series-time") if lowest else ""
        panel.axes(say(f"series-{each.name}"), time, x_numbers=lowest)
        panel.dots(each.readings)
        for line in each.lines:
            panel.line(*line.tolist(), role=ROLES[each.name], width=width)
    return plots


# As it was solved.


class Part(NamedTuple):
    """One phase of an object as far as it is shown: SI, in its own sense."""

    times: Array  # from the release
    speeds: Array
    positions: Array
    ends: End | None  # what ends the phase, where that is shown

    @property
    def last(self) -> tuple[float, float, float]:
        """Time, velocity and position at its end."""
        return float(self.times[-1]), float(self.speeds[-1]), float(self.positions[-1])


def motion(scene: Scene) -> Figure:
    """Velocity above, position below."""
    name = scene.subject or default_object(scene)
    parts = parts_of(scene, name)
    if not any(part.speeds.any() for part in parts):
        raise CannotDrawError(f"{name!r} doesn't move")
    speeds = [np.column_stack(part[:2])[::SAMPLES] for part in parts]
    positions = [np.column_stack((part.times, part.positions)) for part in parts]
    both = Series("velocity", speeds), Series("position", positions)
    times = (0.0, (1.0 + ROOM) * parts[-1].last[0])
    plots = _over_time(both, times, SOLVED)
    _mark_ends(scene, parts, plots)
    words = {"object": scene.the(name)}
    caption = [say("motion-caption-turns", **words)] if parts[0].speeds[0] < 0 else []
    said = _description(scene, name, parts)
    return figure(scene, plots[0].drawing, "motion", said, caption, **words)


def default_object(scene: Scene) -> str:
    """The first thing that moves on a surface, else the object of the run."""
    moved = (name for name in scene.sliders if scene.phase.displacements.get(name) != 0.0)
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
        given = (phase.start_velocities, phase.accelerations)
        speed, acceleration = (sense * each[name] for each in given)
        if found and not speed and not acceleration:
            break  # it has landed, or stays at rest
        start, _, position = found[-1].last if found else (0.0, 0.0, 0.0)
        duration = math.inf if phase.duration is None else phase.duration
        shown = min(LONGEST * start or math.inf, duration)
        time = np.linspace(0.0, 1.0 if shown == math.inf else shown, SAMPLES + 1)
        speeds = speed + acceleration * time
        if math.isclose(speed, -acceleration * time[-1], rel_tol=1e-9):
            speeds[-1] = 0.0  # no rounding left of nothing
        positions = position + speed * time + acceleration * time**2 / 2
        whole = shown == phase.duration
        found.append(Part(start + time, speeds, positions, phase.ends if whole else None))
        if not whole:
            break
    return tuple(found)


def _mark_ends(scene: Scene, parts: Sequence[Part], plots: Sequence[Panel]) -> None:
    """Where phases end: broken lines with a letter, the values on it, and a key below."""
    upper, lower = plots
    drawing, look = upper.drawing, {"role": "quiet", "width": 0.9, "dash": DASHES}
    letters = dict(zip(ascii_uppercase, (part for part in parts if part.ends), strict=False))
    for letter, part in letters.items():
        (low, high), (end, _, position) = upper.y_range, part.last
        upper.line((end, high), (end, low), **look)
        lower.line((end, position), (end, lower.y_range[0]), **look)
        drawing.label(letter, at=[Spot(upper.at(end, high) + 3.0, 0.0, 1.0)])
    for part in letters.values():
        end, *values = part.last
        for panel, unit, role, value in zip(plots, UNITS, ROLES.values(), values, strict=False):
            place = panel.at(end, value)
            drawing.disc(place, 2.4, fill="ink")
            spots = [*around(place, angles=(0.0, -30.0, 30.0), gaps=[6.0])]
            spots = spots if part is parts[-1] else []  # to its right there is nothing else
            angles = (135.0, -45.0, -135.0, 45.0, 90.0, 180.0, 0.0, -120.0, -60.0, 120.0, 60.0)
            spots += around(place, angles=angles, gaps=(8.0, 16.0, 24.0))
            drawing.label(scene.number(value, unit), at=spots, role=role)
    y = drawing.extent()[0] - 6.0
    for letter, part in letters.items():
        event, time = end_in_words(part.ends, scene.noun), scene.number(part.last[0], "s")
        words = say("motion-key", letter=letter, ends=event, time=time)
        y = drawing.label(words, at=[Spot(complex(lower.box.left, y), 0.0, 1.0)]).bottom - 5.0


def _description(scene: Scene, name: str, parts: Sequence[Part]) -> Iterator[str]:
    start = scene.number(float(parts[0].speeds[0]), "m/s")
    yield say("motion-start", object=scene.the(name), speed=start)
    for part in parts:
        gain = part.speeds[-1] - part.speeds[0]
        key = "rises" if gain > 0 else "falls" if gain < 0 else "stays"
        time, speed, position = map(scene.number, part.last, ("s", *UNITS))
        ends = f" ({end_in_words(part.ends, scene.the)})" if part.ends else ""
        yield say(f"motion-{key}", ends=ends, time=time, speed=speed, position=position)
    if parts[-1].ends is None:
        yield say("motion-goes-on")


# As it was measured.


def record(scene: Scene) -> Figure:
    """A panel for each column of a record."""
    trial, found, run = trial_of(scene)
    series, times = series_of(trial, found, run), (float(found.time[0]), float(found.time[-1]))
    shaded = () if trial.window is None else np.clip(trial.window, *times).tolist()
    plots = _over_time(series, times, MEASURED, shaded)
    columns = listed([say(f"series-{each.name}-word") for each in series])
    (begin, end), (speed, slope) = trial.window or run.driven, run.driven_line
    said = [say("record-run", trial=trial.name, begin=f"{begin:.3f} s", end=f"{end:.3f} s")]
    words = {"acceleration": scene.number(slope, "m/s²")}
    words["speed"] = scene.number(speed + slope * end, "m/s")
    for name, line in ((each.name, each.lines[0]) for each in series if each.lines):
        words["distance"] = scene.number(line[-1, 1] - line[0, 1], "m")
        words["tension"] = scene.number(line[0, 1], "N")
        said.append(say(f"record-says-{name}", **words))
    return figure(scene, plots[0].drawing, "record", said, trial=trial.name, columns=columns)


def trial_of(scene: Scene) -> tuple[Trial, Record, FoundRun]:
    """The trial that the slot names, with its record and the run in it."""
    for trial in scene.evidence.analysis.trials if scene.evidence else ():
        if trial.name == scene.subject and trial.record is not None and trial.run is not None:
            return trial, trial.record, trial.run
    raise CannotDrawError(f"there is no record of {scene.subject!r} with a run in it")


def series_of(trial: Trial, found: Record, run: FoundRun) -> tuple[Series, ...]:
    """The columns that the record has, turned the way of the run, with what was fitted to them."""
    made = []
    for name in ROLES:
        readings: Array | None = getattr(found, name)
        there = np.isfinite([] if readings is None else readings)
        if readings is not None and there.sum() >= FEWEST_MARKS:
            offset = (run.force_offset or 0.0) if name == "force" else 0.0
            time, values = found.time[there], run.signs.get(name, 1) * readings[there] - offset
            lines = [*_fitted(name, time, values, trial, run)]
            made.append(Series(name, lines, np.column_stack([time, values]).tolist()))
    return tuple(made)


def run_position(run: FoundRun, time: Array) -> Array:
    """m, along the fitted line; its zero is any."""
    speed, acceleration = run.driven_line
    return speed * time + acceleration * time**2 / 2


def _fitted(name: str, time: Array, values: Array, trial: Trial, run: FoundRun) -> Iterator[Array]:
    """The lines of one column."""
    begin, end = trial.window or run.driven
    ends, flat = np.array([begin, end]), np.ones(2)
    if name == "velocity":
        lines = [(ends, run.driven_line)]
        if run.coasting is not None and run.coasting_line is not None:
            lines.append((np.array([end, run.coasting[1]]), run.coasting_line))
        for line, (first, slope) in lines:
            yield np.column_stack([line, first + slope * line])
    elif name == "position":
        inside = (time >= run.driven[0]) & (time <= run.driven[1])
        above = values[inside] - run_position(run, time[inside])
        offset = float(np.mean(above)) if inside.any() else 0.0
        moments = np.linspace(begin, end, SAMPLES)
        yield np.column_stack([moments, offset + run_position(run, moments)])
    elif Measurand.MEAN_TENSION in trial.estimates:
        yield np.column_stack([ends, trial.estimates[Measurand.MEAN_TENSION].value * flat])
