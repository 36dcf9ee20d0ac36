"""Quantities derived from measured values and givens together, with all that makes them uncertain.

Takes a recipe for the quantities, the trials and what they share; gives values whose every linear
combination has its uncertainty, correlations through shared inputs included.
"""

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import inf
from operator import itemgetter
from typing import TypeVar

import numpy as np

from fallwork.measurement.model import Analysis, Array, Estimate, Measurand, Outcome, Trial
from fallwork.measurement.prediction import Case, view_of
from fallwork.measurement.statistics import combined
from fallwork.measurement.summaries import Values, offset, shifts
from fallwork.mechanics import Apparatus

LAST = 1e-3  # relative: the last place of a value whose digits aren't known
SCATTER = "scatter"  # of the trials, among what makes a value uncertain
ZERO = "zero"  # of the forces, as the record of a single trial sets it
UNSEEN = 1e-9  # relative: a sum that changes by less doesn't go with a measurand
LATER = (Measurand.FINAL_SPEED, Measurand.DISTANCE)  # both too large where the end is too late

Pattern = TypeVar("Pattern")  # what an apparatus says, ready for measured values
Recipe = Callable[[Values], Array]  # measured values → (k,) derived quantities
Shifted = tuple[str, float, Values]  # what may be off, its dof, the values if it is off by its u
Term = tuple[str, float, Array]  # what may be off, its dof, and what its u does to them, (k,)


@dataclass(frozen=True, kw_only=True)
class Derived:
    """k derived quantities over all trials."""

    names: tuple[Hashable, ...]
    values: Array  # (k,), means
    shared: Sequence[Term]  # of all trials, or of single means that nothing joins
    unknown: Array  # (m, k): what the last place does of each mean without known u
    scatter: Array | None  # (k, k), covariance of the means from the scatter of trials
    trials: Mapping[str, Array]  # name → (k,), of those trials that have what is needed
    own: Mapping[str, Sequence[Term]]  # name → what the values of that trial say of themselves
    means: tuple[str, ...]  # measurands that no trial has: in each trial their mean stands for them
    claimed: Array | None  # (k, k), covariance of the means by what the values of the trials say
    # of their own uncertainties; None where some say nothing

    def row(self, *names: Hashable) -> Array:
        """(k,): the weights of some quantities in their sum; 0 for what isn't there."""
        return np.array([float(name in names) for name in self.names])

    def outcome(
        self, row: Array, trial: str | None = None, larger: float = 1.0, fewer: float = 0.0
    ) -> Outcome:
        """A sum of quantities with weights (k,). Weights that were fitted to the scatter make its
        variance ``larger`` by a factor, with so many ``fewer`` degrees of freedom. In a single
        trial: with the scatter of single trials, or its own uncertainty where that is larger, and
        with what all trials share.
        """
        values = self.values if trial is None else self.trials[trial]
        value, size = float(row @ values), float(np.abs(row) @ np.abs(values))
        lost = float(np.max(np.abs(self.unknown @ row), initial=0.0))
        if lost > UNSEEN * size:
            return Outcome(value=value, u=None, step=lost)
        parts = _sizes(self.shared, row)
        if self.scatter is not None:
            times = larger if trial is None else len(self.trials)
            variance = max(float(row @ self.scatter @ row), 0.0) * times
            random = variance**0.5, len(self.trials) - 1 - fewer
            alone = (0.0, inf) if trial is None else combined(_sizes(self.own[trial], row))
            parts.append(max(random, alone, key=itemgetter(0)))
        u, dof = combined(parts)
        return Outcome(value=value, u=u, dof=dof)

    def sum(self, plus: Hashable, minus: Hashable | None = None) -> Outcome | None:
        """A quantity, or the difference of two; None where the trials don't give them."""
        if plus not in self.names or minus not in (None, *self.names):
            return None
        return self.outcome(self.row(plus) - self.row(minus))

    def counted(self, names: Iterable[Hashable]) -> tuple[str, ...]:
        """What makes them uncertain: SCATTER, givens by path, measurands, what sensors share."""
        asked = self.row(*names) > 0
        felt = UNSEEN * np.max(np.abs(self.values[asked]))
        terms = [name for name, _, each in self.shared if np.any(np.abs(each[asked]) > felt)]
        scattered = self.scatter is not None and bool(np.any(np.diag(self.scatter)[asked] > 0))
        return (*((SCATTER,) if scattered else ()), *dict.fromkeys(terms))


def _sizes(terms: Iterable[Term], row: Array) -> list[tuple[float, float]]:
    """(u, dof) of each in a sum of the quantities with weights (k,)."""
    return [(abs(float(each @ row)), dof) for _, dof, each in terms]


def _changes(terms: Iterable[Term], k: int) -> Array:
    return np.array([each for *_, each in terms]).reshape(-1, k)


def derive(
    names: Sequence[Hashable],
    pattern: Callable[[Apparatus], Pattern | None],
    formulas: Callable[[Pattern, Values], Array],
    needs: Sequence[str],
    case: Case,
    analysis: Analysis,
) -> Derived | None:
    """The k quantities of these names that ``formulas`` give for measured values, by the pattern
    of the apparatus; None if that or a measurand is missing. From two trials on their scatter tells
    what is uncertain at random; else, and of known means, their own uncertainties, as independent.
    """
    found, measured, k = pattern(case.apparatus()), _used(needs, analysis), len(names)
    if found is None or measured is None:
        return None
    recipe, (fixed, seen, complete) = partial(formulas, found), measured
    means, several = fixed | seen, len(complete) > 1
    values = {q: mean.value for q, mean in means.items()}
    each = {t.name: values | {q: t.estimates[q].value for q in seen} for t in complete}
    table = np.array([*map(recipe, each.values())])
    alone, random = (fixed, seen) if several else (means, {})
    zero_u = float(np.linalg.norm([t.zero_u for t in complete])) / max(len(complete), 1)
    sensors = ((name, inf, off) for name, _, off in shifts(case.sensors, values))
    own = _random(values, alone, 0.0 if several else zero_u)
    claims = _changes(_terms(recipe, values, _random(values, random, zero_u)), k)
    every = alone | {q: analysis.summary[q] for q in random}  # of unknown u if all read alike
    lost = ((q, mean.step or LAST * mean.value) for q, mean in every.items() if mean.u is None)
    last = ((q, inf, {**values, q: values[q] + step}) for q, step in lost)
    givens = _of_givens(lambda a, v: formulas(pattern(a) or found, v), values, case, analysis)
    return Derived(
        names=tuple(names),
        values=table.mean(axis=0) if several else recipe(values),
        shared=[*_terms(recipe, values, (*own, *sensors)), *givens],
        unknown=_changes(_terms(recipe, values, last), k),
        scatter=np.atleast_2d(np.cov(table.T)) / len(table) if several else None,
        trials=dict(zip(each, table, strict=True)),
        own={t.name: _terms(recipe, each[t.name], _own(each[t.name], t)) for t in complete},
        means=tuple(fixed) if complete else (),
        claimed=claims.T @ claims if all(mean.u for mean in random.values()) else None,
    )


def _used(
    needs: Sequence[str], analysis: Analysis
) -> tuple[dict[str, Outcome], dict[str, Outcome], list[Trial]] | None:
    """The means that stand for what no trial has, with their type A part only; the means of what
    the trials have, and the trials that have all of it; None where something isn't known at all.
    Without a complete trial means serve alone.
    """
    summary, counted = analysis.summary, analysis.counted
    given = [q for q in needs if q in summary and not any(q in t.estimates for t in counted)]
    seen = [q for q in needs if q not in given]
    complete = [t for t in counted if seen and all(q in t.estimates for q in seen)]
    given, seen = (given, seen) if complete else (list(needs), [])
    if any(q not in summary for q in given):
        return None
    means = {q: _mean([t.estimates[q] for t in complete]) for q in seen}
    return {q: summary[q].random for q in given}, means, complete


def _terms(recipe: Recipe, values: Values, shifted: Iterable[Shifted]) -> list[Term]:
    centre = recipe(values)
    return [(name, dof, recipe(other) - centre) for name, dof, other in shifted]


def _mean(estimates: Sequence[Outcome]) -> Outcome:
    """The mean with the uncertainty that the single values claim; 0 where some claim none."""
    if len(estimates) == 1:
        return estimates[0]
    claimed = [each.u or 0.0 for each in estimates]
    u = float(np.linalg.norm(claimed)) / len(claimed) if all(claimed) else 0.0
    return Estimate(value=float(np.mean([each.value for each in estimates])), u=u)


def _random(values: Values, means: Mapping[str, Outcome], zero_u: float) -> Iterator[Shifted]:
    """What each mean says of itself, and once for all forces what their common zero does."""
    shifted = offset(values, zero_u)
    if zero_u:
        yield ZERO, inf, shifted
    for name, mean in means.items():
        own = max((mean.u or 0.0) ** 2 - (shifted[name] - values[name]) ** 2, 0.0) ** 0.5
        if own:
            yield name, mean.dof, {**values, name: mean.value + own}


def _own(values: Values, trial: Trial) -> Iterator[Shifted]:
    """What the values of a single trial say of their own uncertainties. Its forces go together,
    as they share a zero, and so do speed, distance and work, as they share the end of the run.
    """
    found = {name: (e.u, e.dof) for name, e in trial.estimates.items() if e.u is not None}
    more = {name: values[name] + found[name][0] for name in values if name in found}
    tension, work = Measurand.MEAN_TENSION, Measurand.WORK_OF_TENSION
    late = {name.value: more.pop(name) for name in LATER if name in more}
    more.pop(work, None)
    shifted: dict[str, Values] = {name: {**values, name: end} for name, end in more.items()}
    if tension in found:
        shifted[tension] = offset(values, found[tension][0])
        if work in values and Measurand.DISTANCE in late:
            farther = late[Measurand.DISTANCE] - values[Measurand.DISTANCE]
            late[work] = values[work] + trial.estimates[tension].value * farther
    shifted |= {name: {**values, **late} for name in list(late)[:1]}
    return ((name, found[name][1], each) for name, each in shifted.items())


def _of_givens(
    formulas: Callable[[Apparatus, Values], Array], values: Values, case: Case, analysis: Analysis
) -> list[Term]:
    """What u of each given does; forces that were zeroed by the pull while held go with it."""
    if not case.inputs:
        return []
    view = view_of(case.scenario)
    taken = view.held_pull(case.apparatus())

    def outputs(apparatus: Apparatus) -> dict[int, float]:
        more = view.held_pull(apparatus) - taken if analysis.zeroed_held else 0.0
        return dict(enumerate(formulas(apparatus, offset(values, more))))

    found = case.propagated(outputs)
    changes = np.array([found.changes(at) for at in found.values]).T
    return [(i.name, i.dof, each) for i, each in zip(found.inputs, changes, strict=True)]
