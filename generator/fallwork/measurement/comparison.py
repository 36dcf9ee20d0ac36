"""Measured against predicted, and for each system work against change of energy.

Takes the trials, what is predicted and what all share; gives differences with their uncertainty
(both sides together, type A and type B), so that each has its verdict. A percent difference
describes and decides nothing. Words for readers are left to others.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from fallwork.measurement.derived import Derived, derive
from fallwork.measurement.energies import MeasuredAccount, account_of, preferred, stand_ins
from fallwork.measurement.model import Analysis, Array, Estimate, Estimates, Measurand, Summary
from fallwork.measurement.prediction import Case, View, driven_phases, view_of
from fallwork.measurement.statistics import Outcome, combined, guarded
from fallwork.measurement.summaries import Values
from fallwork.mechanics import Apparatus, solve
from fallwork.scenario import SystemChoice

ACCELERATION, FROM_SPEED = Measurand.ACCELERATION, Measurand.ACCELERATION_FROM_SPEED
COMPARED = (ACCELERATION, FROM_SPEED, Measurand.MEAN_TENSION, Measurand.FINAL_SPEED)
LEVEL_OF_SIDES = 0.05  # chance puts all trials on one side less often than this, or nothing is said
PREDICTED = "predicted value"  # the usual denominator of a percent difference


@dataclass(frozen=True, kw_only=True)
class Comparison(Outcome):
    """One measured value against what is expected of it, in the unit of the quantity: as an outcome
    it is their difference, measured less expected.
    """

    measured: Outcome
    expected: Outcome
    percent_of: str  # what the percent difference is divided by, e.g. PREDICTED
    percent_base: float  # its size
    covariance: float = 0.0  # of the two sides, through sources of uncertainty that both share

    @property
    def percent(self) -> float | None:
        """Of ``percent_of``, with sign; None if that is zero."""
        return 100 * self.value / self.percent_base if self.percent_base > 0 else None


@dataclass(frozen=True, kw_only=True)
class Compared:
    """A mean against what is expected, and each trial by itself."""

    overall: Comparison
    trials: Mapping[str, Comparison]  # by the name of the trial; excluded ones left out

    @property
    def side(self) -> int:
        """1 or −1 if every trial lies above or below, as ``side_of``; one that differs by less than
        its last place is as it was read doesn't.
        """
        ends = [(each.value, each.measured.step / 2) for each in self.trials.values()]
        return side_of([value if abs(value) > rounding else 0.0 for value, rounding in ends])


@dataclass(frozen=True, kw_only=True)
class SystemComparison(Compared):
    """External work against change of energy for one choice of system."""

    account: MeasuredAccount  # of the mean values
    accounts: Mapping[str, MeasuredAccount]  # of each trial
    means: tuple[str, ...]  # measurands of which every trial's account holds the mean


@dataclass(frozen=True, kw_only=True)
class ComparisonResult:
    """Everything that was compared, in the order of COMPARED and of the scenario."""

    quantities: Mapping[str, Compared]  # by Measurand
    systems: Mapping[str, SystemComparison]  # by id
    missing: Mapping[str, tuple[str, ...]]
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


def compare(measured: Outcome, predicted: Estimate, covariance: float = 0.0) -> Comparison:
    """Two values; ``covariance`` is what comes from sources of uncertainty that both share."""
    u, dof = combined([(measured.u, measured.dof), (predicted.u, predicted.dof)])
    return Comparison(
        value=measured.value - predicted.value,
        u=None if u is None else max(u**2 - 2 * covariance, 0.0) ** 0.5,
        dof=dof,
        step=guarded(measured.step),
        measured=measured,
        expected=predicted,
        percent_of=PREDICTED,
        percent_base=abs(predicted.value),
        covariance=covariance,
    )


def compare_all(analysis: Analysis, predicted: Estimates, case: Case) -> ComparisonResult:
    """Every measurand that is measured and predicted, and every featured system."""
    view, compared = view_of(case.scenario), dict[str, Compared]()
    for quantity in COMPARED:
        summary, expected = analysis.summary.get(quantity), predicted.get(quantity.predicted)
        if summary is None or expected is None:
            continue
        # Forces zeroed by the givens go with them, as the prediction does.
        shares = analysis.zeroed_held and quantity is Measurand.MEAN_TENSION
        covariance = covariance_of_tension(case) if shares else 0.0
        measured = [(t.name, t.estimates.get(quantity)) for t in analysis.counted]
        singles = {name: _single(each, summary) for name, each in measured if each}
        overall = compare(summary, expected, covariance)
        trials = {name: compare(each, expected, covariance) for name, each in singles.items()}
        compared[quantity.value] = Compared(overall=overall, trials=trials)
    systems = {each.id: _system(each, analysis, case, view) for each in case.scenario.systems}
    told = {id_: s for id_, s in systems.items() if isinstance(s, SystemComparison)}
    missing = {id_: s for id_, s in systems.items() if isinstance(s, tuple)}
    return ComparisonResult(quantities=compared, systems=told, missing=missing)


def covariance_of_tension(case: Case) -> float:
    """Covariance in N² of the pull while held and the predicted mean tension."""
    view = view_of(case.scenario)

    def pulls(apparatus: Apparatus) -> dict[str, float]:
        driven = view.measurands(solve(apparatus)).get(Measurand.MEAN_TENSION, 0.0)
        return {"held": view.held_pull(apparatus), "driven": driven}

    found = case.propagated(pulls)
    return float(found.changes("held") @ found.changes("driven"))


def _single(estimate: Outcome, summary: Summary) -> Outcome:
    """One trial with what is uncertain about a single one, and with what all trials share."""
    deviation, random = summary.standard_deviation, (estimate.u, estimate.dof)
    if deviation is not None and summary.n is not None and deviation >= (estimate.u or 0.0):
        random = (deviation, summary.n - 1)
    u, dof = combined([random, *((each, inf) for each in summary.effects.values())])
    return Outcome(value=estimate.value, u=u, dof=dof, step=estimate.step)


WORK, CHANGE = "external work", "change of energy"  # first of the derived quantities, then parts


def _system(
    choice: SystemChoice, analysis: Analysis, case: Case, view: View
) -> SystemComparison | tuple[str, ...]:
    """A system against the trials, or what they lack for it."""

    def build(apparatus: Apparatus) -> MeasuredAccount | None:
        return account_of(apparatus, driven_phases(solve(apparatus)), view, choice.members)

    def sides(found: MeasuredAccount, values: Values) -> Array:
        sizes, works = found.sizes(values), len(found.works)
        parts = dict(zip((part.name for part in found.parts), sizes, strict=True))
        both = np.sum(sizes[:works]), np.sum(sizes[works:])
        return np.array([*both, *(parts.get(name, 0.0) for name in names)])

    given = build(case.apparatus())
    if given is None:
        return ()
    names = [part.name for part in given.parts]
    # Distance as well, if it is there: a given may bring in a part that goes with it.
    wanted = dict.fromkeys((*(part.goes_with for part in given.parts), Measurand.DISTANCE))
    needs, lacks = stand_ins(wanted, preferred(analysis.summary))
    every = (WORK, CHANGE, *names)
    derived = None if lacks else derive(every, build, sides, needs, case, analysis)
    if derived is None:
        return lacks
    accounts = {name: given.resized(each[2:]) for name, each in derived.trials.items()}
    account = given.resized(derived.values[2:])
    whole = _judged(account, derived)
    trials = {name: _judged(each, derived, name) for name, each in accounts.items()}
    return SystemComparison(
        overall=whole, trials=trials, account=account, accounts=accounts, means=derived.means
    )


def _judged(account: MeasuredAccount, derived: Derived, trial: str | None = None) -> Comparison:
    """The percent difference is that of the largest part: the sides may be near 0."""
    work, change = derived.row(WORK), derived.row(CHANGE)
    largest = max(account.parts, key=lambda part: abs(part.value))
    sides = {"measured": derived.outcome(work, trial), "expected": derived.outcome(change, trial)}
    told = vars(derived.outcome(work - change, trial)) | sides
    return Comparison(**told, percent_of=largest.name, percent_base=abs(largest.value))
