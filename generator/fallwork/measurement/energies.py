"""Work and change of energy of a system, with measured values in place of the predicted ones.

Takes an apparatus that says how the objects move together, and the values of a trial; gives the
two sides of the account and what each of their parts rests on. The parts come from the solver's
own account of the driven part: works of the measured pull go with the measured work, kinetic
energies with the square of the measured speed, everything else with the measured distance.
"""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from fallwork.measurement.model import Array, Measurand, Summary
from fallwork.measurement.prediction import View
from fallwork.mechanics import Apparatus, Force, Interaction, Phase, account

WORK, DISTANCE, SPEED = Measurand.WORK_OF_TENSION, Measurand.DISTANCE, Measurand.FINAL_SPEED
STAND_INS: Mapping[str, Measurand] = {  # with the distance
    WORK: Measurand.MEAN_TENSION,
    SPEED: Measurand.ACCELERATION,
}
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
        """The values with the given distance where none was measured, with the work of the mean
        tension where no work was, and with the speed to which the acceleration leads over the
        distance where no final speed was.
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


def stand_ins(
    needs: Iterable[str], available: Container[str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What to take for ``needs``, as ``completed`` has it, and what is missing but a distance."""
    ways = {need: need if need in available else STAND_INS.get(need, need) for need in needs}
    taken = tuple(way for way in ways.values() if way in available)
    return taken, tuple(n for n, way in ways.items() if way not in available and n != DISTANCE)


Row = tuple[str, float | None, Origin, Measurand]  # of an account: what a Part holds
ENERGIES = {
    "kinetic": (Origin.GIVENS, SPEED),
    "rotational": (Origin.GIVENS, SPEED),
    "potential": (Origin.GIVENS, DISTANCE),
    "thermal": (Origin.MODEL, DISTANCE),
}
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
