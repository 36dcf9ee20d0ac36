"""One measurand over all trials: mean, standard uncertainty, coverage interval.

Takes values a trial, or a mean with what is known of its uncertainty and n, and the u that all
trials share (type B), by name; gives a ``Summary``. Reading records and finding runs are left to
others.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import inf
from operator import itemgetter

from fallwork.measurement.model import Measurand, Outcome, Summary, Trial
from fallwork.measurement.sensors import Sensors, effects
from fallwork.measurement.statistics import combined, outliers, spread

NONE: Mapping[str, float] = {}


def summarise(
    quantity: str, estimates: Mapping[str, Outcome], shared: Mapping[str, float] = NONE
) -> Summary:
    """A measurand from the trials that count, name → estimate; raises ValueError for none.

    From two trials on, their scatter alone gives the type A part: it holds whatever made each of
    them uncertain. Where all read alike and none says how uncertain it is, the last place hides the
    scatter, and nothing is known of it. A single trial keeps its own uncertainty.
    """
    names, found = tuple(estimates), tuple(estimates.values())
    readings = spread([each.value for each in found])
    if readings.n == 1:
        return summary_given(quantity, found[0], 1, shared)
    if not readings.standard_deviation and all(each.u is None for each in found):
        alike = Outcome(value=readings.value, u=None, step=min(each.step for each in found))
        return summary_given(quantity, alike, readings.n, shared)
    mean = summary_given(quantity, readings, readings.n, shared, readings.standard_deviation)
    far = outliers([each.value for each in found])
    return replace(mean, outliers=tuple(names[at] for at in far))


def summary_given(
    quantity: str,
    mean: Outcome,
    n: int | None,
    shared: Mapping[str, float] = NONE,
    deviation: float | None = None,
) -> Summary:
    """A measurand of which only the mean over ``n`` trials is known, and perhaps their deviation.

    Its uncertainty is taken as a type A one with n − 1 degrees of freedom; as it is for n = 1 or
    where n isn't known.
    """
    scattered = n is not None and n > 1 and mean.u is not None
    dof = n - 1 if n is not None and scattered else mean.dof
    u, whole = combined([(mean.u, dof), *((each, inf) for each in shared.values())])
    return Summary(
        quantity=quantity,
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
    every = {
        quantity.value: {t.name: t.estimates[quantity] for t in trials if quantity in t.estimates}
        for quantity in Measurand
    }
    known = {quantity: found for quantity, found in every.items() if found}
    means = {q: spread([each.value for each in found.values()]).value for q, found in known.items()}
    return {
        q: summarise(q, found, effects(itemgetter(q), means, sensors or Sensors()))
        for q, found in known.items()
    }
