"""One measurand over all trials: mean, standard uncertainty, coverage interval.

Takes values a trial, or a mean with what is known of its uncertainty and n, and what all trials
share (type B); gives a ``Summary``. Reading records and finding runs are left to others.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from operator import itemgetter

from fallwork.measurement.model import Effect, Measurand, Outcome, Summary, Trial
from fallwork.measurement.sensors import Sensors, effects
from fallwork.measurement.statistics import combined, coverage_factor, interval, outliers, spread


def summarise(
    quantity: str, estimates: Mapping[str, Outcome], shared: Sequence[Effect] = ()
) -> Summary:
    """A measurand from the trials that count, name → estimate; raises ValueError for none.

    From two trials on, their scatter alone gives the type A part: it holds whatever made each of
    them uncertain. Where all read alike and none says how uncertain it is, the last place hides the
    scatter, and nothing is known of it. A single trial keeps its own uncertainty.
    """
    names, found = tuple(estimates), tuple(estimates.values())
    values = [each.value for each in found]
    readings = spread(values)
    if len(found) == 1:
        return _summary(quantity, 1, found[0], shared)
    if not readings.standard_deviation and all(each.u is None for each in found):
        alike = Outcome(value=readings.mean, u=None, step=min(each.step for each in found))
        return _summary(quantity, readings.n, alike, shared)
    summary = summary_given(
        quantity, readings.estimate, readings.n, shared, readings.standard_deviation
    )
    return replace(summary, outliers=tuple(names[at] for at in outliers(values)))


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
    scattered = _summary(quantity, n, replace(mean, dof=n - 1), shared)
    return replace(scattered, standard_deviation=deviation)


def _summary(quantity: str, n: int | None, mean: Outcome, shared: Sequence[Effect]) -> Summary:
    u, dof = combined([(mean.u, mean.dof), *((effect.u, effect.dof) for effect in shared)])
    return Summary(
        quantity=quantity,
        n=n,
        mean=mean.value,
        standard_deviation=None,
        u_random=mean.u,
        effects=tuple(shared),
        u=u,
        dof=dof,
        coverage_factor=None if u is None else coverage_factor(dof),
        interval_95=interval(Outcome(value=mean.value, u=u, dof=dof)),
        step=mean.step,
    )


def summaries(trials: Sequence[Trial], sensors: Sensors | None = None) -> dict[str, Summary]:
    """Every measurand that any of the trials has, in the order of ``Measurand``."""
    every = {
        quantity.value: {t.name: t.estimates[quantity] for t in trials if quantity in t.estimates}
        for quantity in Measurand
    }
    known = {quantity: found for quantity, found in every.items() if found}
    means = {name: spread([v.value for v in found.values()]).mean for name, found in known.items()}
    return {
        quantity: summarise(
            quantity, found, effects(itemgetter(quantity), means, sensors or Sensors())
        )
        for quantity, found in known.items()
    }
