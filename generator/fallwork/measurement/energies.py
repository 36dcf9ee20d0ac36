"""Work and change of energy in the measured runs, and where energy went.

Takes an apparatus and the values of a trial; gives the two sides of the account of any system. Its
parts come from the solver's own account of the driven part: works of the measured pull go with the
measured work, kinetic energies with the square of the measured speed, everything else with the
measured distance. Takes trials; gives, with all that makes them uncertain, the energy that is
missing if nothing resisted, what is missing beside the scenario's own friction, and other readings
that see the same resistances. What they tell apart is left to ``separation``.
"""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import partial
from math import isclose

import numpy as np

from fallwork.measurement.derived import UNSEEN, Derived, derive
from fallwork.measurement.model import Analysis, Array, Estimate, Measurand, Summary
from fallwork.measurement.prediction import Case, View, driven_phases, view_of
from fallwork.measurement.summaries import Values, summary_given
from fallwork.mechanics import Apparatus, Force, Interaction, Phase, account, solve
from fallwork.scenario.nouns import EARTH

WORK, DISTANCE, SPEED = Measurand.WORK_OF_TENSION, Measurand.DISTANCE, Measurand.FINAL_SPEED
TENSION, SLOPE = Measurand.MEAN_TENSION, Measurand.ACCELERATION
STAND_INS: Mapping[str, Measurand] = {WORK: TENSION, SPEED: SLOPE}  # with the distance
ZEROING = "zeroing"  # N, beside the measurands: what is left of the zero, 0 where one was set
PULLED, ELSEWHERE = "pulled", "elsewhere"  # where energy went: at the pulled object, or not there
RESISTING = (Interaction.FRICTION, Interaction.BEARING_TORQUE)
Names = tuple[str, ...]
EITHER: Mapping[str, str] = {**STAND_INS, **{way: need for need, way in STAND_INS.items()}}


class Origin(Enum):
    """What a part of a measured account rests on."""

    FORCE_SENSOR = "force sensor"
    GIVENS = "givens"  # masses and g, with the measured distance or speed
    MODEL = "model"  # a coefficient of friction, a bearing torque, an inertia


@dataclass(frozen=True, kw_only=True)
class Part:
    """One work or one change of energy, J."""

    name: str  # of a force as in the answer key, or of a kind of energy
    value: float
    origin: Origin
    goes_with: Measurand  # WORK, DISTANCE or SPEED
    rate: float  # J for each unit of that, of SPEED for each by which its square grows


@dataclass(frozen=True, kw_only=True)
class MeasuredAccount:
    """Both sides for one choice of system: as predicted, and ready for measured values."""

    works: tuple[Part, ...]  # of external forces; those that do no work left out
    changes: tuple[Part, ...]
    start_speed: float  # m/s, of the watched object
    distance: float  # m, the predicted one

    @property
    def parts(self) -> tuple[Part, ...]:
        """Works first."""
        return (*self.works, *self.changes)

    def resized(self, sizes: Iterable[float]) -> "MeasuredAccount":
        """The account with the size of every part given, J."""
        pairs, n = zip(self.parts, sizes, strict=True), len(self.works)
        parts = tuple(replace(part, value=float(size)) for part, size in pairs)
        return replace(self, works=parts[:n], changes=parts[n:])

    def sizes(self, values: Mapping[str, float]) -> Array:
        """(n,): the parts with the values of a trial, by Measurand, J; KeyError for a gap."""
        whole, start = self.completed(values), self.start_speed
        needs = [part.goes_with for part in self.parts]
        each = [whole[n] ** 2 - start**2 if n is SPEED else whole[n] for n in needs]
        return np.array([part.rate for part in self.parts]) * each

    def completed(self, values: Mapping[str, float]) -> Mapping[str, float]:
        """The values with the given distance where none was measured, the work of the mean tension
        where no work was, and the speed to which the acceleration leads where no final speed was.
        """
        whole = {DISTANCE.value: self.distance, **values}
        if WORK not in whole and STAND_INS[WORK] in whole:
            whole[WORK.value] = whole[STAND_INS[WORK]] * whole[DISTANCE]
        if SPEED not in whole and STAND_INS[SPEED] in whole:
            gained = 2 * whole[STAND_INS[SPEED]] * whole[DISTANCE]
            whole[SPEED.value] = max(self.start_speed**2 + gained, 0.0) ** 0.5
        return whole


def preferred(summary: Mapping[str, Summary]) -> tuple[str, ...]:
    """What is measured; of two that can stand in for each other, one of unknown uncertainty gives
    way to one whose uncertainty is known.
    """
    known = [quantity for quantity, each in summary.items() if each.u is not None]
    return tuple(q for q in summary if q in known or EITHER.get(q) not in known)


def stand_ins(needs: Iterable[str], available: Container[str]) -> tuple[Names, Names]:
    """What to take for ``needs``, as ``completed`` has it, and what is missing but a distance."""
    ways = {need: need if need in available else STAND_INS.get(need, need) for need in needs}
    taken = tuple(way for way in ways.values() if way in available)
    return taken, tuple(n for n, way in ways.items() if way not in available and n != DISTANCE)


Row = tuple[str, float | None, Origin, Measurand]  # of an account: what a Part holds
LIFT, HEAT, MOTION = (Origin.GIVENS, DISTANCE), (Origin.MODEL, DISTANCE), (Origin.GIVENS, SPEED)
ENERGIES = {"kinetic": MOTION, "rotational": MOTION, "potential": LIFT, "thermal": HEAT}
MODELLED = (
    *(Interaction.FRICTION, Interaction.ROLLING, Interaction.CONTACT),
    *(Interaction.AXLE, Interaction.BEARING_TORQUE, Interaction.TENSION),
)


def account_of(
    apparatus: Apparatus, phases: Sequence[Phase], view: View, members: Sequence[str]
) -> MeasuredAccount | None:
    """The account of a system in the driven part; None where measured values can't be put into
    it: nothing moves, the driven part has more than one stretch, or something is undetermined.
    """
    phase, *more = phases
    moved, end = phase.displacements.get(view.moving), phase.end_velocities.get(view.moving)
    if more or not moved or end is None:
        return None
    start, distance, force = phase.start_velocities[view.moving], abs(moved), view.pull(phase)
    grown = {DISTANCE: distance, SPEED: end**2 - start**2, WORK: (force or 0.0) * distance}
    whole, rows = account(apparatus, phase, members), list[Row]()
    for f in (f for f in whole.external if f.work != 0):
        origin, need = Origin.MODEL if f.interaction in MODELLED else Origin.GIVENS, DISTANCE
        if f.interaction is Interaction.TENSION and is_measured(f, view, phase):
            origin, need = Origin.FORCE_SENSOR, WORK
        rows.append((f.name, f.work, origin, need))
    n = len(rows)
    rows += [(name, v, *ENERGIES[name]) for name, v in whole.energy_changes.items() if v != 0]
    parts = [
        Part(name=name, value=value, origin=origin, goes_with=need, rate=value / grown[need])
        for name, value, origin, need in rows
        if value is not None and grown[need]
    ]
    if len(parts) < len(rows):
        return None
    works, changes = tuple(parts[:n]), tuple(parts[n:])
    return MeasuredAccount(works=works, changes=changes, start_speed=start, distance=distance)


def is_measured(force: Force, view: View, phase: Phase) -> bool:
    """Whether a tension is the one that the sensor reads, or the same at another end."""
    if view.string is None or view.string not in (force.partner, force.on):
        return False
    at = force.on if force.partner == view.string else force.partner
    here, there = view.pull(phase), phase.tensions[view.string].get(at)
    return here is not None and there is not None and abs(here - there) <= 1e-9 * abs(here)


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


RUN, PULL = (DISTANCE, SPEED), (DISTANCE, SPEED, WORK)
OF_ALL = (Clue.ALL, Clue.ALL_BESIDE, Clue.ALL_FORCE)
OF_PULLED = (Clue.PULLED, Clue.PULLED_BESIDE, Clue.PULLED_FORCE)
NEEDS: Mapping[Clue, tuple[str, ...]] = {
    **dict.fromkeys((*OF_ALL, Clue.ACCELERATION), RUN),
    **dict.fromkeys(OF_PULLED, PULL),
    Clue.COASTING_FORCE: (Measurand.COASTING_ACCELERATION,),
    Clue.HELD_OFFSET: (Measurand.FORCE_HELD,),
    Clue.SLACK_OFFSET: (Measurand.FORCE_SLACK,),
    Clue.ZEROING: (ZEROING,),
    Clue.SLOPE_DIFFERENCE: (*RUN, SLOPE),
}


def _told(frame: Frame, values: Values, clues: Sequence[Clue]) -> Array:
    """(k,): the clues, by the values of a trial that has what they need."""
    has, found = frame.whole.completed(values), dict[Clue, float]()
    distance, start = has[DISTANCE], frame.whole.start_speed
    for sides, (bare, beside, force) in ((frame.whole, OF_ALL), (frame.pulled, OF_PULLED)):
        if sides is not None and bare in clues:
            sizes, works = sides.sizes(has), len(sides.works)
            resist = [part.name in frame.resisting for part in sides.parts]
            for clue, each in ((bare, np.where(resist, 0.0, sizes)), (beside, sizes)):
                found[clue] = float(np.sum(each[:works]) - np.sum(each[works:]))
            found[force] = found[bare] / distance
    found[Clue.ACCELERATION] = faster = (has[SPEED] ** 2 - start**2) / (2 * distance)
    if Clue.SLOPE_DIFFERENCE in clues:
        # Where one was worked out of the other, what floats leave is no scatter.
        alike = isclose(has[SLOPE], faster, rel_tol=UNSEEN)
        found[Clue.SLOPE_DIFFERENCE] = 0.0 if alike else has[SLOPE] - faster
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
    more = {ZEROING: summary_given(zeroed, None)} if zeroed.u > 0 else {}
    analysis = replace(analysis, summary={**analysis.summary, **more})
    # What more than half of the trials have, and what is known as a mean only.
    trials, every = analysis.counted, preferred(analysis.summary)
    having = {q: sum(q in trial.estimates for trial in trials) for q in every}
    measured = [q for q, count in having.items() if not count or 2 * count > len(trials)]
    ways = {clue: stand_ins(needs, measured) for clue, needs in NEEDS.items()}
    without: tuple[Clue, ...] = () if SPEED in measured else (Clue.SLOPE_DIFFERENCE,)
    without += (*OF_PULLED, Clue.COASTING_FORCE) if frame.pulled is None else ()
    clues = tuple(c for c, (_, lacks) in ways.items() if not lacks and c not in without)
    if Clue.ALL not in clues:
        return None
    needs = tuple(dict.fromkeys(need for clue in clues for need in ways[clue][0]))
    sensors = replace(case.sensors, force_zero=0.0, force_step=0.0)
    build, case = partial(frame_of, view=view), replace(case, sensors=sensors)
    derived = derive(clues, build, partial(_told, clues=clues), needs, case, analysis)
    if derived is None:
        return None
    covered = analysis.summary.get(DISTANCE)
    distance = covered.value if covered else frame.whole.distance
    return Losses(derived=derived, distance=distance, normal_force=frame.normal_force)


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
