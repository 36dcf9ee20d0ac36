"""Where energy went in the measured runs: at the pulled object, and in everything together.

Takes trials and the scenario; gives, with all that makes them uncertain, the energy that is missing
if nothing resisted, what is missing beside the scenario's own friction, and other readings that see
the same resistances. What they tell apart is left to ``separation``.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import Enum
from functools import partial
from math import isclose

import numpy as np

from fallwork.measurement.derived import UNSEEN, Derived, derive
from fallwork.measurement.energies import Origin, Pattern, pattern_of, preferred, stand_ins
from fallwork.measurement.model import Analysis, Array, Estimate, Measurand
from fallwork.measurement.prediction import Case
from fallwork.measurement.summaries import Values, summary_given
from fallwork.measurement.view import View, direction, driven_phases, held_pull, view_of
from fallwork.mechanics import Apparatus, Interaction, solve
from fallwork.scenario.nouns import EARTH

ZEROING = "zeroing"  # N, beside the measurands: what is left of the zero, 0 where one was set


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
    ZEROING = "zero as it was set"  # N
    ACCELERATION = "acceleration from final speed and distance"  # m/s²
    SLOPE_DIFFERENCE = "acceleration from the slope less that from speed and distance"  # m/s²


RESISTING = (Interaction.FRICTION, Interaction.BEARING_TORQUE)


@dataclass(frozen=True, kw_only=True)
class Frame:
    """What the solver says about one apparatus, ready for measured values."""

    whole: Pattern  # of everything that moves, and Earth
    pulled: Pattern | None  # of the pulled object; None unless every pull on it is measured
    resisting: frozenset[str]  # the parts of both that friction and bearings are
    inertia: float  # kg, of the watched object with its rolling wheels; 0 if it hangs
    weight_along: float  # N, of its weight along the way it goes; 0 if it hangs
    held: float  # N, pull while held
    normal_force: float | None  # N, of the surface on the watched object; None if it hangs


@dataclass(frozen=True, kw_only=True)
class Losses:
    """Every clue that the trials give, with their correlations."""

    derived: Derived  # by Clue
    distance: float  # m, the mean over the trials, or as given
    normal_force: float | None  # N, as in Frame, for the givens as they are


# ---- formulas


def _missing(frame: Frame, values: Values, *, pulled: bool = False, beside: bool = False) -> float:
    """Energy missing at the ``pulled`` object or in everything, J: all of it, or ``beside`` what
    friction and bearings of the model take.
    """
    pattern = frame.pulled if pulled else frame.whole
    assert pattern is not None  # asked for where there is one
    works, left_out = len(pattern.account.works), () if beside else frame.resisting
    counts = [part.name not in left_out for part in pattern.account.parts]
    sizes = np.where(counts, pattern.sizes(values), 0.0)
    return float(np.sum(sizes[:works]) - np.sum(sizes[works:]))


def _per_distance(frame: Frame, values: Values, *, pulled: bool = False) -> float:
    return _missing(frame, values, pulled=pulled) / values[Measurand.DISTANCE]


def _from_speed(frame: Frame, values: Values) -> float:
    gained = values[Measurand.FINAL_SPEED] ** 2 - frame.whole.start_speed**2
    return gained / (2 * values[Measurand.DISTANCE])


def _slope_difference(frame: Frame, values: Values) -> float:
    """Zero where one was worked out of the other: what floats leave is no scatter."""
    slope, told = values[Measurand.ACCELERATION], _from_speed(frame, values)
    return 0.0 if isclose(slope, told, rel_tol=UNSEEN) else slope - told


RUN = (Measurand.DISTANCE, Measurand.FINAL_SPEED)
PULL = (*RUN, Measurand.WORK_OF_TENSION)
COASTING, HELD = Measurand.COASTING_ACCELERATION, Measurand.FORCE_HELD
FORMULAS: Mapping[Clue, tuple[tuple[str, ...], Callable[[Frame, Values], float]]] = {
    # what a clue needs, and what follows from it
    Clue.PULLED: (PULL, partial(_missing, pulled=True)),
    Clue.ALL: (RUN, _missing),
    Clue.PULLED_BESIDE: (PULL, partial(_missing, pulled=True, beside=True)),
    Clue.ALL_BESIDE: (RUN, partial(_missing, beside=True)),
    Clue.PULLED_FORCE: (PULL, partial(_per_distance, pulled=True)),
    Clue.ALL_FORCE: (RUN, _per_distance),
    Clue.COASTING_FORCE: (
        (COASTING,),
        lambda frame, values: frame.weight_along - frame.inertia * values[COASTING],
    ),
    Clue.HELD_OFFSET: ((HELD,), lambda frame, values: values[HELD] - frame.held),
    Clue.SLACK_OFFSET: (
        (Measurand.FORCE_SLACK,),
        lambda frame, values: values[Measurand.FORCE_SLACK],
    ),
    Clue.ZEROING: ((ZEROING,), lambda frame, values: values[ZEROING]),
    Clue.ACCELERATION: (RUN, _from_speed),
    Clue.SLOPE_DIFFERENCE: ((*RUN, Measurand.ACCELERATION), _slope_difference),
}
OF_PULLED = (Clue.PULLED, Clue.PULLED_BESIDE, Clue.PULLED_FORCE, Clue.COASTING_FORCE)


def losses_of(analysis: Analysis, case: Case) -> Losses | None:
    """The losses; None where the run or the trials don't allow any, e.g. nothing moves, the driven
    part has several stretches, or neither distance nor final speed was measured.

    The zero of the force sensor counts as unknown here, so its type B term is left out: a zeroing
    of known uncertainty is one more clue.
    """
    view = view_of(case.scenario)
    frame = frame_of(case.apparatus(), view)
    if frame is None:
        return None
    zeroed = Estimate(value=0.0, u=case.sensors.force_zero)
    more = {ZEROING: summary_given(ZEROING, zeroed, None)} if zeroed.u > 0 else {}
    analysis = replace(analysis, summary={**analysis.summary, **more})
    measured = _mostly_measured(analysis)
    ways = {clue: stand_ins(needs, measured) for clue, (needs, _) in FORMULAS.items()}
    left_out = [
        *((Clue.SLOPE_DIFFERENCE,) if Measurand.FINAL_SPEED not in measured else ()),
        *(OF_PULLED if frame.pulled is None else ()),
    ]
    clues = tuple(c for c, (_, lacks) in ways.items() if not lacks and c not in left_out)
    if Clue.ALL not in clues:
        return None
    needs = tuple(dict.fromkeys(need for clue in clues for need in ways[clue][0]))

    def formulas(found: Frame, values: Values) -> Array:
        whole = found.whole.completed(values)
        return np.array([FORMULAS[clue][1](found, whole) for clue in clues])

    sensors = replace(case.sensors, force_zero=0.0, force_step=0.0)
    build, case = partial(frame_of, view=view), replace(case, sensors=sensors)
    derived = derive(clues, build, formulas, needs, case, analysis)
    if derived is None:
        return None
    covered = analysis.summary.get(Measurand.DISTANCE)
    return Losses(
        derived=derived,
        distance=covered.value if covered else frame.whole.distance,
        normal_force=frame.normal_force,
    )


def _mostly_measured(analysis: Analysis) -> tuple[str, ...]:
    """What more than half of the trials have, and what is known as a mean only."""
    trials = analysis.counted
    having = {q: sum(q in trial.estimates for trial in trials) for q in preferred(analysis.summary)}
    return tuple(q for q, count in having.items() if not count or 2 * count > len(trials))


# ---- what the solver says


def frame_of(apparatus: Apparatus, view: View) -> Frame | None:
    """Everything that the formulas need; None where the driven part isn't one plain stretch."""
    run = driven_phases(solve(apparatus))
    everything = tuple(sorted([*apparatus.bodies, *apparatus.pulleys, *apparatus.strings, EARTH]))
    whole = pattern_of(apparatus, run, view, everything)
    if whole is None:
        return None
    forces, body, inertia, along = run[0].forces, apparatus.bodies.get(view.moving), 0.0, 0.0
    if body is not None and body.surface is not None:
        inertia = float(body.mass + body.wheel_mass / 2)
        rises = direction(run, view) * apparatus.surfaces[body.surface].tangent[1]
        along = -float(body.mass * apparatus.gravity * rises)
    pulls = {f.name for f in forces if f.interaction is Interaction.TENSION}
    pulled = pattern_of(apparatus, run, view, (view.pulled,)) if view.pulled else None
    acting = () if pulled is None else pulled.account.works
    if any(p.name in pulls and p.origin is not Origin.FORCE_SENSOR for p in acting):
        pulled = None
    resisting = (f.name for f in forces if f.interaction in RESISTING)
    presses = (f for f in forces if f.interaction is Interaction.NORMAL and f.on == view.moving)
    return Frame(
        whole=whole,
        pulled=pulled,
        resisting=frozenset({"thermal", *resisting}),
        inertia=inertia,
        weight_along=along,
        held=held_pull(apparatus, view),
        normal_force=next((force.size for force in presses), None),
    )
