"""Measured against predicted, and for each system work against change of energy.

Takes the trials, what is predicted and what all share; gives differences with their uncertainty and
a verdict. There is one rule for every verdict: two values agree if their difference is at most
k × u, where u is the standard uncertainty of the difference (both sides together, type A and
type B) and k is Student's t for 95 % and its effective degrees of freedom (GUM G.3, G.4). Where u
isn't known, nothing is judged. A percent difference describes and decides nothing. Words for
readers are left to others.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import partial
from math import sqrt

import numpy as np

from fallwork.measurement.derived import Weights, derive
from fallwork.measurement.energies import (
    MeasuredAccount,
    Pattern,
    pattern_of,
    preferred,
    stand_ins,
)
from fallwork.measurement.inputs import Case
from fallwork.measurement.model import Analysis, Array, Estimate, Measurand, Outcome, Summary
from fallwork.measurement.sensors import Values
from fallwork.measurement.statistics import combined, coverage_factor, guarded, limit_of
from fallwork.measurement.view import View, driven_phases, view_of
from fallwork.measurement.zeroing import covariance_of_tension
from fallwork.mechanics import Apparatus, solve
from fallwork.scenario import SystemChoice

COMPARED = (
    Measurand.ACCELERATION,
    Measurand.ACCELERATION_FROM_SPEED,
    Measurand.MEAN_TENSION,
    Measurand.FINAL_SPEED,
)
LEVEL_OF_SIDES = 0.05  # chance puts all trials on one side less often than this, or nothing is said
PREDICTED = "predicted value"  # the usual denominator of a percent difference


class Verdict(Enum):
    """Whether the difference lies within k × u."""

    AGREE = "agree"
    DIFFER = "differ"
    OPEN = "not judged"  # u isn't known


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """One measured value against what is expected of it, in the unit of the quantity, by the one
    verdict rule.
    """

    measured: Outcome
    expected: Outcome
    difference: Outcome  # measured less expected
    percent_of: str  # what the percent difference is divided by, e.g. PREDICTED
    percent_base: float  # its size
    covariance: float = 0.0  # of the two sides, through sources of uncertainty that both share

    @property
    def coverage_factor(self) -> float | None:
        """Of the difference; None where its uncertainty isn't known."""
        return None if self.difference.u is None else coverage_factor(self.difference.dof)

    @property
    def limit(self) -> float | None:
        """k × u, the greatest difference that still agrees."""
        return limit_of(self.difference)

    @property
    def verdict(self) -> Verdict:
        """Whether the difference lies within the limit."""
        return verdict_on(self.difference)

    @property
    def percent(self) -> float | None:
        """Of ``percent_of``, with sign; None if that is zero."""
        return 100 * self.difference.value / self.percent_base if self.percent_base > 0 else None


@dataclass(frozen=True, kw_only=True)
class QuantityComparison:
    """One measurand against its prediction."""

    overall: Comparison
    trials: Mapping[str, Comparison]  # by the name of the trial; excluded ones left out

    @property
    def side(self) -> int:
        """1 or −1 if every trial lies above or below, as ``side_of``; one that differs by less than
        its last place is as it was read doesn't.
        """
        ends = [(each.difference.value, each.measured.step / 2) for each in self.trials.values()]
        return side_of([value if abs(value) > rounding else 0.0 for value, rounding in ends])


@dataclass(frozen=True, kw_only=True)
class SystemTrial:
    """One trial's account of a system."""

    account: MeasuredAccount
    comparison: Comparison  # work against change of energy


@dataclass(frozen=True, kw_only=True)
class SystemComparison:
    """External work against change of energy for one choice of system."""

    account: MeasuredAccount  # of the mean values
    overall: Comparison
    trials: Mapping[str, SystemTrial]
    means: tuple[str, ...]  # measurands of which every trial's account holds the mean

    @property
    def side(self) -> int:
        """1 or −1 if the difference has this sign in every trial, as ``side_of``."""
        return side_of([each.comparison.difference.value for each in self.trials.values()])


@dataclass(frozen=True, kw_only=True)
class ComparisonResult:
    """Everything that was compared, in the order of COMPARED and of the scenario."""

    quantities: Mapping[str, QuantityComparison]
    systems: Mapping[str, SystemComparison]  # by id
    missing: Mapping[str, tuple[Measurand, ...]]
    # ^ by id, measurands that a system lacks to be set against the trials; none of them if the run
    # itself doesn't allow it


def side_of(differences: Sequence[float]) -> int:
    """1 or −1 if all have this sign and are so many that chance hardly does it (sign test); else 0.

    Of n differences with median zero all have one sign with the probability 2 × (1/2)^n.
    """
    if 2 * 0.5 ** len(differences) > LEVEL_OF_SIDES:
        return 0
    signs = {(value > 0) - (value < 0) for value in differences}
    return signs.pop() if len(signs) == 1 else 0


def verdict_on(difference: Outcome) -> Verdict:
    """Whether a difference is zero within its expanded uncertainty."""
    limit = limit_of(difference)
    if limit is None:
        return Verdict.OPEN
    return Verdict.AGREE if abs(difference.value) <= limit else Verdict.DIFFER


def compare(measured: Outcome, predicted: Estimate, covariance: float = 0.0) -> Comparison:
    """Two values; ``covariance`` is what comes from sources of uncertainty that both share."""
    u, dof = combined([(measured.u, measured.dof), (predicted.u, predicted.dof)])
    if u is not None:
        u = sqrt(max(u**2 - 2 * covariance, 0.0))
    value = measured.value - predicted.value
    difference = Outcome(value=value, u=u, dof=dof, step=guarded(measured.step))
    return Comparison(
        measured=measured,
        expected=predicted,
        difference=difference,
        percent_of=PREDICTED,
        percent_base=abs(predicted.value),
        covariance=covariance,
    )


def compare_all(
    analysis: Analysis, predicted: Mapping[str, Estimate], case: Case
) -> ComparisonResult:
    """Every measurand that is measured and predicted, and every featured system."""
    view, compared = view_of(case.scenario), dict[str, QuantityComparison]()
    for quantity in COMPARED:
        summary, expected = analysis.summary.get(quantity), predicted.get(quantity.predicted)
        if summary is None or expected is None:
            continue
        # Forces zeroed by the givens go with them, as the prediction does.
        shares = analysis.zeroed_held and quantity is Measurand.MEAN_TENSION
        covariance = covariance_of_tension(case) if shares else 0.0
        compared[quantity.value] = QuantityComparison(
            overall=compare(summary.outcome, expected, covariance),
            trials={
                t.name: compare(_single(t.estimates[quantity], summary), expected, covariance)
                for t in analysis.counted
                if quantity in t.estimates
            },
        )
    systems, missing = dict[str, SystemComparison](), dict[str, tuple[Measurand, ...]]()
    for choice in case.scenario.systems:
        found, lacks = _system(choice, analysis, case, view)
        if found is None:
            missing[choice.id] = lacks
        else:
            systems[choice.id] = found
    return ComparisonResult(quantities=compared, systems=systems, missing=missing)


def _single(estimate: Outcome, summary: Summary) -> Outcome:
    """One trial with what is uncertain about a single one: the scatter of trials, or its own
    uncertainty where that is larger, and what all trials share.
    """
    deviation, random = summary.standard_deviation, (estimate.u, estimate.dof)
    if deviation is not None and summary.n is not None and deviation >= (estimate.u or 0.0):
        random = (deviation, summary.n - 1)
    u, dof = combined([random, *((effect.u, effect.dof) for effect in summary.effects)])
    return Outcome(value=estimate.value, u=u, dof=dof, step=estimate.step)


# ---- systems

WORK, CHANGE = "external work", "change of energy"  # first of the derived quantities, then parts


def _system(
    choice: SystemChoice, analysis: Analysis, case: Case, view: View
) -> tuple[SystemComparison | None, tuple[Measurand, ...]]:
    """A system against the trials, and what they lack for it."""

    def pattern(apparatus: Apparatus) -> Pattern | None:
        return pattern_of(apparatus, driven_phases(solve(apparatus)), view, choice.members)

    def sides(found: Pattern, values: Values) -> Array:
        account = found.with_values(values)
        parts = {part.name: part.value for part in account.parts}
        return np.array([account.work, account.change, *(parts.get(name, 0.0) for name in names)])

    given = pattern(case.apparatus())
    if given is None:
        return None, ()
    names = [part.name for part in given.account.parts]
    # Distance as well, if it is there: a given may bring in a part that goes with it.
    wanted = dict.fromkeys((*given.goes_with, Measurand.DISTANCE))
    needs, lacks = stand_ins(wanted, preferred(analysis.summary))
    every = (WORK, CHANGE, *names)
    derived = None if lacks else derive(every, pattern, sides, needs, case, analysis)
    if derived is None:
        return None, lacks
    mean = given.account.resized(derived.values[2:])
    single = {name: given.account.resized(each[2:]) for name, each in derived.trials.items()}
    trials = {
        name: SystemTrial(account=own, comparison=_judged(own, partial(derived.in_trial, name)))
        for name, own in single.items()
    }
    overall = _judged(mean, derived.outcome)
    return SystemComparison(account=mean, overall=overall, trials=trials, means=derived.means), ()


def _judged(account: MeasuredAccount, outcome: Callable[[Weights], Outcome]) -> Comparison:
    """``outcome`` is of a sum with weights. The percent difference is that of the largest part: the
    sides themselves may be near 0.
    """
    largest = max(account.parts, key=lambda part: abs(part.value))
    return Comparison(
        measured=outcome({WORK: 1.0}),
        expected=outcome({CHANGE: 1.0}),
        difference=outcome({WORK: 1.0, CHANGE: -1.0}),
        percent_of=largest.name,
        percent_base=abs(largest.value),
    )
