"""A record with the run that was found in it: velocity, position and force against time.

Takes a scene whose slot names a trial; plots its readings, the run as a shaded stretch, and the
lines that were fitted. Signs are those of the run, and the force's zero offset is taken off.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fallwork.figures.canvas import Box, Point
from fallwork.figures.charts import RIGHT, Panel, left_edge, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.labels import Spot, Words
from fallwork.figures.scene import CannotDrawError, Plate, Scene, say, sentence
from fallwork.lesson.words import listing
from fallwork.measurement.model import Array, FoundRun, Measurand, Record, Trial

HEIGHT = 74.0  # pt, of each panel
BETWEEN = 28.0
ROOM = 0.12
SAMPLES = 24  # points of a curve
DOT = 1.9  # pt
FEWEST_MARKS = 2  # a column with fewer readings isn't plotted
CHANNELS = ("velocity", "position", "force")
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
    panels = _panels(found, channels)
    for index, (panel, channel) in enumerate(zip(panels, channels, strict=True)):
        _shade(drawing, panel, trial)
        last = index == len(channels) - 1
        panel.draw(
            drawing,
            x_title=say("motion-time") if last else "",
            y_title=say(f"record-{channel.name}"),
            numbers=last,
        )
        dots(drawing, (panel.at(*pair) for pair in _pairs(channel)), role="quiet")
        for line in channel.lines:
            drawing.line(*(panel.at(*p) for p in line), role=ROLES[channel.name], width=1.6)
    mark_simulated(drawing, scene)
    words = {
        "trial": trial.name,
        "columns": listing([say(f"record-{c.name}-word") for c in channels]),
    }
    return Plate(
        sheet=drawing.sheet(),
        title=sentence(say("record-title", **words)),
        description=_description(scene, trial, run, channels),
        caption=sentence(with_source(scene, say("record-caption", **words))),
    )


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
    for name in CHANNELS:
        readings: Array | None = getattr(found, name)
        if readings is None:
            continue
        there = np.isfinite(readings)
        if there.sum() < FEWEST_MARKS:
            continue
        values = run.signs.get(name, 1) * readings[there]
        values = values - run.force_offset if name == "force" else values
        time = found.time[there]
        lines = tuple(_lines(name, time, values, trial, run))
        made.append(Channel(name=name, time=time, values=values, lines=lines))
    return tuple(made)


def _lines(
    name: str, time: Array, values: Array, trial: Trial, run: FoundRun
) -> Iterator[tuple[Point, ...]]:
    """The fitted lines of one column, as points."""
    begin, end = trial.window or run.driven
    speed, acceleration = run.driven_line
    if name == "velocity":
        yield tuple((t, speed + acceleration * t) for t in (begin, end))
        if run.coasting is not None and run.coasting_line is not None:
            first, slope = run.coasting_line
            yield tuple((t, first + slope * t) for t in (end, run.coasting[1]))
    elif name == "position":
        inside = (time >= run.driven[0]) & (time <= run.driven[1])
        path = speed * time + acceleration * time**2 / 2
        offset = float(np.mean(values[inside] - path[inside])) if inside.any() else 0.0
        moments = np.linspace(begin, end, SAMPLES)
        yield tuple(
            (float(t), offset + speed * float(t) + acceleration * float(t) ** 2 / 2)
            for t in moments
        )
    elif Measurand.MEAN_TENSION in trial.estimates:
        level = trial.estimates[Measurand.MEAN_TENSION].value
        yield ((begin, level), (end, level))


def _pairs(channel: Channel) -> Iterator[Point]:
    return ((float(t), float(v)) for t, v in zip(channel.time, channel.values, strict=True))


def _panels(found: Record, channels: Sequence[Channel]) -> tuple[Panel, ...]:
    ranges = [with_room([*map(float, c.values)], ROOM) for c in channels]
    left = left_edge(*ranges)
    times = (float(found.time[0]), float(found.time[-1]))
    count = len(channels)
    return tuple(
        Panel(
            box=Box(left=left, bottom=bottom, right=RIGHT, top=bottom + HEIGHT),
            x_range=times,
            y_range=y_range,
        )
        for y_range, bottom in zip(
            ranges,
            ((HEIGHT + BETWEEN) * (count - 1 - index) for index in range(count)),
            strict=True,
        )
    )


def _shade(drawing: Drawing, panel: Panel, trial: Trial) -> None:
    """The run."""
    if trial.window is None:
        return
    low, high = panel.y_range
    begin, end = (min(max(t, panel.x_range[0]), panel.x_range[1]) for t in trial.window)
    corners = ((begin, low), (end, low), (end, high), (begin, high))
    drawing.area((panel.at(*corner) for corner in corners), fill="tint-5", edge=None)


def dots(drawing: Drawing, points: Iterator[Point], *, role: str, width: float = DOT) -> None:
    """Readings: lines so short that their round ends make a dot."""
    drawing.strokes((((x, y), (x, y + 0.01)) for x, y in points), role=role, width=width)


def mark_simulated(drawing: Drawing, scene: Scene) -> None:
    """Says in the drawing itself that nothing was measured, where that is so."""
    if scene.evidence is not None and scene.evidence.simulated:
        top = drawing.extent()[1] + 6.0
        spot = Spot(at=(drawing.width - 3.0, top), across=1.0, up=0.0)
        drawing.label(Words(lines=((say("simulated"),),)), (spot,), role="ink")


def with_source(scene: Scene, words: str) -> str:
    """A caption or description that names simulated data as such."""
    if scene.evidence is None or not scene.evidence.simulated:
        return words
    return f"{words} {say('simulated-sentence')}"


def _description(scene: Scene, trial: Trial, run: FoundRun, channels: Sequence[Channel]) -> str:
    begin, end = trial.window or run.driven
    parts = [
        say(
            "record-run",
            trial=trial.name,
            begin=f"{begin:.3f} s",
            end=f"{end:.3f} s",
        )
    ]
    acceleration = scene.number(run.driven_line[1], "m/s²")
    for channel in channels:
        if channel.name == "velocity":
            last = scene.number(run.driven_line[0] + run.driven_line[1] * end, "m/s")
            parts.append(say("record-says-velocity", acceleration=acceleration, speed=last))
        elif channel.name == "position":
            moved = channel.lines[0][-1][1] - channel.lines[0][0][1]
            parts.append(say("record-says-position", distance=scene.number(moved, "m")))
        elif channel.lines:
            level = scene.number(channel.lines[0][0][1], "N")
            parts.append(say("record-says-force", tension=level))
    return with_source(scene, " ".join(sentence(part) for part in parts))
