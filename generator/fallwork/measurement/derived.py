"""Quantities derived from measured values and givens together, with all that makes them uncertain.

Takes a recipe for the quantities, the trials and what they share; gives values whose every linear
combination has its uncertainty, correlations through shared inputs included.
"""

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf
from operator import itemgetter
from typing import Any, TypeVar

import numpy as np

from fallwork.measurement.inputs import GRAVITY, inputs_of, with_values
from fallwork.measurement.model import (
    Analysis,
    Array,
    Estimate,
    Measurand,
    Outcome,
    Summary,
    Trial,
)
from fallwork.measurement.motion import held_pull
from fallwork.measurement.propagation import Input
from fallwork.measurement.sensors import Sensors, Values, offset, shifts
from fallwork.measurement.statistics import combined
from fallwork.measurement.view import view_of
from fallwork.mechanics import Apparatus, apparatus_of
from fallwork.scenario import Scenario

Number = TypeVar("Number", float, Array)

LAST = 1e-3  # relative: the last place of a value whose digits aren't known
SCATTER = "scatter"  # of the trials, among what makes a value uncertain
ZERO = "zero"  # of the forces, as the record of a single trial sets it
UNSEEN = 1e-9  # relative: a sum that changes by less doesn't go with a measurand

Recipe = Callable[[Values], Array]  # measured values → (k,) derived quantities
Weights = Mapping[Any, float]  # of quantities in a sum, by name
Builder = Callable[[Apparatus], Recipe | None]  # None: it can't be done with this apparatus


@dataclass(frozen=True, kw_only=True)
class Case:
    """What a comparison is about, beside the trials."""

    scenario: Scenario
    gravity: Estimate  # m/s²
    sensors: Sensors = field(default_factory=Sensors)

    def apparatus(self, values: Mapping[str, float] | None = None) -> Apparatus:
        """The apparatus, with other values for some of its givens."""
        given = values or {}
        return apparatus_of(
            with_values(self.scenario, given), given.get(GRAVITY, self.gravity.value)
        )

    @property
    def inputs(self) -> tuple[Input, ...]:
        """The givens that are uncertain."""
        return inputs_of(self.scenario, self.gravity)

    @property
    def ends(self) -> Iterator["Ends"]:
        """Each uncertain given, one standard uncertainty below and above."""
        for each in self.inputs:
            low, high = max(each.value - each.u, each.lowest), each.value + each.u
            less, more = (self.apparatus({each.name: end}) for end in (low, high))
            yield Ends(given=each, low=low, high=high, less=less, more=more)

    def changes(self, values: Callable[[Apparatus], Sequence[float]]) -> Array:
        """What one standard uncertainty of each of n uncertain givens does to k values that follow
        from the apparatus, (n, k).
        """
        found = [
            each.change(*map(np.array, map(values, (each.more, each.less)))) for each in self.ends
        ]
        return np.array(found).reshape(len(found), len(values(self.apparatus())))


@dataclass(frozen=True, kw_only=True)
class Ends:
    """What the apparatus may be, as far as one given is uncertain."""

    given: Input
    low: float  # the given at either end
    high: float
    less: Apparatus
    more: Apparatus

    def change(self, above: Number, below: Number) -> Number:
        """What one standard uncertainty of the given does to a value that has these at its ends:
        half the difference of one up and one down (GUM 5.1.3, note 2), or what is left of it.
        """
        return (above - below) * (self.given.u / (self.high - self.low))


@dataclass(frozen=True, kw_only=True)
class Term:
    """One source of uncertainty and what one standard uncertainty of it does."""

    name: str
    change: Array  # (k,)
    dof: float = inf


@dataclass(frozen=True, kw_only=True)
class Derived:
    """Derived quantities over all trials."""

    names: tuple[Hashable, ...]  # of the k quantities
    values: Array  # (k,), means
    terms: tuple[Term, ...]  # shared by all trials, or of single means that nothing joins
    unknown: tuple[Array, ...]  # (k,) each: what the last place does of a mean without known u
    scatter: Array | None  # (k, k), covariance of the means from the scatter of trials
    trials: Mapping[str, Array]  # name → (k,), of those trials that have what is needed
    own: Mapping[str, Sequence[Term]]  # name → what the values of that trial say of themselves
    means: tuple[str, ...]  # measurands that no trial has: in each trial their mean stands for them
    claimed: Array | None  # (k, k), covariance of the means by what the values of the trials say
    # of their own uncertainties; None where some say nothing

    @property
    def shared(self) -> Array:
        """(k, k), the covariance that ``terms`` lead to."""
        return _covariance(self.terms, len(self.values))

    def places(self, names: Iterable[Hashable]) -> list[int]:
        """Where quantities stand; raises ValueError for one that isn't there."""
        return [self.names.index(name) for name in names]

    def outcome(self, weights: Weights, larger: float = 1.0, fewer: float = 0.0) -> Outcome:
        """A sum of quantities with factors; raises ValueError for one that isn't there. Weights
        that were fitted to the scatter make its variance ``larger`` by a factor, with so many
        ``fewer`` degrees of freedom.
        """
        return self._outcome(self._row(weights), self.values, larger, fewer)

    def in_trial(self, name: str, weights: Weights) -> Outcome:
        """The same in a single trial: with the scatter of single trials, or its own uncertainty
        where that is larger, and with what all trials share.
        """
        row = self._row(weights)
        own = combined([(abs(float(row @ term.change)), term.dof) for term in self.own[name]])
        return self._outcome(row, self.trials[name], len(self.trials), own=own)

    def counted(self, names: Iterable[Hashable]) -> tuple[str, ...]:
        """What makes quantities uncertain, by name: SCATTER, givens by their paths, measurands,
        what the sensors share.
        """
        at = self.places(names)
        felt = UNSEEN * np.abs(self.values[at])
        scattered = self.scatter is not None and bool(np.any(np.diag(self.scatter)[at] > 0))
        terms = [term.name for term in self.terms if np.any(np.abs(term.change[at]) > felt)]
        return (*((SCATTER,) if scattered else ()), *dict.fromkeys(terms))

    def _row(self, weights: Weights) -> Array:
        row = np.zeros(len(self.values))
        row[self.places(weights)] = list(weights.values())
        return row

    def _outcome(
        self,
        row: Array,
        values: Array,
        times: float,
        fewer: float = 0.0,
        own: tuple[float, float] = (0.0, inf),
    ) -> Outcome:
        """``times``: by which the variance from scatter is larger than that of the mean; ``own``
        (u, dof) stands in its place where it is larger.
        """
        value, size = float(row @ values), float(np.abs(row) @ np.abs(values))
        lost = max((abs(float(row @ change)) for change in self.unknown), default=0.0)
        if lost > UNSEEN * size:
            return Outcome(value=value, u=None, step=lost)
        parts = [(abs(float(row @ term.change)), term.dof) for term in self.terms]
        if self.scatter is not None:
            variance = max(float(row @ self.scatter @ row), 0.0) * times
            scattered = variance**0.5, len(self.trials) - 1 - fewer
            parts.append(max(scattered, own, key=itemgetter(0)))
        u, dof = combined(parts)
        return Outcome(value=value, u=u, dof=dof)


def derive(
    names: Sequence[Hashable],
    build: Builder,
    needs: Sequence[str],
    case: Case,
    analysis: Analysis,
    recipe: Recipe | None = None,
) -> Derived | None:
    """The quantities of these names that ``build`` gives a recipe for; None if a measurand is
    missing or the recipe is. ``recipe`` is that for the givens as they are, if it is at hand.

    From two trials on their scatter tells what is uncertain at random. For a single trial, and
    for measurands of which only the mean is known, their own uncertainties do, as independent.
    """
    recipe = recipe or build(case.apparatus())
    given = tuple(need for need in needs if _only_as_mean(need, analysis))
    seen = [need for need in needs if need not in given]
    complete = [t for t in analysis.counted if seen and all(need in t.estimates for need in seen)]
    if not complete:
        given = tuple(needs)
    if recipe is None or any(need not in analysis.summary for need in given):
        return None
    fixed = {need: _random_part(analysis.summary[need]) for need in given}
    means = fixed | _means(complete, seen) if complete else fixed
    each = {t.name: _of_trial(t, seen) | _numbers(fixed) for t in complete}
    single = {name: recipe(found) for name, found in each.items()}
    values = _numbers(means)
    several = len(complete) > 1
    table = np.array(list(single.values()))
    alone = fixed if several else means  # what no scatter of trials tells
    zero_u = float(np.linalg.norm([t.zero_u for t in complete])) / max(len(complete), 1)
    scattered = [need for need in means if need not in alone]
    alike = [need for need in scattered if analysis.summary[need].u is None]  # scatter unseen
    hidden = {need: analysis.summary[need].outcome for need in alike}
    own = _random(recipe, values, {need: means[need] for need in scattered}, zero_u)
    centre = table.mean(axis=0) if several else recipe(values)
    return Derived(
        names=tuple(names),
        values=centre,
        terms=(
            *_random(recipe, values, alone, 0.0 if several else zero_u),
            *_of_sensors(recipe, values, case.sensors),
            *_of_inputs(build, _seen(values, case, analysis.zeroed_held), case),
        ),
        unknown=tuple(_unknown(recipe, values, alone | hidden)),
        scatter=np.atleast_2d(np.cov(table.T)) / len(table) if several else None,
        trials=single,
        own={t.name: _own(recipe, each[t.name], t) for t in complete},
        means=given if complete else (),
        claimed=_covariance(own, len(centre)) if all(means[need].u for need in scattered) else None,
    )


def _covariance(terms: Sequence[Term], size: int) -> Array:
    changes = np.array([term.change for term in terms]).reshape(-1, size)
    return np.asarray(changes.T @ changes)


def _only_as_mean(need: str, analysis: Analysis) -> bool:
    return need in analysis.summary and all(need not in t.estimates for t in analysis.counted)


def _of_trial(trial: Trial, needs: Sequence[str]) -> dict[str, float]:
    return {need: trial.estimates[need].value for need in needs}


def _numbers(means: Mapping[str, Outcome]) -> dict[str, float]:
    return {need: mean.value for need, mean in means.items()}


def _means(complete: Sequence[Trial], needs: Sequence[str]) -> dict[str, Outcome]:
    if len(complete) == 1:
        return {need: complete[0].estimates[need] for need in needs}
    return {need: _mean([trial.estimates[need] for trial in complete]) for need in needs}


def _mean(estimates: Sequence[Outcome]) -> Estimate:
    """The mean with the uncertainty that the single values claim; 0 where some claim none."""
    claimed = [each.u or 0.0 for each in estimates]
    u = float(np.linalg.norm(claimed)) / len(claimed) if all(claimed) else 0.0
    return Estimate(value=float(np.mean([each.value for each in estimates])), u=u)


def _random_part(summary: Summary) -> Outcome:
    """The mean of a summary with its type A part only; type B comes from the sensors here."""
    n = summary.n or 1
    dof = n - 1 if summary.u_random is not None and n > 1 else inf
    return Outcome(value=summary.mean, u=summary.u_random, dof=dof, step=summary.step)


def _random(
    recipe: Recipe, values: Values, means: Mapping[str, Outcome], zero_u: float
) -> list[Term]:
    """What each mean says of itself, and once for all forces what their common zero does."""
    centre, shifted = recipe(values), offset(values, zero_u)
    terms = [Term(name=ZERO, change=recipe(shifted) - centre)] if zero_u else []
    for need, mean in means.items():
        own = max((mean.u or 0.0) ** 2 - (shifted[need] - values[need]) ** 2, 0.0) ** 0.5
        if own:
            change = recipe({**values, need: mean.value + own}) - centre
            terms.append(Term(name=need, change=change, dof=mean.dof))
    return terms


LATER = (Measurand.FINAL_SPEED, Measurand.DISTANCE)  # both too large where the end is too late


def _own(recipe: Recipe, values: Values, trial: Trial) -> list[Term]:
    """What the values of a single trial say of their own uncertainties. Its forces go together,
    as they share a zero, and so do speed, distance and work, as they share the end of the run.
    """
    found = {name: each for name, each in trial.estimates.items() if each.u is not None}
    more = {name: values[name] + (found[name].u or 0.0) for name in values if name in found}
    tension, work = found.get(Measurand.MEAN_TENSION), Measurand.WORK_OF_TENSION
    late = {name.value: more.pop(name) for name in LATER if name in more}
    more.pop(work, None)
    shifted = {name: {**values, name: end} for name, end in more.items()}
    if tension is not None:
        shifted[Measurand.MEAN_TENSION] = offset(values, tension.u or 0.0)
        if work in values and Measurand.DISTANCE in late:
            farther = late[Measurand.DISTANCE] - values[Measurand.DISTANCE]
            late[work.value] = values[work] + tension.value * farther
    shifted |= {name: {**values, **late} for name in list(late)[:1]}
    centre = recipe(values)
    return [
        Term(name=name, change=recipe(each) - centre, dof=found[name].dof)
        for name, each in shifted.items()
    ]


def _unknown(recipe: Recipe, values: Values, means: Mapping[str, Outcome]) -> Iterator[Array]:
    centre = recipe(values)
    for need, mean in means.items():
        if mean.u is None:
            yield recipe({**values, need: mean.value + (mean.step or LAST * mean.value)}) - centre


def _of_sensors(recipe: Recipe, values: Values, sensors: Sensors) -> list[Term]:
    centre = recipe(values)
    return [
        Term(name=shift.name, change=recipe(shift.apply(values, shift.u)) - centre)
        for shift in shifts(sensors)
    ]


def _seen(values: Values, case: Case, zeroed_held: bool) -> Callable[[Apparatus], Values]:
    """The measured values if an apparatus is the true one: forces that were zeroed by the pull
    while held go with it.
    """
    if not zeroed_held:
        return lambda apparatus: values
    view = view_of(case.scenario)
    taken = held_pull(case.apparatus(), view)
    return lambda apparatus: offset(values, held_pull(apparatus, view) - taken)


def _of_inputs(build: Builder, seen: Callable[[Apparatus], Values], case: Case) -> list[Term]:
    """What one standard uncertainty of each given does."""
    terms = []
    for ends in case.ends:
        above, below = build(ends.more), build(ends.less)
        if above is None or below is None:
            continue
        change = ends.change(above(seen(ends.more)), below(seen(ends.less)))
        terms.append(Term(name=ends.given.name, change=change, dof=ends.given.dof))
    return terms
