"""Work and change of energy of a system, with measured values in place of the predicted ones.

Takes an apparatus that says how the objects move together, and the values of a trial; gives the
two sides of the account and what each of their parts rests on. The parts come from the solver's
own account of the driven part: works of the measured pull go with the measured work, kinetic
energies with the square of the measured speed, everything else with the measured distance.
"""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from fallwork.measurement.model import Measurand, Summary
from fallwork.measurement.view import View, pull
from fallwork.mechanics import Apparatus, Force, Interaction, Phase, account

WORK, DISTANCE, SPEED = Measurand.WORK_OF_TENSION, Measurand.DISTANCE, Measurand.FINAL_SPEED
STAND_INS = {WORK: Measurand.MEAN_TENSION, SPEED: Measurand.ACCELERATION}  # with the distance
EITHER = {**STAND_INS, **{other: need for need, other in STAND_INS.items()}}


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


@dataclass(frozen=True, kw_only=True)
class MeasuredAccount:
    """Both sides for one choice of system."""

    works: tuple[Part, ...]  # of external forces; those that do no work left out
    changes: tuple[Part, ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        """Works first."""
        return (*self.works, *self.changes)

    @property
    def work(self) -> float:
        """External work, J."""
        return sum(part.value for part in self.works)

    @property
    def change(self) -> float:
        """Change of energy, J."""
        return sum(part.value for part in self.changes)

    @property
    def difference(self) -> float:
        """Work less change of energy, J: zero if the model and the measurement were perfect."""
        return self.work - self.change

    def resized(self, sizes: Iterable[float]) -> "MeasuredAccount":
        """The account with the size of every part given, J."""
        pairs = zip(self.parts, sizes, strict=True)
        parts = tuple(replace(part, value=float(size)) for part, size in pairs)
        return MeasuredAccount(works=parts[: len(self.works)], changes=parts[len(self.works) :])


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """The account of a system for the numbers of an apparatus, ready for measured values."""

    account: MeasuredAccount  # as predicted
    goes_with: tuple[Measurand, ...]  # of each part: WORK, DISTANCE or SPEED
    start_speed: float  # m/s, of the watched object
    references: Mapping[Measurand, float]
    # ^ the predicted values that the parts belong to; of SPEED by how much its square grows

    @property
    def distance(self) -> float:
        """The predicted distance, m."""
        return self.references[DISTANCE]

    def with_values(self, values: Mapping[str, float]) -> MeasuredAccount:
        """The account with the values of a trial, by Measurand; raises KeyError for a gap."""
        whole = completed(values, self.distance, self.start_speed)
        measured = {need: whole[need] for need in self.goes_with}
        if SPEED in measured:
            measured[SPEED] = measured[SPEED] ** 2 - self.start_speed**2
        pairs = zip(self.account.parts, self.goes_with, strict=True)
        factors = {need: value / self.references[need] for need, value in measured.items()}
        return self.account.resized(part.value * factors[need] for part, need in pairs)


def completed(
    values: Mapping[str, float], given_distance: float, start_speed: float
) -> Mapping[str, float]:
    """The values with the given distance where none was measured, with the work of the mean
    tension where no work was, and with the speed to which the acceleration leads over the distance
    where no final speed was. ``start_speed`` in m/s.
    """
    whole = {DISTANCE.value: given_distance, **values}
    if WORK not in whole and STAND_INS[WORK] in whole:
        whole[WORK.value] = whole[STAND_INS[WORK]] * whole[DISTANCE]
    if SPEED not in whole and STAND_INS[SPEED] in whole:
        gained = 2 * whole[STAND_INS[SPEED]] * whole[DISTANCE]
        whole[SPEED.value] = max(start_speed**2 + gained, 0.0) ** 0.5
    return whole


def preferred(summary: Mapping[str, Summary]) -> tuple[str, ...]:
    """What is measured; of two that can stand in for each other, one of unknown uncertainty gives
    way to one whose uncertainty is known.
    """
    known = [quantity for quantity, each in summary.items() if each.u is not None]
    return tuple(q for q in summary if q in known or EITHER.get(Measurand(q)) not in known)


def stand_ins(
    needs: Iterable[Measurand], available: Container[str]
) -> tuple[tuple[Measurand, ...], tuple[Measurand, ...]]:
    """(what to take from trials in place of ``needs``, what is missing), as in ``completed``."""
    ways = {need: need if need in available else STAND_INS.get(need, need) for need in needs}
    taken = tuple(way for way in ways.values() if way in available)
    lacks = (need for need, way in ways.items() if way not in available)
    return taken, tuple(need for need in lacks if need is not DISTANCE)


def pattern_of(
    apparatus: Apparatus, phases: Sequence[Phase], view: View, members: Sequence[str]
) -> Pattern | None:
    """The account of a system in the driven part; None where measured values can't be put into
    it: nothing moves, the driven part has more than one stretch, or something is undetermined.
    """
    if len(phases) != 1:
        return None
    (phase,) = phases
    references, whole = _references(phase, view), account(apparatus, phase, members)
    works = [(f.name, f.work, *_of_force(f, view, phase)) for f in whole.external if f.work != 0]
    changes = [(k, v, *ENERGIES[k]) for k, v in whole.energy_changes.items() if v != 0]
    rows = [*works, *changes]
    undetermined = any(v is None or not references.get(need) for _, v, _, need in rows)
    if undetermined or not references:
        return None
    parts = tuple(Part(name=n, value=value or 0.0, origin=origin) for n, value, origin, _ in rows)
    return Pattern(
        account=MeasuredAccount(works=parts[: len(works)], changes=parts[len(works) :]),
        goes_with=tuple(need for *_, need in rows),
        start_speed=phase.start_velocities[view.moving],
        references=references,
    )


def _references(phase: Phase, view: View) -> dict[Measurand, float]:
    """Predicted size of what is measured, of SPEED the growth of its square; empty where nothing
    moves or the stretch has no end.
    """
    moved, end = phase.displacements.get(view.moving), phase.end_velocities.get(view.moving)
    if not moved or end is None:
        return {}
    start, force = phase.start_velocities[view.moving], pull(phase, view)
    work = {WORK: force * abs(moved)} if force else {}
    return {DISTANCE: abs(moved), SPEED: end**2 - start**2, **work}


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


def _of_force(force: Force, view: View, phase: Phase) -> tuple[Origin, Measurand]:
    """What its work rests on and goes with."""
    if force.interaction is Interaction.TENSION and is_measured(force, view, phase):
        return Origin.FORCE_SENSOR, WORK
    modelled = force.interaction in MODELLED
    return Origin.MODEL if modelled else Origin.GIVENS, DISTANCE


def is_measured(force: Force, view: View, phase: Phase) -> bool:
    """Whether a tension is the one that the sensor reads, or the same at another end."""
    if view.string is None or view.string not in (force.partner, force.on):
        return False
    at = force.on if force.partner == view.string else force.partner
    here, there = pull(phase, view), phase.tensions[view.string].get(at)
    return here is not None and there is not None and abs(here - there) <= 1e-9 * abs(here)
