"""Where energy went in the measured runs: at the pulled object, and in everything together.

Takes trials and the scenario; gives, with all that makes them uncertain, the energy that is missing
if nothing resisted, what is missing beside the scenario's own friction, and other readings that see
the same resistances. What they tell apart is left to ``separation``.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from fallwork.measurement.derived import Builder, Case, Derived, Recipe, derive
from fallwork.measurement.energies import (
    Origin,
    Pattern,
    Scaling,
    completed,
    pattern_of,
    preferred,
    stand_ins,
)
from fallwork.measurement.model import Analysis, Array, Estimate, Measurand, Outcome
from fallwork.measurement.motion import held_pull
from fallwork.measurement.sensors import Values
from fallwork.measurement.view import View, direction, driven_phases, view_of
from fallwork.mechanics import Apparatus, Interaction, Phase, solve
from fallwork.scenario.nouns import EARTH


class Clue(Enum):
    """A number derived from the trials, if they have what it needs."""

    PULLED = "energy missing at the pulled object"  # J, were there no resistance
    ALL = "energy missing in everything together"  # J
    PULLED_BESIDE = "energy missing at the pulled object beside the model's friction"  # J
    ALL_BESIDE = "energy missing in everything beside the model's friction"  # J
    PULLED_FORCE = "missing at the pulled object per distance"  # N
    ALL_FORCE = "missing in everything per distance"  # N
    COASTING_FORCE = "resistance while coasting"  # N
    HELD_OFFSET = "force while held, less the weight that hangs there"  # N
    SLACK_OFFSET = "force with a slack string"  # N
    ACCELERATION = "acceleration from final speed and distance"  # m/s²
    SLOPE_DIFFERENCE = "acceleration from the slope less that from speed and distance"  # m/s²
    TIME_DIFFERENCE = "acceleration from time and distance less that from speed and distance"


@dataclass(frozen=True, kw_only=True)
class Frame:
    """What the solver says about one apparatus, ready for measured values."""

    bare_pulled: Pattern | None  # without any resistance
    bare_all: Pattern
    real_pulled: Pattern | None
    real_all: Pattern
    inertia: float  # kg, of the pulled object with its rolling wheels
    bare_coasting: float  # m/s², of the pulled object alone without resistance
    held: float  # N, pull while held
    start_speed: float  # m/s
    normal_force: float | None  # N, of the surface on the watched object; None if it hangs


@dataclass(frozen=True, kw_only=True)
class Losses:
    """Every clue that the trials give, with their correlations."""

    derived: Derived
    clues: tuple[Clue, ...]
    frame: Frame  # for the givens as they are
    distance: float  # m, the mean over the trials, or as given

    def outcome(
        self, weights: Mapping[Clue, float], larger: float = 1.0, fewer: float = 0.0
    ) -> Outcome:
        """A sum of clues with factors, as ``Derived.outcome``."""
        return self.derived.outcome(weights, larger, fewer)

    def estimate(
        self, weights: Mapping[Clue, float], larger: float = 1.0, fewer: float = 0.0
    ) -> Estimate:
        """The same of clues whose uncertainty is known; raises ValueError for others."""
        found = self.outcome(weights, larger, fewer)
        if found.u is None:
            raise ValueError("a sum of unknown uncertainty")
        return Estimate(value=found.value, u=found.u, dof=found.dof)

    @property
    def known(self) -> "Losses":
        """Only the clues whose uncertainty is known: what can be weighed and judged."""
        known = [clue for clue in self.clues if self.outcome({clue: 1.0}).u is not None]
        return replace(self, clues=tuple(known))

    def at_random(self, clues: Sequence[Clue]) -> Array:
        """The covariance of the clues, N², from what differs from trial to trial: their scatter
        where there are trials enough to tell it. Of fewer trials what they say of their own
        uncertainties, or the same for every clue where some say nothing.
        """
        derived = self.derived
        if derived.scatter is None:
            return np.zeros((len(clues), len(clues)))
        scatter = self._of(clues, derived.scatter)
        if self.by_scatter(clues):
            return scatter
        if derived.claimed is not None:
            return self._of(clues, derived.claimed)
        return np.asarray(np.mean(np.diag(scatter)) * np.eye(len(clues)))

    def shared(self, clues: Sequence[Clue]) -> Array:
        """The covariance of the clues, N², from what all trials have in common."""
        return self._of(clues, self.derived.shared)

    def by_scatter(self, clues: Sequence[Clue]) -> bool:
        """Whether the scatter has more degrees of freedom than there are clues."""
        return self.derived.scatter is not None and len(self.derived.trials) - 1 > len(clues)

    def _of(self, clues: Sequence[Clue], covariance: Array) -> Array:
        places = self.derived.places(clues)
        return np.asarray(covariance[np.ix_(places, places)])

    def __contains__(self, clue: Clue) -> bool:
        return clue in self.clues


RUN = (Measurand.DISTANCE, Measurand.FINAL_SPEED)
NEEDS: Mapping[Clue, tuple[Measurand, ...]] = {
    Clue.PULLED: (*RUN, Measurand.WORK_OF_TENSION),
    Clue.ALL: RUN,
    Clue.PULLED_BESIDE: (*RUN, Measurand.WORK_OF_TENSION),
    Clue.ALL_BESIDE: RUN,
    Clue.PULLED_FORCE: (*RUN, Measurand.WORK_OF_TENSION),
    Clue.ALL_FORCE: RUN,
    Clue.COASTING_FORCE: (Measurand.COASTING_ACCELERATION,),
    Clue.HELD_OFFSET: (Measurand.FORCE_HELD,),
    Clue.SLACK_OFFSET: (Measurand.FORCE_SLACK,),
    Clue.ACCELERATION: RUN,
    Clue.SLOPE_DIFFERENCE: (*RUN, Measurand.ACCELERATION),
    Clue.TIME_DIFFERENCE: (*RUN, Measurand.TRAVEL_TIME),
}
COMPARING = (Clue.SLOPE_DIFFERENCE, Clue.TIME_DIFFERENCE)  # with what a measured speed says
OF_PULLED = (
    Clue.PULLED,
    Clue.PULLED_BESIDE,
    Clue.PULLED_FORCE,
    Clue.COASTING_FORCE,
)


def losses_of(analysis: Analysis, case: Case) -> Losses | None:
    """The losses; None where the run or the trials don't allow any, e.g. nothing moves, the driven
    part has several stretches, or neither distance nor final speed was measured.

    The zero of the force sensor counts as unknown here, so its type B term is left out.
    """
    view = view_of(case.scenario)
    frame = frame_of(case.apparatus(), view)
    if frame is None:
        return None
    measured = _mostly_measured(analysis)
    wanted = [
        each
        for each in Clue
        if _possible(each, frame, measured) and not stand_ins(NEEDS[each], measured)[1]
    ]
    if Clue.ALL not in wanted:
        return None
    needs = dict.fromkeys(need for each in wanted for need in stand_ins(NEEDS[each], measured)[0])
    sensors = replace(case.sensors, force_zero=0.0, force_step=0.0)
    derived = derive(
        wanted,
        _builder(wanted, view),
        tuple(needs),
        replace(case, sensors=sensors),
        analysis,
        _recipe(wanted, frame),
    )
    if derived is None:
        return None
    return Losses(
        derived=derived,
        clues=tuple(wanted),
        frame=frame,
        distance=_distance(analysis, frame),
    )


def _distance(analysis: Analysis, frame: Frame) -> float:
    if Measurand.DISTANCE in analysis.summary:
        return analysis.summary[Measurand.DISTANCE].mean
    return frame.bare_all.references[Scaling.DISTANCE]


def _possible(clue: Clue, frame: Frame, measured: Sequence[str]) -> bool:
    if clue in COMPARING and Measurand.FINAL_SPEED not in measured:
        return False
    if clue is Clue.TIME_DIFFERENCE and frame.start_speed != 0:
        return False
    return frame.bare_pulled is not None or clue not in OF_PULLED


def _mostly_measured(analysis: Analysis) -> tuple[str, ...]:
    """What more than half of the trials have, and what is known as a mean only."""
    trials = analysis.counted
    having = {q: sum(q in trial.estimates for trial in trials) for q in preferred(analysis.summary)}
    return tuple(q for q, count in having.items() if not count or 2 * count > len(trials))


def _builder(wanted: Sequence[Clue], view: View) -> Builder:
    def build(apparatus: Apparatus) -> Recipe | None:
        frame = frame_of(apparatus, view)
        return None if frame is None else _recipe(wanted, frame)

    return build


def _recipe(wanted: Sequence[Clue], frame: Frame) -> Recipe:
    distance = frame.bare_all.references[Scaling.DISTANCE]

    def recipe(values: Values) -> Array:
        whole = completed(values, distance, frame.start_speed)
        return np.array([FORMULAS[clue](frame, whole) for clue in wanted])

    return recipe


# ---- formulas


def _missing(pattern: Pattern | None, values: Values) -> float:
    assert pattern is not None  # asked for only where there is one
    return pattern.with_values(values).difference


def _per_distance(pattern: Pattern | None, values: Values) -> float:
    return _missing(pattern, values) / values[Measurand.DISTANCE]


def _from_speed(frame: Frame, values: Values) -> float:
    gained = values[Measurand.FINAL_SPEED] ** 2 - frame.start_speed**2
    return gained / (2 * values[Measurand.DISTANCE])


def _from_time(values: Values) -> float:
    return 2 * values[Measurand.DISTANCE] / values[Measurand.TRAVEL_TIME] ** 2


FORMULAS: Mapping[Clue, Callable[[Frame, Values], float]] = {
    Clue.PULLED: lambda frame, values: _missing(frame.bare_pulled, values),
    Clue.ALL: lambda frame, values: _missing(frame.bare_all, values),
    Clue.PULLED_BESIDE: lambda frame, values: _missing(frame.real_pulled, values),
    Clue.ALL_BESIDE: lambda frame, values: _missing(frame.real_all, values),
    Clue.PULLED_FORCE: lambda frame, values: _per_distance(frame.bare_pulled, values),
    Clue.ALL_FORCE: lambda frame, values: _per_distance(frame.bare_all, values),
    Clue.COASTING_FORCE: lambda frame, values: (
        frame.inertia * (frame.bare_coasting - values[Measurand.COASTING_ACCELERATION])
    ),
    Clue.HELD_OFFSET: lambda frame, values: values[Measurand.FORCE_HELD] - frame.held,
    Clue.SLACK_OFFSET: lambda frame, values: values[Measurand.FORCE_SLACK],
    Clue.ACCELERATION: _from_speed,
    Clue.SLOPE_DIFFERENCE: lambda frame, values: (
        values[Measurand.ACCELERATION] - _from_speed(frame, values)
    ),
    Clue.TIME_DIFFERENCE: lambda frame, values: _from_time(values) - _from_speed(frame, values),
}


# ---- what the solver says


def frame_of(apparatus: Apparatus, view: View) -> Frame | None:
    """Everything that the formulas need; None where the driven part isn't one plain stretch."""
    bare = without_resistance(apparatus)
    bare_run, real_run = driven_phases(solve(bare)), driven_phases(solve(apparatus))
    if direction(bare_run, view) != direction(real_run, view):
        return None
    everything = tuple(sorted([*bare.bodies, *bare.pulleys, *bare.strings, EARTH]))
    bare_all = pattern_of(bare, bare_run, view, everything)
    real_all = pattern_of(apparatus, real_run, view, everything)
    if bare_all is None or real_all is None:
        return None
    bare_pulled = _of_pulled(bare, bare_run, view)
    real_pulled = _of_pulled(apparatus, real_run, view)
    both = bare_pulled is not None and real_pulled is not None
    inertia, coasting = _alone(bare, direction(bare_run, view), view)
    return Frame(
        bare_pulled=bare_pulled if both else None,
        bare_all=bare_all,
        real_pulled=real_pulled if both else None,
        real_all=real_all,
        inertia=inertia,
        bare_coasting=coasting,
        held=held_pull(apparatus, view),
        start_speed=bare_all.start_speed,
        normal_force=_normal_force(real_run[0], view),
    )


def without_resistance(apparatus: Apparatus) -> Apparatus:
    """The same without friction and bearing torques; inertia of wheels and pulleys stays."""
    return replace(
        apparatus,
        bodies={
            name: replace(body, friction=0.0, static_friction=None)
            for name, body in apparatus.bodies.items()
        },
        pulleys={
            name: replace(pulley, bearing_torque=0.0) for name, pulley in apparatus.pulleys.items()
        },
    )


def _of_pulled(apparatus: Apparatus, phases: Sequence[Phase], view: View) -> Pattern | None:
    """The account of the pulled object, if every pull on it is measured."""
    if view.pulled is None or view.pulled != view.moving:
        return None
    pattern = pattern_of(apparatus, phases, view, (view.pulled,))
    if pattern is None:
        return None
    acting = [force for phase in phases for force in phase.forces]
    pulls = {force.name for force in acting if force.interaction is Interaction.TENSION}
    guessed = [
        part
        for part, _ in pattern.parts
        if part.name in pulls and part.origin is not Origin.FORCE_SENSOR
    ]
    return None if guessed else pattern


def _alone(bare: Apparatus, way: int, view: View) -> tuple[float, float]:
    """Inertia in kg and acceleration in m/s², the way it goes, of the object without a string."""
    body = bare.bodies.get(view.moving)
    if body is None or body.surface is None:
        return 0.0, 0.0
    run = replace(bare.run, object=body.name, speed=float(way), distance=None, until=1.0)
    alone = replace(bare, bodies={body.name: body}, pulleys={}, strings={}, anchors=(), run=run)
    acceleration = way * solve(alone).phases[0].accelerations[body.name]
    return float(body.mass + body.wheel_mass / 2), acceleration


def _normal_force(phase: Phase, view: View) -> float | None:
    for force in phase.forces:
        if force.interaction is Interaction.NORMAL and force.on == view.moving:
            return force.size
    return None
