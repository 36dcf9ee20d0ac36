"""A record with the run that was found in it: velocity, position and force against time.

Takes a scene whose slot names a trial; plots its readings, the run as a shaded stretch, and the
lines that were fitted. Signs are those of the run, and the force's zero offset is taken off.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fallwork.figures.charts import dots, panels, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.placing import Point
from fallwork.figures.scene import CannotDrawError, Plate, Scene, plate, say
from fallwork.lesson.words import listing
from fallwork.measurement.model import Array, FoundRun, Measurand, Record, Trial

HEIGHT = 74.0  # pt, of each panel
BETWEEN = 28.0
ROOM = 0.12
SAMPLES = 24  # points of a curve
FEWEST_MARKS = 2  # a column with fewer readings isn't plotted
ROLES = {"velocity": "accent-5", "position": "accent-1", "force": "accent-1"}


@dataclass(frozen=True, kw_only=True)
class Channel:
    """One column of a record, its readings turned the way of the run."""

    name: str
    time: Array  # s
    values: Array  # SI
    lines: tuple[tuple[Point, ...], ...]  # what was fitted, in the units of the axes


def record(scene: Scene) -> Plate:
    """A panel for each column, with a common time axis."""
    trial, found, run = trial_of(scene)
    channels = channels_of(trial, found, run)
    drawing = Drawing()
    ranges = [with_room(map(float, channel.values), ROOM) for channel in channels]
    times = (float(found.time[0]), float(found.time[-1]))
    axes = panels(times, *ranges, height=HEIGHT, between=BETWEEN)
    for panel, channel in zip(axes, channels, strict=True):
        if trial.window is not None:
            begin, end = (min(max(t, times[0]), times[1]) for t in trial.window)
            run_box = panel.part((begin, panel.y_range[0]), (end, panel.y_range[1]))
            drawing.area(run_box.corners, fill="tint-5", edge=None)
        last = panel is axes[-1]
        time = say("motion-time") if last else ""
        panel.draw(drawing, x_title=time, y_title=say(f"record-{channel.name}"), numbers=last)
        readings = zip(map(float, channel.time), map(float, channel.values), strict=True)
        dots(drawing, (panel.at(*reading) for reading in readings))
        for line in channel.lines:
            drawing.line(*(panel.at(*p) for p in line), role=ROLES[channel.name], width=1.6)
    columns = listing([say(f"record-{channel.name}-word") for channel in channels])
    said = _description(scene, trial, run, channels)
    return plate(drawing, "record", said, trial=trial.name, columns=columns)


def trial_of(scene: Scene) -> tuple[Trial, Record, FoundRun]:
    """The trial that the slot names, with its record and the run in it."""
    trials = {} if scene.evidence is None else {t.name: t for t in scene.evidence.analysis.trials}
    trial = trials.get(scene.slot.subject)
    if trial is None or trial.record is None or trial.run is None:
        raise CannotDrawError(f"there is no record of {scene.slot.subject!r} with a run in it")
    return trial, trial.record, trial.run


def channels_of(trial: Trial, found: Record, run: FoundRun) -> tuple[Channel, ...]:
    """The columns that the record has."""
    made = []
    for name in ROLES:
        readings: Array | None = getattr(found, name)
        there = None if readings is None else np.isfinite(readings)
        if readings is None or there is None or there.sum() < FEWEST_MARKS:
            continue
        values = run.signs.get(name, 1) * readings[there]
        values = values - (run.force_offset or 0.0) if name == "force" else values
        time = found.time[there]
        lines = tuple(_lines(name, time, values, trial, run))
        made.append(Channel(name=name, time=time, values=values, lines=lines))
    return tuple(made)


def run_position(run: FoundRun, time: Array) -> Array:
    """m, along the fitted line; its zero is any."""
    speed, acceleration = run.driven_line
    return speed * time + acceleration * time**2 / 2


def _lines(
    name: str, time: Array, values: Array, trial: Trial, run: FoundRun
) -> Iterator[tuple[Point, ...]]:
    """The fitted lines of one column, as points."""
    begin, end = trial.window or run.driven
    if name == "velocity":
        speed, acceleration = run.driven_line
        yield tuple((t, speed + acceleration * t) for t in (begin, end))
        if run.coasting is not None and run.coasting_line is not None:
            first, slope = run.coasting_line
            yield tuple((t, first + slope * t) for t in (end, run.coasting[1]))
    elif name == "position":
        inside = (time >= run.driven[0]) & (time <= run.driven[1])
        above = values[inside] - run_position(run, time[inside])
        offset = float(np.mean(above)) if inside.any() else 0.0
        moments = np.linspace(begin, end, SAMPLES)
        path = offset + run_position(run, moments)
        yield tuple(zip(map(float, moments), map(float, path), strict=True))
    elif Measurand.MEAN_TENSION in trial.estimates:
        level = trial.estimates[Measurand.MEAN_TENSION].value
        yield ((begin, level), (end, level))


def _description(
    scene: Scene, trial: Trial, run: FoundRun, channels: Sequence[Channel]
) -> Iterator[str]:
    begin, end = trial.window or run.driven
    yield say("record-run", trial=trial.name, begin=f"{begin:.3f} s", end=f"{end:.3f} s")
    speed, acceleration = run.driven_line
    for channel in channels:
        if channel.name == "velocity":
            slope = scene.number(acceleration, "m/s²")
            last = scene.number(speed + acceleration * end, "m/s")
            yield say("record-says-velocity", acceleration=slope, speed=last)
        elif channel.name == "position":
            moved = channel.lines[0][-1][1] - channel.lines[0][0][1]
            yield say("record-says-position", distance=scene.number(moved, "m"))
        elif channel.lines:
            level = scene.number(channel.lines[0][0][1], "N")
            yield say("record-says-force", tension=level)
