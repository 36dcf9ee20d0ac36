"""One measurand over all trials: mean, standard uncertainty, coverage interval.

Takes estimates a trial, or a mean with its uncertainty and n, and what all trials share (type B);
gives a ``Summary``. Reading records and finding runs are left to others.
"""

from collections.abc import Mapping, Sequence
from math import sqrt
from operator import itemgetter

from fallwork.measurement.model import Effect, Estimate, Measurand, Summary, Trial
from fallwork.measurement.sensors import Sensors, effects
from fallwork.measurement.statistics import (
    combined,
    coverage_factor,
    interval,
    outliers,
    spread,
)


def summarise(
    quantity: str, estimates: Mapping[str, Estimate], shared: Sequence[Effect] = ()
) -> Summary:
    """A measurand from the trials that count, name → estimate; raises ValueError for none.

    From two trials on, their scatter alone gives the type A part: it holds whatever made each of
    them uncertain. A single trial keeps its own uncertainty.
    """
    if len(estimates) == 1:
        (only,) = estimates.values()
        return _summary(quantity, 1, only, None, shared, ())
    names = tuple(estimates)
    values = [estimate.value for estimate in estimates.values()]
    readings = spread(values)
    return _summary(
        quantity,
        readings.n,
        readings.estimate,
        readings.standard_deviation,
        shared,
        tuple(names[at] for at in outliers(values)),
    )


def summary_given(quantity: str, mean: Estimate, n: int, shared: Sequence[Effect] = ()) -> Summary:
    """A measurand of which only the mean over ``n`` trials and its standard uncertainty is known.

    The uncertainty is taken as a type A one with n − 1 degrees of freedom; for n = 1 as it is.
    """
    if n == 1:
        return _summary(quantity, 1, mean, None, shared, ())
    whole = Estimate(value=mean.value, u=mean.u, dof=n - 1)
    return _summary(quantity, n, whole, mean.u * sqrt(n), shared, ())


def _summary(
    quantity: str,
    n: int,
    mean: Estimate,
    deviation: float | None,
    shared: Sequence[Effect],
    far_off: tuple[str, ...],
) -> Summary:
    u, dof = combined([(mean.u, mean.dof), *((effect.u, effect.dof) for effect in shared)])
    return Summary(
        quantity=quantity,
        n=n,
        mean=mean.value,
        standard_deviation=deviation,
        u_scatter=None if deviation is None else deviation / sqrt(n),
        effects=tuple(shared),
        u=u,
        dof=dof,
        coverage_factor=coverage_factor(dof),
        interval_95=interval(Estimate(value=mean.value, u=u, dof=dof)),
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
