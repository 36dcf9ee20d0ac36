"""What the model of a lab says: what the sensors look at and would find, and the prediction with
uncertainty.

Takes a scenario and local g; measured motion counts in the direction in which the watched object
goes in the driven part. Every measurand is propagated linearly through the solver with a budget
that says which measurement to improve, and by Monte Carlo through the same solver's batch. Where
the two disagree, or a draw doesn't move at all, the Monte Carlo result is the one to show.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf, nan
from typing import Any

import numpy as np

from fallwork.measurement import propagation
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.propagation import Contribution, Drawn, Input, LinearResult, Numbers
from fallwork.measurement.summaries import Sensors
from fallwork.mechanics import Apparatus, Phase, Solution, apparatus_of, solve, solve_driven
from fallwork.mechanics.solution import Role
from fallwork.scenario import Pulley, Scenario, Slider
from fallwork.scenario.numbers import quantities_of as quantities_of
from fallwork.scenario.numbers import with_values as with_values

GRIP = 1e6  # coefficient of static friction of an object that a hand holds
EXACT = 1e-12  # relative; what is less uncertain is held as exact
GRAVITY = "gravity"  # the path of local g, which no scenario holds
SIGNED = ("angle", "speed", "force")  # kinds of quantity that may be negative
LIMITS = "limits"  # ends the uncertainty of a rectangular distribution as written

Outputs = Callable[[Apparatus], Mapping[Any, float]]  # what follows from an apparatus, by name


@dataclass(frozen=True, kw_only=True)
class View:
    """What the sensors look at."""

    moving: str  # the object whose motion is measured
    string: str | None = None  # the string whose pull is measured; None: no force sensor possible
    pulled: str | None = None  # the object on which it is measured

    def pull(self, phase: Phase) -> float | None:
        """The measured pull in N; None where there is none to measure or it can't be told."""
        if self.string is None or self.pulled is None:
            return None
        return phase.tensions[self.string].get(self.pulled)

    def coasting(self, solution: Solution) -> Phase | None:
        """The first phase after landing in which the measured string pulls nothing."""
        for phase in solution.phases:
            if phase.role is Role.COASTING and phase.start_velocities.get(self.moving, 0.0) != 0:
                return phase if self.string is None or self.pull(phase) == 0 else None
        return None

    def direction(self, phases: Sequence[Phase]) -> int:
        """+1 or −1: the sense of the watched object's fixed positive one in which it goes."""
        moved = sum(phase.displacements.get(self.moving) or 0.0 for phase in phases)
        return -1 if moved < 0 else 1

    def turns_round(self, phases: Sequence[Phase]) -> bool:
        """Whether the watched object starts against the way that it goes in the end."""
        start = phases[0].start_velocities.get(self.moving, 0.0)
        return self.direction(phases) * start < 0 and len(phases) > 1

    def measurands(self, solution: Solution) -> dict[str, float]:
        """What a perfect measurement would find, by Measurand; what doesn't exist is left out. The
        acceleration and the tension of a run that turns round are those after the turn: friction
        changes its side there.
        """
        phases = driven_phases(solution)
        way, turned = self.direction(phases), self.turns_round(phases)
        straight, last, none = phases[-1 if turned else 0], phases[-1], {self.moving: nan}
        moves = [{**none, **phase.displacements}[self.moving] for phase in phases]
        columns = [p.duration for p in phases], moves, [self.pull(p) for p in phases]
        durations, moved, pulls = np.array(columns, dtype=float)  # nan for None
        found = {Measurand.ACCELERATION: way * straight.accelerations.get(self.moving, 0.0)}
        if solution.moves and np.isfinite(durations).all():
            time, distance, end = sum(durations), sum(moved), last.end_velocities.get(self.moving)
            work, impulse = sum(pulls * moved), sum(pulls * durations)
            found[Measurand.FINAL_SPEED] = nan if end is None else way * end
            found |= {Measurand.TRAVEL_TIME: time, Measurand.DISTANCE: way * distance}
            if distance and time:
                mean = pulls[-1] if turned else work / distance
                found |= {Measurand.MEAN_TENSION: mean, Measurand.WORK_OF_TENSION: way * work}
                found[Measurand.TENSION_OVER_TIME] = impulse / time
        else:
            found[Measurand.MEAN_TENSION] = pulls[0]
        coasting = self.coasting(solution)
        if coasting is not None:
            found[Measurand.COASTING_ACCELERATION] = way * coasting.accelerations[self.moving]
        return {str(name): float(value) for name, value in found.items() if np.isfinite(value)}

    def held_pull(self, apparatus: Apparatus) -> float:
        """The pull while a hand holds the object: a cart by any force, a weight not at all."""
        if self.string is None or self.pulled is None:
            return 0.0
        every = apparatus.bodies.items()
        bodies = {n: b if b.surface is None else replace(b, static_friction=GRIP) for n, b in every}
        pulleys = {name: replace(p, bearing_torque=0.0) for name, p in apparatus.pulleys.items()}
        still = replace(apparatus.run, speed=0.0)
        at_rest = replace(apparatus, bodies=bodies, pulleys=pulleys, run=still)
        if self.pulled in pulleys or bodies[self.pulled].surface is None:
            return float(self._hanging(apparatus) * apparatus.gravity)
        return self.pull(solve(at_rest).phases[0]) or 0.0

    def _hanging(self, apparatus: Apparatus) -> Any:
        """The mass on the string in kg: a moving pulley has whatever hangs from it too."""
        names, pulley = {self.pulled}, apparatus.pulleys.get(self.pulled or "")
        for first, *between, last in (line.path for line in apparatus.strings.values()):
            names |= {first, last} if self.pulled in between else set()
        hanging = (b for b in apparatus.bodies.values() if b.surface is None)
        masses = (b.mass for b in hanging if names & {b.name, b.hangs_from})
        return sum(masses, pulley.mass if pulley else 0.0)


def view_of(scenario: Scenario) -> View:
    """The usual place of sensors: both at the object of the run if it slides, else at a cart or
    block that a string over a pulley pulls, else at the object of the run. Where a slider has
    several strings, the one that runs over a pulley is measured.
    """
    things, moving = scenario.objects, scenario.run.object
    ends = {name: (line.path[0], line.path[-1]) for name, line in scenario.strings.items()}
    lines = scenario.strings.items()
    over = [n for n, line in lines if any(isinstance(things[p], Pulley) for p in line.path[1:-1])]
    if not isinstance(things[moving], Slider):
        tied = {end for name in over for end in ends[name]}
        sliders = (name for name, thing in things.items() if isinstance(thing, Slider))
        moving = next((name for name in sliders if name in tied), moving)
    string = next((name for name in (*over, *ends) if moving in ends[name]), None)
    return View(moving=moving, string=string, pulled=string and moving)


def driven_phases(solution: Solution) -> tuple[Phase, ...]:
    """The phases from release until the distance is covered; the one phase of a set-up at rest."""
    found = tuple(phase for phase in solution.phases if phase.role is Role.DRIVEN)
    return found or solution.phases[:1]


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
        # What the last digits of floats can't hold changes nothing.
        return tuple(each for each in (*found, local) if each.u > EXACT * abs(each.value))

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

        return propagation.linear(model, self.inputs)


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
    # Through the whole solver, one case at a time; Monte Carlo goes through its batch.
    found = case.propagated(lambda apparatus: view.measurands(solve(apparatus)))
    solution = solve(case.apparatus())
    draws, drawn, phases = 0, dict[Any, Drawn](), driven_phases(solution)
    way = view.direction(phases)

    def batch(numbers: Numbers) -> Numbers:
        """Many cases of a driven part that is one stretch."""
        driven = solve_driven(case.apparatus(numbers))
        acceleration, end = driven.accelerations[view.moving], driven.end_velocity(view.moving)
        distance = way * (end - acceleration * driven.duration / 2) * driven.duration
        outputs = {Measurand.ACCELERATION: way * acceleration, Measurand.FINAL_SPEED: way * end}
        outputs |= {Measurand.TRAVEL_TIME: driven.duration, Measurand.DISTANCE: distance}
        if view.string is not None:
            first = scenario.strings[view.string].path[0] == view.pulled
            tension = driven.segment_tensions[view.string][0 if first else -1]
            outputs |= dict.fromkeys((Measurand.MEAN_TENSION, Measurand.TENSION_OVER_TIME), tension)
            outputs[Measurand.WORK_OF_TENSION] = tension * distance
        return {name: np.asarray(values, dtype=float) for name, values in outputs.items()}

    if case.inputs and solution.moves and len(phases) == 1:
        draws, drawn = propagation.monte_carlo(batch, case.inputs, seed)
    drawn = {name: each for name, each in drawn.items() if each.undefined < 1}
    quantities = {
        str(n): Predicted(linear=found.estimate(n), simulated=drawn.get(n), budget=found.budget(n))
        for n in Measurand
        if n in found.values
    }
    return Prediction(quantities=quantities, draws=draws)
