"""Quantities derived from measured values and givens together, with all that makes them uncertain.

Takes a recipe for the quantities, the trials and what they share; gives values whose every linear
combination has its uncertainty, correlations through shared inputs included.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf

import numpy as np

from fallwork.measurement.inputs import GRAVITY, inputs_of, with_values
from fallwork.measurement.model import Analysis, Array, Estimate, Trial
from fallwork.measurement.motion import held_pull
from fallwork.measurement.propagation import Input
from fallwork.measurement.sensors import Sensors, Values, offset, shifts
from fallwork.measurement.statistics import combined, spread
from fallwork.measurement.view import view_of
from fallwork.mechanics import Apparatus, apparatus_of
from fallwork.scenario.model import Scenario

Recipe = Callable[[Values], Array]  # measured values → (k,) derived quantities
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
            yield Ends(given=each, less=less, more=more, part=each.u / (high - low))


@dataclass(frozen=True, kw_only=True)
class Ends:
    """What the apparatus may be, as far as one given is uncertain."""

    given: Input
    less: Apparatus
    more: Apparatus
    part: float  # of the change from one end to the other: what one standard uncertainty does


@dataclass(frozen=True, kw_only=True)
class Term:
    """One source of uncertainty and what one standard uncertainty of it does."""

    name: str
    change: Array  # (k,)
    dof: float = inf


@dataclass(frozen=True, kw_only=True)
class Derived:
    """Derived quantities over all trials."""

    values: Array  # (k,), means
    terms: tuple[Term, ...]  # shared by all trials, or of single means that nothing joins
    scatter: Array | None  # (k, k), covariance of the means from the scatter of trials
    trials: Mapping[str, Array]  # name → (k,), of those trials that have what is needed
    weighing: Array  # (k, k), covariance of the means that weights go by, see ``derive``

    def estimate(self, weights: Sequence[float] | Array) -> Estimate:
        """A linear combination of the quantities."""
        row = np.asarray(weights, dtype=float)
        parts = [(abs(float(row @ term.change)), term.dof) for term in self.terms]
        if self.scatter is not None:
            variance = max(float(row @ self.scatter @ row), 0.0)
            parts.append((variance**0.5, len(self.trials) - 1))
        u, dof = combined(parts)
        return Estimate(value=float(row @ self.values), u=u, dof=dof)

    def in_trial(self, name: str, weights: Sequence[float] | Array) -> Estimate:
        """A linear combination in a single trial: with the scatter of single trials."""
        row = np.asarray(weights, dtype=float)
        parts = [(abs(float(row @ term.change)), term.dof) for term in self.terms]
        if self.scatter is not None:
            variance = max(float(row @ self.scatter @ row), 0.0) * len(self.trials)
            parts.append((variance**0.5, len(self.trials) - 1))
        u, dof = combined(parts)
        return Estimate(value=float(row @ self.trials[name]), u=u, dof=dof)


def derive(
    build: Builder,
    needs: Sequence[str],
    case: Case,
    analysis: Analysis,
    recipe: Recipe | None = None,
) -> Derived | None:
    """The quantities that ``build`` gives a recipe for; None if a measurand is missing or the
    recipe is. ``recipe`` is that for the givens as they are, if it is at hand.

    From two trials on their scatter tells what is uncertain at random. For a single trial, or
    summary values without trials, the uncertainties of the measurands count as independent.

    Weights go by the same shared effects, but in place of the scatter by what the trials say of
    their own uncertainties: weights that hang on the luck of a few trials would make the scatter
    along them seem smaller than it is (C. R. Rao, Proc. 5th Berkeley Symp. 1 (1967) 355).
    """
    recipe = recipe or build(case.apparatus())
    if recipe is None:
        return None
    complete = [t for t in analysis.counted if all(need in t.estimates for need in needs)]
    single = {trial.name: recipe(_values(trial, needs)) for trial in complete}
    means = _means(complete, analysis, needs)
    if means is None:
        return None
    values = {need: mean.value for need, mean in means.items()}
    several = len(complete) > 1
    table = np.array(list(single.values()))
    random = _random(recipe, means)
    shared = [
        *_of_sensors(recipe, values, case.sensors),
        *_of_inputs(build, _seen(values, case, analysis.zeroed_held), case),
    ]
    changes = np.array([term.change for term in (*random, *shared)] or [0 * recipe(values)])
    return Derived(
        values=table.mean(axis=0) if several else recipe(values),
        terms=tuple(shared if several else [*random, *shared]),
        scatter=np.atleast_2d(np.cov(table.T)) / len(table) if several else None,
        trials=single,
        weighing=changes.T @ changes,
    )


def _values(trial: Trial, needs: Sequence[str]) -> dict[str, float]:
    return {need: trial.estimates[need].value for need in needs}


def _means(
    complete: Sequence[Trial], analysis: Analysis, needs: Sequence[str]
) -> dict[str, Estimate] | None:
    if len(complete) == 1:
        return {need: complete[0].estimates[need] for need in needs}
    if complete:
        return {need: _mean([trial.estimates[need] for trial in complete]) for need in needs}
    if any(need not in analysis.summary for need in needs):
        return None
    return {need: _random_part(analysis, need) for need in needs}


def _mean(estimates: Sequence[Estimate]) -> Estimate:
    """The mean with the uncertainty that the single estimates claim; by their scatter where some
    claim none.
    """
    values = spread([each.value for each in estimates])
    claimed = [each.u for each in estimates]
    u = float(np.linalg.norm(claimed)) / len(claimed) if all(claimed) else values.u or 0.0
    return Estimate(value=values.mean, u=u)


def _random_part(analysis: Analysis, need: str) -> Estimate:
    """The mean of a summary with its type A part only; type B comes from the sensors here."""
    summary = analysis.summary[need]
    if summary.u_scatter is None:
        return Estimate(value=summary.mean, u=summary.u, dof=summary.dof)
    return Estimate(value=summary.mean, u=summary.u_scatter, dof=summary.n - 1)


def _random(recipe: Recipe, means: Mapping[str, Estimate]) -> list[Term]:
    values = {need: mean.value for need, mean in means.items()}
    centre = recipe(values)
    return [
        Term(name=need, change=recipe({**values, need: mean.value + mean.u}) - centre, dof=mean.dof)
        for need, mean in means.items()
        if mean.u > 0
    ]


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
    """Half the difference of one standard uncertainty up and down (GUM 5.1.3, note 2)."""
    terms = []
    for ends in case.ends:
        above, below = build(ends.more), build(ends.less)
        if above is None or below is None:
            continue
        change = (above(seen(ends.more)) - below(seen(ends.less))) * ends.part
        terms.append(Term(name=ends.given.name, change=change, dof=ends.given.dof))
    return terms
