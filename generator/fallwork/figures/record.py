"""A record with the run that was found in it: velocity, position and force against time.

Takes a scene whose slot names a trial; plots its readings, the run as a shaded stretch, and the
lines that were fitted. Signs are those of the run, and the force's zero offset is taken off.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fallwork.figures.charts import Pair, panels, with_room
from fallwork.figures.drawing import Drawing
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
    lines: tuple[Array, ...]  # what was fitted, each (points, 2) in the units of the axes

    @property
    def readings(self) -> list[Pair]:
        """Times and values."""
        return list(zip(self.time.tolist(), self.values.tolist(), strict=True))


def record(scene: Scene) -> Plate:
    """A panel for each column, with a common time axis."""
    trial, found, run = trial_of(scene)
    channels = channels_of(trial, found, run)
    drawing = Drawing()
    ranges = [with_room(channel.values.tolist(), ROOM) for channel in channels]
    first, last = float(found.time[0]), float(found.time[-1])
    plots = panels(drawing, (first, last), *ranges, height=HEIGHT, between=BETWEEN)
    for panel, channel in zip(plots, channels, strict=True):
        if trial.window is not None:
            begin, end = np.clip(trial.window, first, last).tolist()
            panel.shade((begin, panel.y_range[0]), (end, panel.y_range[1]), "tint-5")
        lowest = panel is plots[-1]
        time = say("motion-time") if lowest else ""
        panel.axes(say(f"record-{channel.name}"), time, numbers=lowest)
        panel.dots(channel.readings)
        for line in channel.lines:
            panel.line(*line.tolist(), role=ROLES[channel.name], width=1.6)
    columns = listing([say(f"record-{channel.name}-word") for channel in channels])
    said = _description(scene, trial, run, channels)
    return plate(drawing, "record", said, trial=trial.name, columns=columns)


def trial_of(scene: Scene) -> tuple[Trial, Record, FoundRun]:
    """The trial that the slot names, with its record and the run in it."""
    for trial in scene.evidence.analysis.trials if scene.evidence else ():
        if trial.name == scene.subject and trial.record is not None and trial.run is not None:
            return trial, trial.record, trial.run
    raise CannotDrawError(f"there is no record of {scene.subject!r} with a run in it")


def channels_of(trial: Trial, found: Record, run: FoundRun) -> tuple[Channel, ...]:
    """The columns that the record has."""
    made = []
    for name in ROLES:
        readings: Array | None = getattr(found, name)
        there = np.isfinite([] if readings is None else readings)
        if readings is not None and there.sum() >= FEWEST_MARKS:
            offset = (run.force_offset or 0.0) if name == "force" else 0.0
            time, values = found.time[there], run.signs.get(name, 1) * readings[there] - offset
            lines = tuple(_lines(name, time, values, trial, run))
            made.append(Channel(name=name, time=time, values=values, lines=lines))
    return tuple(made)


def run_position(run: FoundRun, time: Array) -> Array:
    """m, along the fitted line; its zero is any."""
    speed, acceleration = run.driven_line
    return speed * time + acceleration * time**2 / 2


def _lines(name: str, time: Array, values: Array, trial: Trial, run: FoundRun) -> Iterator[Array]:
    """The fitted lines of one column."""
    begin, end = trial.window or run.driven
    ends = np.array([begin, end])
    if name == "velocity":
        yield _line(ends, *run.driven_line)
        if run.coasting is not None and run.coasting_line is not None:
            yield _line(np.array([end, run.coasting[1]]), *run.coasting_line)
    elif name == "position":
        inside = (time >= run.driven[0]) & (time <= run.driven[1])
        above = values[inside] - run_position(run, time[inside])
        offset = float(np.mean(above)) if inside.any() else 0.0
        moments = np.linspace(begin, end, SAMPLES)
        yield np.column_stack([moments, offset + run_position(run, moments)])
    elif Measurand.MEAN_TENSION in trial.estimates:
        yield _line(ends, trial.estimates[Measurand.MEAN_TENSION].value, 0.0)


def _line(times: Array, first: float, slope: float) -> Array:
    return np.column_stack([times, first + slope * times])


def _description(
    scene: Scene, trial: Trial, run: FoundRun, channels: Sequence[Channel]
) -> Iterator[str]:
    begin, end = trial.window or run.driven
    yield say("record-run", trial=trial.name, begin=f"{begin:.3f} s", end=f"{end:.3f} s")
    speed, acceleration = run.driven_line
    for channel in channels:
        for line in channel.lines[:1]:
            words = {
                "acceleration": scene.number(acceleration, "m/s²"),
                "speed": scene.number(speed + acceleration * end, "m/s"),
                "distance": scene.number(line[-1, 1] - line[0, 1], "m"),
                "tension": scene.number(line[0, 1], "N"),
            }
            yield say(f"record-says-{channel.name}", **words)
