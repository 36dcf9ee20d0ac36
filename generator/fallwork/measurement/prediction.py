"""What the model predicts for a lab, with uncertainty.

Takes a scenario whose numbers have uncertainties, and local g; gives every measurand and every part
of the account of each featured system: propagated linearly through the solver with a budget that
says which measurement to improve, and by Monte Carlo through the same solver's batch. Where the two
disagree, or a draw doesn't move at all, the Monte Carlo result is the one to show.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

import numpy as np

from fallwork.measurement.derived import Case
from fallwork.measurement.inputs import GRAVITY, with_values
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.propagation import (
    Contribution,
    Drawn,
    LinearResult,
    Numbers,
    linear,
    monte_carlo,
)
from fallwork.measurement.statistics import interval
from fallwork.measurement.view import (
    View,
    direction,
    driven_phases,
    known_sum,
    measurands_of,
    view_of,
)
from fallwork.mechanics import Apparatus, Phase, account, apparatus_of, solve, solve_driven
from fallwork.scenario import Scenario, SystemChoice

EXTERNAL_WORK, ENERGY_CHANGE = "external work", "energy change"  # totals of a system's account
ROUNDING = 1e-12  # of the largest part of an account: less than that is zero


class Method(Enum):
    """How an uncertainty was found."""

    LINEAR = "linear"
    MONTE_CARLO = "Monte Carlo"


@dataclass(frozen=True, kw_only=True)
class Predicted:
    """One output with both results; ``estimate`` and ``interval_95`` are the ones to show."""

    name: str
    linear: Estimate  # its value is that for the givens as they are
    simulated: Drawn | None  # None where the batch doesn't give this output
    budget: tuple[Contribution, ...]  # of the linear result, the largest first

    @property
    def value(self) -> float:
        """For the givens as they are."""
        return self.linear.value

    @property
    def method(self) -> Method:
        """How the uncertainty to show was found."""
        trusted = self.simulated is None or self.simulated.agrees_with(self.linear)
        return Method.LINEAR if trusted else Method.MONTE_CARLO

    @property
    def estimate(self) -> Estimate:
        """The value and uncertainty to show."""
        shown = self.simulated if self.method is Method.MONTE_CARLO else None
        return self.linear if shown is None else shown.estimate

    @property
    def interval_95(self) -> tuple[float, float]:
        """The coverage interval to show."""
        shown = self.simulated if self.method is Method.MONTE_CARLO else None
        return interval(self.linear) if shown is None else shown.interval_95

    @property
    def improve(self) -> str | None:
        """The given whose better measurement would help most; None if nothing is uncertain."""
        return self.budget[0].input if self.budget and self.budget[0].u > 0 else None


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """Everything that is predicted for a lab."""

    view: View
    quantities: Mapping[str, Predicted]  # by Measurand
    systems: Mapping[str, Mapping[str, Predicted]]  # id → force, energy, EXTERNAL_WORK, …
    draws: int
    seed: int

    @property
    def estimates(self) -> dict[str, Estimate]:
        """The measurands as they are to be shown."""
        return {name: predicted.estimate for name, predicted in self.quantities.items()}


def predict(scenario: Scenario, gravity: Estimate, *, seed: int) -> Prediction:
    """The prediction; raises ImpossibleApparatus for a set-up that can't be."""
    case, view = Case(scenario=scenario, gravity=gravity), view_of(scenario)
    found, batch = linear_prediction(case, view), _Batch(case, view)
    drawn = monte_carlo(batch, case.inputs, seed) if case.inputs and batch.possible else None
    simulated = {} if drawn is None else drawn.outputs
    outputs = {
        name: Predicted(
            name=name,
            linear=estimate,
            simulated=way if (way := simulated.get(name)) and way.undefined < 1 else None,
            budget=found.budget[name],
        )
        for name, estimate in found.estimates.items()
    }
    systems: dict[str, dict[str, Predicted]] = {choice.id: {} for choice in scenario.systems}
    for name, each in outputs.items():
        system, _, part = name.partition("/")
        if part:
            systems[system][part] = each
    return Prediction(
        view=view,
        quantities={name: outputs[name] for name in map(str, Measurand) if name in outputs},
        systems=systems,
        draws=0 if drawn is None else drawn.draws,
        seed=seed,
    )


def linear_prediction(case: Case, view: View) -> LinearResult:
    """The same without Monte Carlo; parts of systems as ``<id>/<part>``."""
    return linear(_Single(case, view), case.inputs)


# ---- through the whole solver, one case at a time


class _Single:
    """The model for a few cases: the whole run and the account of every featured system."""

    def __init__(self, case: Case, view: View) -> None:
        self.case, self.view = case, view

    def __call__(self, numbers: Numbers) -> Numbers:
        names = tuple(numbers)
        count = len(next(iter(numbers.values()))) if names else 1
        rows = [
            self._outputs(self.case.apparatus({name: float(numbers[name][at]) for name in names}))
            for at in range(count)
        ]
        everywhere = [name for name in rows[0] if all(name in row for row in rows)]
        return {name: np.array([row[name] for row in rows]) for name in everywhere}

    def _outputs(self, apparatus: Apparatus) -> dict[str, float]:
        solution = solve(apparatus)
        outputs = measurands_of(solution, self.view)
        for choice in self.case.scenario.systems:
            parts = _system(apparatus, driven_phases(solution), choice)
            outputs |= {f"{choice.id}/{part}": value for part, value in parts.items()}
        return outputs


def _system(
    apparatus: Apparatus, phases: Sequence[Phase], choice: SystemChoice
) -> dict[str, float]:
    """Works of external forces and changes of energy over the driven part, J."""
    totals: dict[str, float | None] = {}
    for phase in phases:
        whole = account(apparatus, phase, choice.members)
        parts = {
            **{force.name: force.work for force in whole.external},
            **whole.energy_changes,
            EXTERNAL_WORK: whole.external_work,
            ENERGY_CHANGE: whole.energy_change,
        }
        for name, value in parts.items():
            totals[name] = known_sum([totals.get(name, 0.0), value])
    known = {name: value for name, value in totals.items() if value is not None}
    noise = ROUNDING * max(map(abs, known.values()), default=0.0)
    return {name: 0.0 if abs(value) <= noise else value for name, value in known.items()}


# ---- through the batch


class _Batch:
    """The model for many cases of a driven part that is one stretch."""

    def __init__(self, case: Case, view: View) -> None:
        self.case, self.view = case, view
        solution = solve(case.apparatus())
        phases = driven_phases(solution)
        self.way = direction(phases, view)
        self.possible = solution.moves and len(phases) == 1

    def __call__(self, numbers: Numbers) -> Numbers:
        scenario = with_values(self.case.scenario, numbers)
        gravity: Any = numbers.get(GRAVITY, self.case.gravity.value)  # a float or an array
        driven = solve_driven(apparatus_of(scenario, gravity))
        moving, string = self.view.moving, self.view.string
        acceleration, end = driven.accelerations[moving], driven.end_velocity(moving)
        distance = self.way * (end - acceleration * driven.duration / 2) * driven.duration
        outputs = {
            Measurand.ACCELERATION: self.way * acceleration,
            Measurand.FINAL_SPEED: self.way * end,
            Measurand.TRAVEL_TIME: driven.duration,
            Measurand.DISTANCE: distance,
        }
        if string is not None:
            first = self.case.scenario.strings[string].path[0] == self.view.pulled
            tension = driven.segment_tensions[string][0 if first else -1]
            outputs |= {
                Measurand.MEAN_TENSION: tension,
                Measurand.WORK_OF_TENSION: tension * distance,
                Measurand.TENSION_OVER_TIME: tension,
            }
        return {str(name): np.asarray(values, dtype=float) for name, values in outputs.items()}
