"""What the model predicts for a lab, with uncertainty.

Takes a scenario whose numbers have uncertainties, and local g; gives every measurand: propagated
linearly through the solver with a budget that says which measurement to improve, and by Monte Carlo
through the same solver's batch. Where the two disagree, or a draw doesn't move at all, the Monte
Carlo result is the one to show.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from fallwork.measurement.inputs import GRAVITY, Case, with_values
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.propagation import (
    Contribution,
    Drawn,
    LinearResult,
    Model,
    Numbers,
    monte_carlo,
)
from fallwork.measurement.view import View, direction, driven_phases, measurands_of, view_of
from fallwork.mechanics import apparatus_of, solve, solve_driven
from fallwork.scenario import Scenario


@dataclass(frozen=True, kw_only=True)
class Predicted:
    """One output with both results."""

    linear: Estimate  # its value is that for the givens as they are
    simulated: Drawn | None  # None where the batch doesn't give this output
    budget: tuple[Contribution, ...]  # of the linear result, the largest first

    @property
    def drawn(self) -> Drawn | None:
        """The Monte Carlo result, if that is the one to show."""
        unlike = self.simulated is not None and not self.simulated.agrees_with(self.linear)
        return self.simulated if unlike else None

    @property
    def estimate(self) -> Estimate:
        """The value to show, with its uncertainty and coverage interval."""
        return self.drawn or self.linear


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """Everything that is predicted for a lab."""

    quantities: Mapping[str, Predicted]  # by Measurand
    draws: int

    @property
    def estimates(self) -> dict[str, Estimate]:
        """The measurands as they are to be shown."""
        return {name: predicted.estimate for name, predicted in self.quantities.items()}


def predict(scenario: Scenario, gravity: Estimate, *, seed: int) -> Prediction:
    """The prediction; raises ImpossibleApparatus for a set-up that can't be."""
    case, view = Case(scenario=scenario, gravity=gravity), view_of(scenario)
    found, solution = linear_prediction(case, view), solve(case.apparatus())
    draws, drawn = 0, dict[Any, Drawn]()
    phases = driven_phases(solution)
    if case.inputs and solution.moves and len(phases) == 1:
        draws, drawn = monte_carlo(_batch(case, view, direction(phases, view)), case.inputs, seed)
    quantities = {
        str(name): Predicted(
            linear=found.estimate(name),
            simulated=way if (way := drawn.get(name)) and way.undefined < 1 else None,
            budget=found.budget(name),
        )
        for name in Measurand
        if name in found.values
    }
    return Prediction(quantities=quantities, draws=draws)


def linear_prediction(case: Case, view: View) -> LinearResult:
    """The same without Monte Carlo, through the whole solver, one case at a time."""
    return case.propagated(lambda apparatus: measurands_of(solve(apparatus), view))


def _batch(case: Case, view: View, way: int) -> Model:
    """The model for many cases of a driven part that is one stretch."""

    def model(numbers: Numbers) -> Numbers:
        scenario = with_values(case.scenario, numbers)
        gravity: Any = numbers.get(GRAVITY, case.gravity.value)  # a float or an array
        driven = solve_driven(apparatus_of(scenario, gravity))
        acceleration, end = driven.accelerations[view.moving], driven.end_velocity(view.moving)
        distance = way * (end - acceleration * driven.duration / 2) * driven.duration
        outputs = {
            Measurand.ACCELERATION: way * acceleration,
            Measurand.FINAL_SPEED: way * end,
            Measurand.TRAVEL_TIME: driven.duration,
            Measurand.DISTANCE: distance,
        }
        if view.string is not None:
            first = case.scenario.strings[view.string].path[0] == view.pulled
            tension = driven.segment_tensions[view.string][0 if first else -1]
            outputs |= {
                Measurand.MEAN_TENSION: tension,
                Measurand.WORK_OF_TENSION: tension * distance,
                Measurand.TENSION_OVER_TIME: tension,
            }
        return {name: np.asarray(values, dtype=float) for name, values in outputs.items()}

    return model
