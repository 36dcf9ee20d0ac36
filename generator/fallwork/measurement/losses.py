"""Where energy went in the measured runs: at the pulled object, and in everything together.

Takes trials and the scenario; gives, with all that makes them uncertain, the energy that is missing
if nothing resisted, what is missing beside the scenario's own friction, and other readings that see
the same resistances. What they tell apart is left to ``separation``.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import partial
from math import isclose

import numpy as np

from fallwork.measurement.derived import UNSEEN, Derived, derive
from fallwork.measurement.energies import MeasuredAccount, Origin, account_of, preferred, stand_ins
from fallwork.measurement.model import Analysis, Array, Estimate, Measurand
from fallwork.measurement.prediction import Case, View, driven_phases, view_of
from fallwork.measurement.summaries import Values, summary_given
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

    whole: MeasuredAccount  # of everything that moves, and Earth
    pulled: MeasuredAccount | None  # of the pulled object; None unless every pull on it is measured
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


RUN = (Measurand.DISTANCE, Measurand.FINAL_SPEED)
PULL = (*RUN, Measurand.WORK_OF_TENSION)
OF_ALL = (Clue.ALL, Clue.ALL_BESIDE, Clue.ALL_FORCE)
OF_PULLED = (Clue.PULLED, Clue.PULLED_BESIDE, Clue.PULLED_FORCE)
NEEDS: Mapping[Clue, tuple[str, ...]] = {
    **dict.fromkeys((*OF_ALL, Clue.ACCELERATION), RUN),
    **dict.fromkeys(OF_PULLED, PULL),
    Clue.COASTING_FORCE: (Measurand.COASTING_ACCELERATION,),
    Clue.HELD_OFFSET: (Measurand.FORCE_HELD,),
    Clue.SLACK_OFFSET: (Measurand.FORCE_SLACK,),
    Clue.ZEROING: (ZEROING,),
    Clue.SLOPE_DIFFERENCE: (*RUN, Measurand.ACCELERATION),
}


def _told(frame: Frame, values: Values, clues: Sequence[Clue]) -> Array:
    """(k,): the clues, by the values of a trial that has what they need."""
    has, found = frame.whole.completed(values), dict[Clue, float]()
    distance, start = has[Measurand.DISTANCE], frame.whole.start_speed
    for account, (bare, beside, force) in ((frame.whole, OF_ALL), (frame.pulled, OF_PULLED)):
        if account is not None and bare in clues:
            sizes, works = account.sizes(has), len(account.works)
            resist = [part.name in frame.resisting for part in account.parts]
            for clue, each in ((bare, np.where(resist, 0.0, sizes)), (beside, sizes)):
                found[clue] = float(np.sum(each[:works]) - np.sum(each[works:]))
            found[force] = found[bare] / distance
    faster = (has[Measurand.FINAL_SPEED] ** 2 - start**2) / (2 * distance)
    found[Clue.ACCELERATION] = faster
    if Clue.SLOPE_DIFFERENCE in clues:
        slope = has[Measurand.ACCELERATION]
        # Where one was worked out of the other, what floats leave is no scatter.
        alike = isclose(slope, faster, rel_tol=UNSEEN)
        found[Clue.SLOPE_DIFFERENCE] = 0.0 if alike else slope - faster
    if Clue.COASTING_FORCE in clues:
        slows = -has[Measurand.COASTING_ACCELERATION]
        found[Clue.COASTING_FORCE] = frame.weight_along + frame.inertia * slows
    if Clue.HELD_OFFSET in clues:
        found[Clue.HELD_OFFSET] = has[Measurand.FORCE_HELD] - frame.held
    read = {Clue.SLACK_OFFSET: Measurand.FORCE_SLACK, Clue.ZEROING: ZEROING}
    found |= {clue: has[name] for clue, name in read.items() if clue in clues}
    return np.array([found[clue] for clue in clues])


def losses_of(analysis: Analysis, case: Case) -> Losses | None:
    """The losses; None where the run or the trials don't allow any, e.g. nothing moves, the driven
    part has several stretches, or neither distance nor final speed was measured. The zero of the
    force sensor counts as unknown here, so its type B term is left out: a zeroing of known
    uncertainty is one more clue.
    """
    view = view_of(case.scenario)
    frame = frame_of(case.apparatus(), view)
    if frame is None:
        return None
    zeroed = Estimate(value=0.0, u=case.sensors.force_zero)
    more = {ZEROING: summary_given(ZEROING, zeroed, None)} if zeroed.u > 0 else {}
    analysis = replace(analysis, summary={**analysis.summary, **more})
    # What more than half of the trials have, and what is known as a mean only.
    trials, every = analysis.counted, preferred(analysis.summary)
    having = {q: sum(q in trial.estimates for trial in trials) for q in every}
    measured = [q for q, count in having.items() if not count or 2 * count > len(trials)]
    ways = {clue: stand_ins(needs, measured) for clue, needs in NEEDS.items()}
    left_out = [
        *((Clue.SLOPE_DIFFERENCE,) if Measurand.FINAL_SPEED not in measured else ()),
        *((*OF_PULLED, Clue.COASTING_FORCE) if frame.pulled is None else ()),
    ]
    clues = tuple(c for c, (_, lacks) in ways.items() if not lacks and c not in left_out)
    if Clue.ALL not in clues:
        return None
    needs = tuple(dict.fromkeys(need for clue in clues for need in ways[clue][0]))
    sensors = replace(case.sensors, force_zero=0.0, force_step=0.0)
    build, case = partial(frame_of, view=view), replace(case, sensors=sensors)
    derived = derive(clues, build, partial(_told, clues=clues), needs, case, analysis)
    if derived is None:
        return None
    covered = analysis.summary.get(Measurand.DISTANCE)
    return Losses(
        derived=derived,
        distance=covered.value if covered else frame.whole.distance,
        normal_force=frame.normal_force,
    )


def frame_of(apparatus: Apparatus, view: View) -> Frame | None:
    """Everything that the formulas need; None where the driven part isn't one plain stretch."""
    run = driven_phases(solve(apparatus))
    everything = tuple(sorted([*apparatus.bodies, *apparatus.pulleys, *apparatus.strings, EARTH]))
    whole = account_of(apparatus, run, view, everything)
    if whole is None:
        return None
    forces, body, inertia, along = run[0].forces, apparatus.bodies.get(view.moving), 0.0, 0.0
    if body is not None and body.surface is not None:
        inertia = float(body.mass + body.wheel_mass / 2)
        rises = view.direction(run) * apparatus.surfaces[body.surface].tangent[1]
        along = -float(body.mass * apparatus.gravity * rises)
    pulls = {f.name for f in forces if f.interaction is Interaction.TENSION}
    pulled = account_of(apparatus, run, view, (view.pulled,)) if view.pulled else None
    acting = () if pulled is None else pulled.works
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
        held=view.held_pull(apparatus),
        normal_force=next((force.size for force in presses), None),
    )
