"""What the model of a lab says: its uncertain numbers, what follows from other values for them, and
the prediction with uncertainty.

Takes a validated scenario and local g; gives the inputs of a propagation, by the paths that the
scenario's file uses. Every measurand is propagated linearly through the solver with a budget that
says which measurement to improve, and by Monte Carlo through the same solver's batch. Where the two
disagree, or a draw doesn't move at all, the Monte Carlo result is the one to show.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from math import inf
from typing import Any

import numpy as np

from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.propagation import (
    Contribution,
    Drawn,
    Input,
    LinearResult,
    Numbers,
    linear,
    monte_carlo,
)
from fallwork.measurement.summaries import Sensors
from fallwork.measurement.view import View, direction, driven_phases, measurands_of, view_of
from fallwork.mechanics import Apparatus, apparatus_of, solve, solve_driven
from fallwork.scenario import Scenario
from fallwork.scenario.numbers import quantities_of as quantities_of
from fallwork.scenario.numbers import with_values as with_values

GRAVITY = "gravity"  # the path of local g, which no scenario holds
SIGNED = ("angle", "speed", "force")  # kinds of quantity that may be negative
LIMITS = "limits"  # ends the uncertainty of a rectangular distribution as written

Outputs = Callable[[Apparatus], Mapping[Any, float]]  # what follows from an apparatus, by name


@dataclass(frozen=True, kw_only=True)
class Case:
    """What a comparison is about, beside the trials."""

    scenario: Scenario
    gravity: Estimate  # m/s²
    sensors: Sensors = field(default_factory=Sensors)

    def apparatus(self, values: Mapping[str, Any] | None = None) -> Apparatus:
        """The apparatus, with other values for some of its givens."""
        given: Mapping[str, Any] = values or {}  # floats, or arrays
        gravity = given.get(GRAVITY, self.gravity.value)
        return apparatus_of(with_values(self.scenario, given), gravity)

    @property
    def inputs(self) -> tuple[Input, ...]:
        """Every given that is uncertain, in the order of the file; gravity is the last."""
        found = [
            Input(
                name=path,
                value=each.value,
                u=each.u,
                rectangular=each.uncertainty.endswith(LIMITS),
                lowest=-inf if each.kind in SIGNED else 0.0,
            )
            for path, each in quantities_of(self.scenario)
        ]
        g = self.gravity
        local = Input(name=GRAVITY, value=g.value, u=g.u, dof=g.dof, lowest=0.0)
        return tuple(each for each in (*found, local) if each.u > 0)

    @property
    def ends(self) -> Iterator[tuple[Input, float, float]]:
        """Each uncertain given, one standard uncertainty below, or at its lowest, and above."""
        return ((i, max(i.value - i.u, i.lowest), i.value + i.u) for i in self.inputs)

    def propagated(self, outputs: Outputs) -> LinearResult:
        """What follows from the apparatus, with what the uncertain givens do to it; outputs that
        don't exist for all of their values are left out.
        """

        def model(numbers: Numbers) -> Numbers:
            points = np.array(list(numbers.values())).T if numbers else np.zeros((1, 0))
            at = [dict(zip(numbers, map(float, point), strict=True)) for point in points]
            rows = [outputs(self.apparatus(values)) for values in at]
            everywhere = [name for name in rows[0] if all(name in row for row in rows)]
            return {name: np.array([row[name] for row in rows]) for name in everywhere}

        return linear(model, self.inputs)


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
    draws, drawn, phases = 0, dict[Any, Drawn](), driven_phases(solution)
    way = direction(phases, view)

    def batch(numbers: Numbers) -> Numbers:
        """Many cases of a driven part that is one stretch."""
        driven = solve_driven(case.apparatus(numbers))
        acceleration, end = driven.accelerations[view.moving], driven.end_velocity(view.moving)
        distance = way * (end - acceleration * driven.duration / 2) * driven.duration
        outputs = {
            Measurand.ACCELERATION: way * acceleration,
            Measurand.FINAL_SPEED: way * end,
            Measurand.TRAVEL_TIME: driven.duration,
            Measurand.DISTANCE: distance,
        }
        if view.string is not None:
            first = scenario.strings[view.string].path[0] == view.pulled
            tension = driven.segment_tensions[view.string][0 if first else -1]
            outputs |= dict.fromkeys((Measurand.MEAN_TENSION, Measurand.TENSION_OVER_TIME), tension)
            outputs[Measurand.WORK_OF_TENSION] = tension * distance
        return {name: np.asarray(values, dtype=float) for name, values in outputs.items()}

    if case.inputs and solution.moves and len(phases) == 1:
        draws, drawn = monte_carlo(batch, case.inputs, seed)
    quantities = {
        str(name): Predicted(
            linear=found.estimate(name),
            simulated=one if (one := drawn.get(name)) and one.undefined < 1 else None,
            budget=found.budget(name),
        )
        for name in Measurand
        if name in found.values
    }
    return Prediction(quantities=quantities, draws=draws)


def linear_prediction(case: Case, view: View) -> LinearResult:
    """The same without Monte Carlo, through the whole solver, one case at a time."""
    return case.propagated(lambda apparatus: measurands_of(solve(apparatus), view))
