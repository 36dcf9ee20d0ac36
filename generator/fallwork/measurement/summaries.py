"""One measurand over all trials: mean, standard uncertainty, coverage interval.

Takes values a trial, or a mean with what is known of its uncertainty and n, and what all trials
share (type B); gives a ``Summary``. Reading records and finding runs are left to others.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from operator import itemgetter

from fallwork.measurement.model import Effect, Measurand, Outcome, Summary, Trial
from fallwork.measurement.sensors import Sensors, effects
from fallwork.measurement.statistics import (
    combined,
    coverage_factor,
    interval,
    outliers,
    spread,
)


def summarise(
    quantity: str, estimates: Mapping[str, Outcome], shared: Sequence[Effect] = ()
) -> Summary:
    """A measurand from the trials that count, name → estimate; raises ValueError for none.

    From two trials on, their scatter alone gives the type A part: it holds whatever made each of
    them uncertain. Where all read alike and none says how uncertain it is, the last place hides the
    scatter, and nothing is known of it. A single trial keeps its own uncertainty.
    """
    names, found = tuple(estimates), tuple(estimates.values())
    if len(found) == 1:
        return _summary(quantity, 1, found[0], shared)
    readings = spread([each.value for each in found])
    if not readings.standard_deviation and all(each.u is None for each in found):
        alike = Outcome(value=readings.mean, u=None, step=min(each.step for each in found))
        return _summary(quantity, readings.n, alike, shared)
    far_off = tuple(names[at] for at in outliers([each.value for each in found]))
    mean, deviation = readings.estimate, readings.standard_deviation
    return _summary(quantity, readings.n, mean, shared, deviation, far_off)


def summary_given(
    quantity: str,
    mean: Outcome,
    n: int | None,
    shared: Sequence[Effect] = (),
    deviation: float | None = None,
) -> Summary:
    """A measurand of which only the mean over ``n`` trials is known, and perhaps their deviation.

    Its uncertainty is taken as a type A one with n − 1 degrees of freedom; as it is for n = 1 or
    where n isn't known.
    """
    if n is None or n == 1 or mean.u is None:
        return _summary(quantity, n, mean, shared)
    return _summary(quantity, n, replace(mean, dof=n - 1), shared, deviation)


def _summary(
    quantity: str,
    n: int | None,
    mean: Outcome,
    shared: Sequence[Effect],
    deviation: float | None = None,
    far_off: tuple[str, ...] = (),
) -> Summary:
    u, dof = combined([(mean.u, mean.dof), *((effect.u, effect.dof) for effect in shared)])
    return Summary(
        quantity=quantity,
        n=n,
        mean=mean.value,
        standard_deviation=deviation,
        u_random=mean.u,
        effects=tuple(shared),
        u=u,
        dof=dof,
        coverage_factor=None if u is None else coverage_factor(dof),
        interval_95=interval(Outcome(value=mean.value, u=u, dof=dof)),
        step=mean.step,
        outliers=far_off,
    )


def summaries(trials: Sequence[Trial], sensors: Sensors | None = None) -> dict[str, Summary]:
    """Every measurand that any of the trials has, in the order of ``Measurand``."""
    means = mean_values(trials)
    result: dict[str, Summary] = {}
    for quantity in means:
        found = {
            trial.name: trial.estimates[quantity] for trial in trials if quantity in trial.estimates
        }
        shared = effects(itemgetter(quantity), means, sensors or Sensors())
        result[quantity] = summarise(quantity, found, shared)
    return result


def mean_values(trials: Sequence[Trial]) -> dict[str, float]:
    """The plain mean of every measurand over the trials that have it."""
    found = {
        quantity.value: [t.estimates[quantity].value for t in trials if quantity in t.estimates]
        for quantity in Measurand
    }
    return {quantity: spread(values).mean for quantity, values in found.items() if values}
