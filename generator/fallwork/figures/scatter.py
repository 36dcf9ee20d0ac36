"""All trials of one quantity: every value, the mean with its interval, and the prediction's.

Takes a scene whose slot names a quantity; plots the trials one beside the other and, set apart at
the right, the mean and, where the page may show it, the predicted value, each with its interval.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fallwork.figures.canvas import Box, Point
from fallwork.figures.charts import RIGHT, Panel, left_edge
from fallwork.figures.drawing import Drawing
from fallwork.figures.labels import Spot, Words
from fallwork.figures.record import mark_simulated, with_source
from fallwork.figures.scene import CannotDrawError, Plate, Scene, say, sentence
from fallwork.lesson.measured.evidence import Evidence
from fallwork.lesson.measured.words import UNITS, ends_at, quantity_words, to_place_of
from fallwork.measurement.model import Measurand, Summary, Trial

HEIGHT = 130.0  # pt
ROOM = 0.12  # of the range of values, above and below
CAP = 4.0  # pt, half of the line across the end of an interval
DOT = 2.4  # pt, radius
MOST_NUMBERS = 12  # of trials below the axis
SIDE = 1.6  # places that each of the columns at the right takes


@dataclass(frozen=True, kw_only=True)
class Bar:
    """A value with its interval, set apart from the trials."""

    key: str  # of its words: "mean" or "predicted"
    role: str
    value: float
    interval: tuple[float, float] | None  # None where no uncertainty is known
    last: float  # what its last figure goes by
    square: bool  # shape of the mark: the two must differ without colour


def scatter(scene: Scene) -> Plate:
    """The trials and their mean."""
    return _plate(scene, against_prediction=False)


def scatter_prediction(scene: Scene) -> Plate:
    """The trials, their mean and the prediction."""
    return _plate(scene, against_prediction=True)


def _plate(scene: Scene, *, against_prediction: bool) -> Plate:
    quantity = scene.slot.subject
    evidence, summary = _found(scene, quantity)
    trials = [trial for trial in evidence.analysis.trials if quantity in trial.estimates]
    bars = [_mean(summary)]
    if against_prediction:
        bars.append(_predicted(evidence, quantity))
    drawing = Drawing()
    panel = _panel(trials, bars, quantity)
    title = f"{quantity_words(quantity)} ({UNITS[quantity]})"
    panel.draw(drawing, x_title="", y_title=title, x_ticks=False)
    _draw_trials(drawing, panel, trials, quantity)
    for index, bar in enumerate(bars):
        _draw_bar(drawing, panel, bar, len(trials) + SIDE * (index + 1))
    _name_trials(drawing, panel, trials)
    _key(drawing, scene, quantity, bars, trials)
    mark_simulated(drawing, scene)
    words = {"quantity": quantity_words(quantity)}
    kind = "prediction" if against_prediction else "mean"
    kind += "" if trials else "-alone"
    caption = f"caption-{kind}" if bars[0].interval is not None else "caption-open"
    return Plate(
        sheet=drawing.sheet(),
        title=sentence(say(f"scatter-title-{kind}", **words)),
        description=_description(scene, quantity, trials, bars),
        caption=sentence(with_source(scene, say(f"scatter-{caption}", **words))),
    )


def _found(scene: Scene, quantity: str) -> tuple[Evidence, Summary]:
    evidence = scene.evidence
    if evidence is None or quantity not in evidence.analysis.summary:
        raise CannotDrawError(f"there are no trials of {quantity!r}")
    return evidence, evidence.analysis.summary[quantity]


def _mean(summary: Summary) -> Bar:
    return Bar(
        key="mean",
        role="accent-5",
        value=summary.mean,
        interval=summary.interval_95,
        last=ends_at(summary.outcome),
        square=False,
    )


def _predicted(evidence: Evidence, quantity: str) -> Bar:
    judgement, predicted = evidence.judgement, Measurand(quantity).predicted
    if judgement is None or predicted not in judgement.prediction.quantities:
        raise CannotDrawError(f"there is no prediction of {quantity!r}")
    found = judgement.prediction.quantities[predicted]
    return Bar(
        key="predicted",
        role="accent-1",
        value=found.estimate.value,
        interval=found.interval_95,
        last=found.estimate.u,
        square=True,
    )


def _panel(trials: Sequence[Trial], bars: Sequence[Bar], quantity: str) -> Panel:
    values = [trial.estimates[quantity].value for trial in trials]
    values += [end for bar in bars for end in bar.interval or (bar.value,)]
    low, high = min(values), max(values)
    room = ROOM * (high - low or abs(high) or 1.0)
    y_range = (low - room, high + room)
    return Panel(
        box=Box(left=left_edge(y_range), bottom=0.0, right=RIGHT, top=HEIGHT),
        x_range=(0.0, len(trials) + SIDE * (len(bars) + 0.5)),
        y_range=y_range,
    )


def _draw_trials(drawing: Drawing, panel: Panel, trials: Sequence[Trial], quantity: str) -> None:
    for number, trial in enumerate(trials, start=1):
        at = panel.at(number, trial.estimates[quantity].value)
        if trial.excluded is None:
            drawing.disc(at, DOT, fill="ink")
        else:
            _cross(drawing, at)


def _cross(drawing: Drawing, at: Point) -> None:
    """A trial that doesn't count."""
    x, y = at
    reach = 1.3 * DOT
    drawing.strokes(
        (
            ((x - reach, y - reach), (x + reach, y + reach)),
            ((x - reach, y + reach), (x + reach, y - reach)),
        ),
        role="ink",
        width=1.2,
    )


def _draw_bar(drawing: Drawing, panel: Panel, bar: Bar, place: float) -> None:
    x, y = panel.at(place, bar.value)
    if bar.interval is not None:
        low, high = (panel.at(place, end) for end in bar.interval)
        drawing.line(low, high, role=bar.role, width=1.4)
        caps = (((x - CAP, end[1]), (x + CAP, end[1])) for end in (low, high))
        drawing.strokes(caps, role=bar.role, width=1.4)
    if bar.square:
        corners = ((x + dx * DOT, y + dy * DOT) for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
        drawing.area(corners, fill=bar.role, edge=bar.role)
    else:
        drawing.disc((x, y), DOT, fill=bar.role, edge=bar.role)


def _name_trials(drawing: Drawing, panel: Panel, trials: Sequence[Trial]) -> None:
    """Their numbers in the order of the table, below the axis."""
    step = max(1, -(-len(trials) // MOST_NUMBERS))
    y = panel.box.bottom - 6.0
    for number in range(1, len(trials) + 1, step):
        x, _ = panel.at(number, panel.y_range[0])
        spot = Spot(at=(x, y), across=0.5, up=1.0)
        drawing.label(Words(lines=((str(number),),)), (spot,), role="quiet")


def _key(
    drawing: Drawing,
    scene: Scene,
    quantity: str,
    bars: Sequence[Bar],
    trials: Sequence[Trial],
) -> None:
    """What the marks are, with their numbers, one below the other."""
    lines: list[tuple[str, str, tuple[str, ...]]]
    lines = [("ink", "dot", (say("scatter-key-trial"),))] if trials else []
    if any(trial.excluded is not None for trial in trials):
        lines.append(("ink", "cross", (say("scatter-key-excluded"),)))
    lines += [
        (bar.role, bar.key if bar.interval else "dot", _bar_words(scene, quantity, bar))
        for bar in bars
    ]
    y = drawing.extent()[0] - 12.0
    for role, mark, words in lines:
        label = Words(lines=tuple((line,) for line in words), align=0.0)
        box = drawing.label(label, (Spot(at=(18.0, y), across=0.0, up=1.0),), role=role)
        _draw_mark(drawing, (8.0, (box.bottom + box.top) / 2), role, mark)
        y = box.bottom - 6.0


def _draw_mark(drawing: Drawing, at: Point, role: str, mark: str) -> None:
    x, y = at
    if mark == "cross":
        _cross(drawing, at)
        return
    if mark == "predicted":
        corners = ((x + dx * DOT, y + dy * DOT) for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
        drawing.area(corners, fill=role, edge=role)
    else:
        drawing.disc(at, DOT, fill=role, edge=role)
    if mark != "dot":
        drawing.line((x, y - 6.0), (x, y + 6.0), role=role, width=1.4)


def _bar_words(scene: Scene, quantity: str, bar: Bar) -> tuple[str, ...]:
    """A value and, where it is uncertain, its interval."""
    unit = UNITS[quantity]
    value = say(f"scatter-{bar.key}", value=to_place_of(bar.value, bar.last, unit, scene.figures))
    if bar.interval is None:
        return _spaced(value), say("scatter-no-interval")
    low, high = bar.interval
    if low == high:
        return (_spaced(value),)
    ends = {
        "low": to_place_of(low, bar.last, "", scene.figures),
        "high": to_place_of(high, bar.last, unit, scene.figures),
    }
    return _spaced(value), _spaced(say("scatter-interval", **ends))


def _spaced(words: str) -> str:
    """With plain spaces: a drawing breaks no lines."""
    return words.replace("\u00a0", " ")


def _description(scene: Scene, quantity: str, trials: Sequence[Trial], bars: Sequence[Bar]) -> str:
    unit, last = UNITS[quantity], bars[0].last
    values = [
        say(
            "scatter-value" if trial.excluded is None else "scatter-value-excluded",
            trial=trial.name,
            value=to_place_of(
                trial.estimates[quantity].value,
                ends_at(trial.estimates[quantity]) if quantity in trial.written else last,
                unit,
                scene.figures,
            ),
        )
        for trial in trials
    ]
    words = {"quantity": quantity_words(quantity), "values": "; ".join(values)}
    parts = [say("scatter-description" if values else "scatter-description-alone", **words)]
    parts += [f"{', '.join(_bar_words(scene, quantity, bar))}." for bar in bars]
    return _spaced(with_source(scene, " ".join(sentence(part) for part in parts)))
