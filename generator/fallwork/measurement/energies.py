"""Work and change of energy of a system, with measured values in place of the predicted ones.

Takes an apparatus that says how the objects move together, and the values of a trial; gives the
two sides of the account and what each of their parts rests on. The parts come from the solver's
own account of the driven part: works of the measured pull go with the measured work, kinetic
energies with the square of the measured speed, everything else with the measured distance.
"""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from fallwork.measurement.model import Measurand, Summary
from fallwork.measurement.view import View, pull
from fallwork.mechanics import Apparatus, Force, Interaction, Phase, account


class Origin(Enum):
    """What a part of a measured account rests on."""

    FORCE_SENSOR = "force sensor"
    GIVENS = "givens"  # masses and g, with the measured distance or speed
    MODEL = "model"  # a coefficient of friction, a bearing torque, an inertia


class Scaling(Enum):
    """Which measured value a part goes with."""

    WORK = "work"
    DISTANCE = "distance"
    SPEED = "speed"


NEEDS = {
    Scaling.WORK: Measurand.WORK_OF_TENSION,
    Scaling.DISTANCE: Measurand.DISTANCE,
    Scaling.SPEED: Measurand.FINAL_SPEED,
}


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


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """The account of a system for the numbers of an apparatus, ready for measured values."""

    parts: tuple[tuple[Part, Scaling], ...]  # works first
    works: int  # how many of the parts are works
    start_speed: float  # m/s, of the watched object
    references: Mapping[Scaling, float]  # the predicted values that the parts belong to

    @property
    def needs(self) -> tuple[Measurand, ...]:
        """What a trial should have."""
        return tuple(NEEDS[scaling] for scaling in dict.fromkeys(s for _, s in self.parts))

    def with_values(self, values: Mapping[str, float]) -> MeasuredAccount:
        """The account with the values of a trial, by Measurand; raises KeyError for a gap."""
        whole = completed(values, self.references[Scaling.DISTANCE], self.start_speed)
        return self.with_parts(
            [part.value * self._factor(scaling, whole) for part, scaling in self.parts]
        )

    def with_parts(self, sizes: Iterable[float]) -> MeasuredAccount:
        """The account with the size of every part given, J."""
        parts = [
            Part(name=part.name, value=float(size), origin=part.origin)
            for (part, _), size in zip(self.parts, sizes, strict=True)
        ]
        return MeasuredAccount(works=tuple(parts[: self.works]), changes=tuple(parts[self.works :]))

    def _factor(self, scaling: Scaling, values: Mapping[str, float]) -> float:
        measured = values[NEEDS[scaling]]
        if scaling is Scaling.SPEED:
            measured = measured**2 - self.start_speed**2
        return measured / self.references[scaling]


def completed(
    values: Mapping[str, float], given_distance: float, start_speed: float
) -> Mapping[str, float]:
    """The values with the given distance where none was measured, with the work of the mean
    tension where no work was, and with the speed to which the acceleration leads over the distance
    where no final speed was. ``start_speed`` in m/s.
    """
    whole = {Measurand.DISTANCE.value: given_distance, **values}
    if Measurand.WORK_OF_TENSION not in whole and Measurand.MEAN_TENSION in whole:
        work = whole[Measurand.MEAN_TENSION] * whole[Measurand.DISTANCE]
        whole[Measurand.WORK_OF_TENSION.value] = work
    if Measurand.FINAL_SPEED not in whole and Measurand.ACCELERATION in whole:
        gained = 2 * whole[Measurand.ACCELERATION] * whole[Measurand.DISTANCE]
        whole[Measurand.FINAL_SPEED.value] = max(start_speed**2 + gained, 0.0) ** 0.5
    return whole


STAND_INS = {  # with the distance
    Measurand.WORK_OF_TENSION: Measurand.MEAN_TENSION,
    Measurand.FINAL_SPEED: Measurand.ACCELERATION,
}


def preferred(summary: Mapping[str, Summary]) -> tuple[str, ...]:
    """What is measured; of two that can stand in for each other, one of unknown uncertainty gives
    way to one whose uncertainty is known.
    """
    unknown = [quantity for quantity, each in summary.items() if each.u is None]
    pairs = {**STAND_INS, **{other: need for need, other in STAND_INS.items()}}
    return tuple(
        quantity
        for quantity in summary
        if quantity not in unknown
        or (other := pairs.get(Measurand(quantity))) not in summary
        or other in unknown
    )


def stand_ins(
    needs: Iterable[Measurand], available: Container[str]
) -> tuple[tuple[Measurand, ...], tuple[Measurand, ...]]:
    """(what to take from trials in place of ``needs``, what is missing), as in ``completed``."""
    taken, missing = [], []
    for need in needs:
        if need in available:
            taken.append(need)
        elif STAND_INS.get(need) in available:
            taken.append(STAND_INS[need])
        elif need is not Measurand.DISTANCE:
            missing.append(need)
    return tuple(taken), tuple(missing)


def pattern_of(
    apparatus: Apparatus, phases: Sequence[Phase], view: View, members: Sequence[str]
) -> Pattern | None:
    """The account of a system in the driven part; None where measured values can't be put into
    it: nothing moves, the driven part has more than one stretch, or something is undetermined.
    """
    references = _references(phases, view)
    if references is None:
        return None
    (phase,) = phases
    whole = account(apparatus, phase, members)
    works = [_work(force, view, phase) for force in whole.external if force.work != 0]
    changes = [_change(kind, value) for kind, value in whole.energy_changes.items() if value != 0]
    known = [part for part in (*works, *changes) if part is not None]
    if len(known) < len(works) + len(changes):
        return None
    if any(not references.get(scaling) for _, scaling in known):
        return None
    return Pattern(
        parts=tuple(known),
        works=len(works),
        start_speed=phase.start_velocities[view.moving],
        references=references,
    )


def _references(phases: Sequence[Phase], view: View) -> dict[Scaling, float] | None:
    """Predicted size of what is measured; None unless there is one stretch with an end."""
    if len(phases) != 1:
        return None
    (phase,) = phases
    moved, end = phase.displacements.get(view.moving), phase.end_velocities.get(view.moving)
    if not moved or end is None:
        return None
    start, force = phase.start_velocities[view.moving], pull(phase, view)
    references = {Scaling.DISTANCE: abs(moved), Scaling.SPEED: end**2 - start**2}
    if force:
        references[Scaling.WORK] = force * abs(moved)
    return references


MODELLED = (
    Interaction.FRICTION,
    Interaction.ROLLING,
    Interaction.CONTACT,
    Interaction.AXLE,
    Interaction.BEARING_TORQUE,
)


def _work(force: Force, view: View, phase: Phase) -> tuple[Part, Scaling] | None:
    if force.work is None:
        return None
    origin, scaling = Origin.GIVENS, Scaling.DISTANCE
    if force.interaction is Interaction.TENSION:
        measured = is_measured(force, view, phase)
        origin = Origin.FORCE_SENSOR if measured else Origin.MODEL
        scaling = Scaling.WORK if measured else Scaling.DISTANCE
    elif force.interaction in MODELLED:
        origin = Origin.MODEL
    return Part(name=force.name, value=force.work, origin=origin), scaling


def is_measured(force: Force, view: View, phase: Phase) -> bool:
    """Whether a tension is the one that the sensor reads, or the same at another end."""
    if view.string is None or view.string not in (force.partner, force.on):
        return False
    at = force.on if force.partner == view.string else force.partner
    here, there = pull(phase, view), phase.tensions[view.string].get(at)
    return here is not None and there is not None and abs(here - there) <= 1e-9 * abs(here)


def _change(kind: str, value: float | None) -> tuple[Part, Scaling] | None:
    if value is None:
        return None
    scaling = Scaling.SPEED if kind in ("kinetic", "rotational") else Scaling.DISTANCE
    origin = Origin.MODEL if kind == "thermal" else Origin.GIVENS
    return Part(name=kind, value=value, origin=origin), scaling
