"""One measurand over all trials: mean, standard uncertainty, coverage interval; and what the
sensors do to everything they measure.

Takes values a trial, or a mean with what is known of its uncertainty and n; gives a ``Summary``.
Takes standard uncertainties that all trials share (type B); gives for each of them the values as
they would be if that one were off by its u, so that what is derived gets its correlations right.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf, sqrt
from operator import itemgetter
from statistics import mean, stdev
from typing import NamedTuple

from fallwork.measurement.model import Measurand, Outcome, Summary, Trial
from fallwork.measurement.statistics import combined, outliers, rectangular

Values = Mapping[str, float]  # by Measurand
U = Mapping[str, float]  # type B uncertainties, by name
NONE: U = {}
SCALES = ("scale of positions", "scale of forces")
FROM_POSITION = (
    *(Measurand.ACCELERATION, Measurand.FINAL_SPEED, Measurand.DISTANCE),
    *(Measurand.WORK_OF_TENSION, Measurand.COASTING_ACCELERATION),
)
FORCES = (
    *(Measurand.MEAN_TENSION, Measurand.TENSION_OVER_TIME),
    *(Measurand.FORCE_HELD, Measurand.FORCE_SLACK),
)


@dataclass(frozen=True, kw_only=True)
class Sensors:
    """Type B standard uncertainties, 0 where nothing is known. Steps are what the last place shown
    amounts to. Rounding of a changing reading is part of the scatter of trials; only a reading that
    stays the same is rounded the same way every time. A tilt of the track belongs to the slope of
    the scenario, and so to the prediction.
    """

    position_scale: float = 0.0  # relative, of positions and velocities alike
    force_scale: float = 0.0  # relative
    force_zero: float = 0.0  # N, what is left of it after zeroing
    position_step: float = 0.0  # m
    force_step: float = 0.0  # N
    value_steps: Mapping[str, float] = field(default_factory=dict)
    # ^ by Measurand: the last place of values that were typed in, all rounded alike


class Shift(NamedTuple):
    """One thing that may be off in all trials alike."""

    name: str
    u: float
    values: Values  # what is read if it is off by so much


def shifts(sensors: Sensors, values: Values) -> Iterator[Shift]:
    """What the sensors may have shifted, those of unknown size left out."""

    def scaled(which: Sequence[str], share: float) -> Values:
        return {name: v * (1 + share) if name in which else v for name, v in values.items()}

    def added(which: str, more: float) -> Values:
        return {name: v + more if name == which else v for name, v in values.items()}

    last = rectangular(sensors.force_step / 2)
    two_ends = rectangular(sensors.position_step / 2) * sqrt(2)  # a distance has two
    whole, force, zero = sensors.position_scale, sensors.force_scale, sensors.force_zero
    every = [
        Shift(SCALES[0], whole, scaled(FROM_POSITION, whole)),
        Shift(SCALES[1], force, scaled((*FORCES, Measurand.WORK_OF_TENSION), force)),
        Shift("zero of forces", zero, offset(values, zero)),
        Shift("last place of positions", two_ends, added(Measurand.DISTANCE, two_ends)),
        Shift("last place of forces", last, offset(values, last)),
    ]
    for quantity, step in sensors.value_steps.items():
        u = rectangular(step / 2)
        every.append(Shift("last place of the values", u, added(quantity, u)))
    return (each for each in every if each.u > 0)


def effects(of: Callable[[Values], float], values: Values, sensors: Sensors) -> dict[str, float]:
    """The type B terms of a quantity that is derived from measured values: u by name, those of no
    size left out. ``of`` is taken as linear over one standard uncertainty.
    """
    centre = of(values)
    found = [(name, abs(of(off) - centre)) for name, _, off in shifts(sensors, values)]
    return {name: u for name, u in found if u > 0}


def offset(values: Values, force: float) -> dict[str, float]:
    """The values if all forces were read so much larger, N."""
    shifted = {name: value + force if name in FORCES else value for name, value in values.items()}
    if Measurand.WORK_OF_TENSION in values:  # over the distance, or what work and mean say of it
        work, pull = values[Measurand.WORK_OF_TENSION], values.get(Measurand.MEAN_TENSION, 0.0)
        distance = values.get(Measurand.DISTANCE, work / pull if pull else 0.0)
        shifted[Measurand.WORK_OF_TENSION] += force * distance
    return shifted


def summarise(estimates: Mapping[str, Outcome], shared: U = NONE) -> Summary:
    """A measurand from the trials that count, name → estimate; raises ValueError for none. From two
    trials on, their scatter alone gives the type A part: it holds whatever made each of them
    uncertain. Where all read alike and none says how uncertain it is, the last place hides the
    scatter, and nothing is known of it. A single trial keeps its own uncertainty.
    """
    names, found, n = tuple(estimates), tuple(estimates.values()), len(estimates)
    if n == 1:
        return summary_given(found[0], 1, shared)
    values = [each.value for each in found]
    middle, deviation = mean(values), stdev(values)
    if not deviation and all(each.u is None for each in found):
        alike = Outcome(value=middle, u=None, step=min(each.step for each in found))
        return summary_given(alike, n, shared)
    scattered = Outcome(value=middle, u=deviation / sqrt(n))  # type A (GUM 4.2.3)
    far = tuple(names[at] for at in outliers(values))
    return replace(summary_given(scattered, n, shared, deviation), outliers=far)


def summary_given(
    mean: Outcome, n: int | None, shared: U = NONE, deviation: float | None = None
) -> Summary:
    """A measurand of which only the mean over ``n`` trials is known, and perhaps their deviation.
    Its uncertainty is taken as a type A one with n − 1 degrees of freedom; as it is for n = 1 or
    where n isn't known.
    """
    scattered = n is not None and n > 1 and mean.u is not None
    dof = n - 1 if n is not None and scattered else mean.dof
    u, whole = combined([(mean.u, dof), *((each, inf) for each in shared.values())])
    return Summary(
        n=n,
        value=mean.value,
        u=u,
        dof=whole,
        step=mean.step,
        standard_deviation=deviation if scattered else None,
        random=Outcome(value=mean.value, u=mean.u, dof=dof, step=mean.step),
        effects=shared,
    )


def summaries(trials: Sequence[Trial], sensors: Sensors | None = None) -> dict[str, Summary]:
    """Every measurand that any of the trials has, in the order of ``Measurand``."""
    each = {
        q.value: {t.name: t.estimates[q] for t in trials if q in t.estimates} for q in Measurand
    }
    known = {quantity: found for quantity, found in each.items() if found}
    means = {q: mean(each.value for each in found.values()) for q, found in known.items()}
    shared = {q: effects(itemgetter(q), means, sensors or Sensors()) for q in known}
    return {q: summarise(found, shared[q]) for q, found in known.items()}
