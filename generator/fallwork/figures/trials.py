"""All trials of one quantity, one beside the other and, set apart at the right, their mean and,
where the page may show it, the predicted value, each with its interval.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from fallwork.figures.charts import panels
from fallwork.figures.drawing import Drawing
from fallwork.figures.geometry import Point
from fallwork.figures.placing import Spot
from fallwork.figures.scene import CannotDrawError, Figure, Scene, figure, say
from fallwork.lesson.measured import words as told
from fallwork.measurement.model import Measurand, Trial

ROOM = 0.12  # of the range of values, above and below
HEIGHT = 130.0  # pt, of the panel
CAP = 4.0  # pt, half of the line across the end of an interval
DOT = 2.4  # pt, radius
MOST_NUMBERS = 12  # of trials below the axis
SIDE = 1.6  # places that each of the columns at the right takes
LOOKS = {"mean": ("accent-5", "dot"), "predicted": ("accent-1", "square")}  # role, mark


class Bar(NamedTuple):
    """A value with its interval, set apart from the trials."""

    key: str  # of its looks and words
    value: float
    interval: tuple[float, float] | None  # None where no uncertainty is known
    last: float  # what its last figure goes by


def scatter(scene: Scene) -> Figure:
    """The trials and their mean."""
    return _draw_all(scene, "mean", [_mean(scene)])


def scatter_prediction(scene: Scene) -> Figure:
    """The trials, their mean and the prediction."""
    mean, quantity = _mean(scene), scene.subject
    judgement = scene.evidence.judgement if scene.evidence else None
    found = judgement and judgement.prediction.quantities.get(Measurand(quantity).predicted)
    if not found:
        raise CannotDrawError(f"there is no prediction of {quantity!r}")
    value, interval, u = found.estimate.value, found.estimate.interval_95, found.estimate.u
    return _draw_all(scene, "prediction", [mean, Bar("predicted", value, interval, u)])


def _mean(scene: Scene) -> Bar:
    if scene.evidence is None or scene.subject not in scene.evidence.analysis.summary:
        raise CannotDrawError(f"there are no trials of {scene.subject!r}")
    summary = scene.evidence.analysis.summary[scene.subject]
    return Bar("mean", summary.value, summary.interval_95, told.ends_at(summary))


def _draw_all(scene: Scene, kind: str, bars: Sequence[Bar]) -> Figure:
    quantity, every = scene.subject, scene.evidence.analysis.trials if scene.evidence else ()
    placed = {at: trial for at, trial in enumerate(every, start=1) if quantity in trial.estimates}
    trials, last = list(placed.values()), max(placed, default=0)
    values = [trial.estimates[quantity].value for trial in trials]
    ends = [*values, *(end for bar in bars for end in bar.interval or (bar.value,))]
    low, high = min(ends), max(ends)
    room = ROOM * (high - low or abs(high) or 1.0)
    x_range = (0.0, last + SIDE * (len(bars) + 0.5))
    (panel,) = panels(x_range, (low - room, high + room), height=HEIGHT)
    drawing = panel.drawing
    panel.axes(f"{told.quantity_words(quantity)} ({told.UNITS[quantity]})", x=False)
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
    words = {"quantity": told.quantity_words(quantity)}
    caption = [] if bars[0].interval is not None else [say("scatter-caption-open", **words)]
    key = f"scatter-{kind}" if trials else f"scatter-{kind}-alone"
    return figure(scene, drawing, key, _description(scene, trials, bars), caption, **words)


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
    rows: list[tuple[str, str, bool, Sequence[str]]]
    rows = [("ink", "dot", False, [say("scatter-key-trial")])] if trials else []
    if any(trial.excluded is not None for trial in trials):
        rows.append(("ink", "cross", False, [say("scatter-key-excluded")]))
    rows += [(*LOOKS[bar.key], bool(bar.interval), _bar_words(scene, bar)) for bar in bars]
    y = drawing.extent()[0] - 12.0
    for role, mark, barred, words in rows:
        box = drawing.label(*words, at=[Spot(complex(18.0, y), 0.0, 1.0)], role=role, align=0.0)
        middle, y = complex(8.0, (box.bottom + box.top) / 2), box.bottom - 6.0
        _draw_mark(drawing, middle, role, mark)
        if barred:
            drawing.line(middle - 6j, middle + 6j, role=role, width=1.4)


def _number(scene: Scene, value: float, last: float, unit: str = "") -> str:
    """With a plain space: a drawing breaks no lines."""
    return told.to_place_of(value, last, unit, scene.figures).replace("\u00a0", " ")


def _bar_words(scene: Scene, bar: Bar) -> tuple[str, ...]:
    """A value and, where it is uncertain, its interval."""
    unit = told.UNITS[scene.subject]
    value = say(f"scatter-{bar.key}", value=_number(scene, bar.value, bar.last, unit))
    if bar.interval is None:
        return value, say("scatter-no-interval")
    low, high = bar.interval
    ends = _number(scene, low, bar.last), _number(scene, high, bar.last, unit)
    words = say("scatter-interval", low=ends[0], high=ends[1])
    return (value,) if low == high else (value, words)


def _description(scene: Scene, trials: Sequence[Trial], bars: Sequence[Bar]) -> Iterator[str]:
    quantity, unit = scene.subject, told.UNITS[scene.subject]
    summary = scene.evidence.analysis.summary.get(quantity) if scene.evidence else None
    values = []
    for trial in trials:
        last = told.ends_in_trial(trial, quantity, summary)
        value = _number(scene, trial.estimates[quantity].value, last, unit)
        key = "scatter-value" if trial.excluded is None else "scatter-value-excluded"
        values.append(say(key, trial=trial.name, value=value))
    words = {"quantity": told.quantity_words(quantity), "values": "; ".join(values)}
    yield say("scatter-description" if values else "scatter-description-alone", **words)
    for bar in bars:
        yield f"{', '.join(_bar_words(scene, bar))}."
