"""What was measured: one record with the run found in it, and all trials of one quantity.

A record is plotted with its readings, the run as a shaded stretch, and the lines that were fitted;
signs are those of the run, and the force's zero offset is taken off. All trials of a quantity stand
one beside the other and, set apart at the right, their mean and, where the page may show it, the
predicted value, each with its interval.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fallwork.figures.charts import Pair, panels, with_room
from fallwork.figures.drawing import Drawing
from fallwork.figures.geometry import Point
from fallwork.figures.placing import Spot
from fallwork.figures.scene import CannotDrawError, Plate, Scene, plate, say
from fallwork.lesson.measured.words import (
    UNITS,
    ends_at,
    ends_in_trial,
    quantity_words,
    to_place_of,
)
from fallwork.lesson.words import listing
from fallwork.measurement.model import Array, FoundRun, Measurand, Record, Trial

HEIGHT = 74.0  # pt, of each panel
BETWEEN = 28.0
ROOM = 0.12  # of the range of values, above and below
SAMPLES = 24  # points of a curve
FEWEST_MARKS = 2  # a column with fewer readings isn't plotted
ROLES = {"velocity": "accent-5", "position": "accent-1", "force": "accent-1"}

WHOLE = 130.0  # pt, height of the panel of all trials
CAP = 4.0  # pt, half of the line across the end of an interval
DOT = 2.4  # pt, radius
MOST_NUMBERS = 12  # of trials below the axis
SIDE = 1.6  # places that each of the columns at the right takes


LOOKS = {"mean": ("accent-5", "dot"), "predicted": ("accent-1", "square")}  # role, mark


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
    said = _of_record(scene, trial, run, channels)
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


def _of_record(
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


# All trials.


@dataclass(frozen=True, kw_only=True)
class Bar:
    """A value with its interval, set apart from the trials."""

    key: str  # of its looks and words
    value: float
    interval: tuple[float, float] | None  # None where no uncertainty is known
    last: float  # what its last figure goes by


def scatter(scene: Scene) -> Plate:
    """The trials and their mean."""
    return _plate(scene, "mean", [_mean(scene)])


def scatter_prediction(scene: Scene) -> Plate:
    """The trials, their mean and the prediction."""
    mean, quantity = _mean(scene), scene.subject
    judgement = scene.evidence.judgement if scene.evidence else None
    found = judgement and judgement.prediction.quantities.get(Measurand(quantity).predicted)
    if not found:
        raise CannotDrawError(f"there is no prediction of {quantity!r}")
    each = found.estimate
    predicted = Bar(key="predicted", value=each.value, interval=each.interval_95, last=each.u)
    return _plate(scene, "prediction", [mean, predicted])


def _mean(scene: Scene) -> Bar:
    if scene.evidence is None or scene.subject not in scene.evidence.analysis.summary:
        raise CannotDrawError(f"there are no trials of {scene.subject!r}")
    summary = scene.evidence.analysis.summary[scene.subject]
    last, ends = ends_at(summary), summary.interval_95
    return Bar(key="mean", value=summary.value, interval=ends, last=last)


def _plate(scene: Scene, kind: str, bars: Sequence[Bar]) -> Plate:
    quantity, every = scene.subject, scene.evidence.analysis.trials if scene.evidence else ()
    placed = {at: trial for at, trial in enumerate(every, start=1) if quantity in trial.estimates}
    trials, last = list(placed.values()), max(placed, default=0)
    values = [trial.estimates[quantity].value for trial in trials]
    ends = [*values, *(end for bar in bars for end in bar.interval or (bar.value,))]
    low, high = min(ends), max(ends)
    room = ROOM * (high - low or abs(high) or 1.0)
    drawing, x_range = Drawing(), (0.0, last + SIDE * (len(bars) + 0.5))
    (panel,) = panels(drawing, x_range, (low - room, high + room), height=WHOLE)
    panel.axes(f"{quantity_words(quantity)} ({UNITS[quantity]})", x=False)
    for (number, trial), value in zip(placed.items(), values, strict=True):
        mark = "dot" if trial.excluded is None else "cross"
        _draw_mark(drawing, panel.at(number, value), "ink", mark)
    for index, bar in enumerate(bars, start=1):
        place, (role, mark) = last + SIDE * index, LOOKS[bar.key]
        points = [panel.at(place, end) for end in bar.interval or ()]
        caps = [(point - CAP, point + CAP) for point in points]
        drawing.strokes([*pairwise(points), *caps], role=role, width=1.4)
        _draw_mark(drawing, panel.at(place, bar.value), role, mark)
    for number in range(1, last + 1, max(1, -(-last // MOST_NUMBERS))):
        foot = panel.at(number, panel.y_range[0]) - 6j
        drawing.label(str(number), at=[Spot(foot, 0.5, 1.0)], role="quiet")
    _draw_key(drawing, scene, bars, trials)
    kind += "" if trials else "-alone"
    words = {"quantity": quantity_words(quantity)}
    caption = [] if bars[0].interval is not None else [say("scatter-caption-open", **words)]
    said = map(_spaced, _of_all(scene, trials, bars))
    return plate(drawing, f"scatter-{kind}", said, caption, **words)


def _draw_mark(drawing: Drawing, at: Point, role: str, mark: str) -> None:
    """A dot; a square for a prediction; a cross for a trial that doesn't count."""
    if mark == "cross":
        arms = (1.3 * DOT * way for way in (1 + 1j, 1 - 1j))
        drawing.strokes([(at - arm, at + arm) for arm in arms], role=role, width=1.2)
    elif mark == "square":
        corners = (at + DOT * corner for corner in (-1 - 1j, 1 - 1j, 1 + 1j, -1 + 1j))
        drawing.area(corners, fill=role, role=role)
    else:
        drawing.disc(at, DOT, fill=role, role=role)


def _draw_key(drawing: Drawing, scene: Scene, bars: Sequence[Bar], trials: Sequence[Trial]) -> None:
    """What the marks are, with their numbers, one below the other."""
    marks = {"dot": "scatter-key-trial"} if trials else {}
    if any(trial.excluded is not None for trial in trials):
        marks["cross"] = "scatter-key-excluded"
    rows: list[tuple[str, str, bool, Sequence[str]]]
    rows = [("ink", mark, False, [say(key)]) for mark, key in marks.items()]
    rows += [(*LOOKS[bar.key], bool(bar.interval), _bar_words(scene, bar)) for bar in bars]
    y = drawing.extent()[0] - 12.0
    for role, mark, barred, words in rows:
        spot = Spot(complex(18.0, y), 0.0, 1.0)
        box = drawing.label(*words, at=[spot], role=role, align=0.0)
        middle, y = complex(8.0, (box.bottom + box.top) / 2), box.bottom - 6.0
        _draw_mark(drawing, middle, role, mark)
        if barred:
            drawing.line(middle - 6j, middle + 6j, role=role, width=1.4)


def _bar_words(scene: Scene, bar: Bar) -> tuple[str, ...]:
    """A value and, where it is uncertain, its interval."""

    def shown(value: float, unit: str = "") -> str:
        return to_place_of(value, bar.last, unit, scene.figures)

    unit = UNITS[scene.subject]
    value = _spaced(say(f"scatter-{bar.key}", value=shown(bar.value, unit)))
    if bar.interval is None:
        return value, say("scatter-no-interval")
    low, high = bar.interval
    ends = say("scatter-interval", low=shown(low), high=shown(high, unit))
    return (value,) if low == high else (value, _spaced(ends))


def _spaced(words: str) -> str:
    """With plain spaces: a drawing breaks no lines."""
    return words.replace("\u00a0", " ")


def _of_all(scene: Scene, trials: Sequence[Trial], bars: Sequence[Bar]) -> Iterator[str]:
    quantity, unit = scene.subject, UNITS[scene.subject]
    summary = scene.evidence.analysis.summary.get(quantity) if scene.evidence else None
    values = []
    for trial in trials:
        estimate = trial.estimates[quantity]
        last = ends_in_trial(trial, quantity, summary)
        value = to_place_of(estimate.value, last, unit, scene.figures)
        key = "scatter-value" if trial.excluded is None else "scatter-value-excluded"
        values.append(say(key, trial=trial.name, value=value))
    words = {"quantity": quantity_words(quantity), "values": "; ".join(values)}
    yield say("scatter-description" if values else "scatter-description-alone", **words)
    for bar in bars:
        yield f"{', '.join(_bar_words(scene, bar))}."
