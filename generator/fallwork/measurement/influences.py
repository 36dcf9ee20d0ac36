"""What influences that a model neglects would do to the measured values, by the solver.

Takes an apparatus; gives for each influence an amount that a lab might overlook and what it does.
Takes a gap between measurement and model; gives the amount that each would need to be its reason,
and what speaks for and against that.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum, StrEnum
from math import hypot, inf, radians
from typing import Any, Self

from fallwork.measurement.energies import ELSEWHERE, PULLED
from fallwork.measurement.model import Estimate, Measurand, Outcome
from fallwork.measurement.prediction import View, driven_phases, view_of
from fallwork.measurement.statistics import Verdict
from fallwork.mechanics import Apparatus, solve
from fallwork.mechanics.apparatus import Body, Pulley, Surface
from fallwork.scenario import Scenario, Slider

RADIUS = 0.025  # m, of a pulley that has none yet; cancels out
NEAR = 2.0  # an influence may be so many times the amount that is easily overlooked
FAR = 5.0  # beyond so many times it would have been noticed
CREDIBLE = 2.0  # standard uncertainties by which a given may well be off


class InfluenceKind(Enum):
    """In their order, with amounts that a lab may overlook: common practice, no standard."""

    place: str  # where the energy goes that it takes
    amount: float
    unit: str  # of the amount, as in the unit table; "" for a coefficient

    FRICTION = "friction", PULLED, 0.002, ""  # more of it at the cart or block
    TILT = "tilt", PULLED, radians(0.1), "rad"
    WHEELS = "wheels", PULLED, 0.006, "kg"  # one of four
    UNWEIGHED = "unweighed", PULLED, 0.010, "kg"  # mass on the cart that wasn't weighed
    PULLEY_INERTIA = "pulley inertia", ELSEWHERE, 0.005, "kg"  # of a uniform disc
    PULLEY_BEARING = "pulley bearing", ELSEWHERE, 0.002, "N"  # at the rim
    STRING = "string", ELSEWHERE, 0.0003, "kg/m"
    GRAVITY = "gravity", ELSEWHERE, 0.01, "m/s²"  # a third of what places differ by

    def __new__(cls, value: str, *about: Any) -> Self:
        """By its word, with what it is about."""
        found = object.__new__(cls)
        found._value_ = value
        found.place, found.amount, found.unit = about
        return found


@dataclass(frozen=True, kw_only=True)
class Influence:
    """One influence and its effect on what is measured."""

    kind: InfluenceKind
    least: float  # the most negative amount that can be: −inf for what can have either sign
    effects: Mapping[str, float]  # by Measurand, for the kind's amount; those left alone are 0


def influences_of(apparatus: Apparatus, view: View) -> tuple[Influence, ...]:
    """Every influence that this apparatus can have."""
    base, found = view.measurands(solve(apparatus)), []
    least = {InfluenceKind.TILT: -inf, InfluenceKind.GRAVITY: -inf}
    if view.moving in apparatus.bodies:
        least[InfluenceKind.FRICTION] = -float(apparatus.bodies[view.moving].friction)
    for kind, changed in _changed(apparatus, view):
        values = view.measurands(solve(changed))
        effects = {name: values[name] - base[name] for name in base if name in values}
        found.append(Influence(kind=kind, least=least.get(kind, 0.0), effects=effects))
    return tuple(found)


def u_given(scenario: Scenario, u_gravity: float) -> dict[InfluenceKind, float]:
    """The standard uncertainty of what a scenario gives of an influence, in the unit of its amount.
    Not of masses: what wasn't weighed isn't in the uncertainty of the balance.
    """
    body = scenario.objects[view_of(scenario).moving]
    found = {InfluenceKind.GRAVITY: u_gravity}
    if isinstance(body, Slider):
        surface = scenario.surfaces[body.runs_on]
        friction = body.friction or surface.friction
        found |= {InfluenceKind.TILT: surface.slope.u, InfluenceKind.FRICTION: friction.u}
    return found


def _changed(apparatus: Apparatus, view: View) -> Iterator[tuple[InfluenceKind, Apparatus]]:
    """The apparatus with each influence that it can have; pulleys are the fixed ones."""
    body = apparatus.bodies.get(view.moving)
    if body is not None and body.surface is not None:
        surface, static = apparatus.surfaces[body.surface], body.static_friction
        more = InfluenceKind.FRICTION.amount
        static = None if static is None else static + more
        rougher = replace(body, friction=body.friction + more, static_friction=static)
        yield InfluenceKind.FRICTION, _with(apparatus, rougher)
        # Higher where the watched object goes, so that a positive amount slows it down.
        tilt = view.direction(driven_phases(solve(apparatus))) * InfluenceKind.TILT.amount
        yield InfluenceKind.TILT, _with(apparatus, replace(surface, slope=surface.slope + tilt))
        if body.kind == "cart" and not body.wheel_mass:
            wheels = replace(body, wheel_mass=4 * InfluenceKind.WHEELS.amount)
            yield InfluenceKind.WHEELS, _with(apparatus, wheels)
        loaded = replace(body, mass=body.mass + InfluenceKind.UNWEIGHED.amount)
        yield InfluenceKind.UNWEIGHED, _with(apparatus, loaded)
    fixed = [(p, float(p.radius or RADIUS)) for p in apparatus.pulleys.values() if not p.moving]
    pulleys = [(replace(pulley, radius=radius), radius) for pulley, radius in fixed]
    # Those without inertia as uniform discs: at the rim half their mass.
    disc, stiff = InfluenceKind.PULLEY_INERTIA.amount, InfluenceKind.PULLEY_BEARING.amount
    if discs := [replace(p, inertia=disc * r**2 / 2) for p, r in pulleys if not p.inertia]:
        yield InfluenceKind.PULLEY_INERTIA, _with(apparatus, *discs)
    if pulleys:
        stiffer = [replace(p, bearing_torque=p.bearing_torque + stiff * r) for p, r in pulleys]
        yield InfluenceKind.PULLEY_BEARING, _with(apparatus, *stiffer)
    if heavier := _with_string_mass(apparatus, view, pulleys):
        yield InfluenceKind.STRING, _with(apparatus, *heavier)
    gravity = float(apparatus.gravity) + InfluenceKind.GRAVITY.amount
    yield InfluenceKind.GRAVITY, replace(apparatus, gravity=gravity)


def _with(apparatus: Apparatus, *things: Body | Pulley | Surface) -> Apparatus:
    """The apparatus with other things in place of those of their names."""
    for thing in things:
        holder = {Body: "bodies", Pulley: "pulleys", Surface: "surfaces"}[type(thing)]
        others: Any = {**getattr(apparatus, holder), thing.name: thing}
        apparatus = replace(apparatus, **{holder: others})
    return apparatus


def _with_string_mass(
    apparatus: Apparatus, view: View, pulleys: Sequence[tuple[Pulley, float]]
) -> tuple[Body, Pulley] | None:
    """The measured string's mass, for a slider at one end and a hanging weight at the other; at the
    first of its pulleys, each with its radius. Over the run half the distance hangs on average; a
    whole distance lies along the slider's way, where a slope makes it weigh too.
    """
    body, distance = apparatus.bodies.get(view.moving), apparatus.run.distance
    if body is None or body.surface is None or view.string is None or distance is None:
        return None
    first, *passed, last = apparatus.strings[view.string].path
    weight = apparatus.bodies.get(last if first == body.name else first)
    if weight is None or weight.surface is not None:
        return None
    mass = InfluenceKind.STRING.amount * float(distance)
    tangent = apparatus.surfaces[body.surface].tangent
    pulls = mass * (0.5 - float(tangent[1]) * (1 if first == body.name else -1))
    over = [(pulley, radius) for pulley, radius in pulleys if pulley.name in passed]
    return with_string(weight, *over[0], pulls=pulls, whole=1.5 * mass)


def with_string(
    weight: Body, pulley: Pulley, radius: float, *, pulls: float, whole: float
) -> tuple[Body, Pulley]:
    """The mass of a string in kg: what ``pulls``, as it hangs on average over the run, is added to
    the weight, which is exact for the energy. What is left of the ``whole`` has to be sped up
    behind the sensor, as the rim of a pulley has.
    """
    rim = (whole - pulls) * radius**2
    return replace(weight, mass=weight.mass + pulls), replace(pulley, inertia=pulley.inertia + rim)


class Evidence(StrEnum):
    """Where evidence comes from."""

    SIGN = "sign"  # of the gap in acceleration
    SIZE = "size"  # of what would be needed
    PLACE = "place"  # where energy is missing
    COASTING = "coasting"  # what happens after landing
    GIVEN = "given"  # how uncertain the given is that would have to be off


class Speaks(StrEnum):
    """For or against an influence."""

    FOR = "for"
    AGAINST = "against"
    SILENT = "silent"


@dataclass(frozen=True)
class Suspect:
    """A neglected influence with what speaks for it."""

    influence: Influence
    evidence: Mapping[Evidence, Speaks]
    needed: float | None = None  # the amount that alone would close the gap; None: none can
    times: float = 0.0  # standard uncertainties of its given that would be needed
    zero_known: bool = True  # of the force sensor: if not, what PLACE says holds if it is right

    def those(self, speaks: str) -> list[Evidence]:
        """The evidence that speaks so."""
        return [kind for kind, said in self.evidence.items() if said == speaks]


def weighed(
    influence: Influence,
    gap: Outcome,
    coasting: Outcome | None,
    missing: Mapping[str, Estimate],
    u: float,
    *,
    zero_known: bool,
) -> Suspect:
    """An influence with what it would need and what speaks for and against it, by the gaps in
    acceleration and coasting (m/s²), what is ``missing`` where beside the model's friction (N, a
    known zero offset of the force sensor taken off; empty if unknown) and u of what the lab gives.
    """
    effect = influence.effects.get(Measurand.ACCELERATION, 0.0)
    ratio = gap.value / effect if effect else None
    needed = None if ratio is None else ratio * influence.kind.amount
    possible = needed is not None and needed >= influence.least
    size = inf if ratio is None else abs(ratio)
    times = abs(needed) / u if needed and u else 0.0
    sign = Speaks.FOR if possible else Speaks.AGAINST
    near = Speaks.FOR if size <= NEAR else _against(size > FAR)
    says = {Evidence.SIGN: sign, Evidence.SIZE: near}
    if possible and influence.least == -inf:  # either sign is as good
        says[Evidence.SIGN] = Speaks.SILENT
    if missing:
        real = [place for place, each in missing.items() if each.verdict is Verdict.DIFFER]
        fits = (missing[influence.kind.place].value > 0) is (gap.value < 0)  # the sign of the gap
        there = Speaks.FOR if fits else Speaks.AGAINST
        says[Evidence.PLACE] = there if influence.kind.place in real else _against(bool(real))
    if coasting and ratio and (speaks := _coasting(influence, ratio, gap, coasting)):
        says[Evidence.COASTING] = speaks
    if times:
        says[Evidence.GIVEN] = _against(times > CREDIBLE)
    needed = needed if possible else None
    return Suspect(influence, says, needed=needed, times=times, zero_known=zero_known)


def _against(against: bool) -> Speaks:
    return Speaks.AGAINST if against else Speaks.SILENT


def _coasting(influence: Influence, ratio: float, gap: Outcome, coasting: Outcome) -> Speaks | None:
    """What the needed amount would do after landing, against what is seen there."""
    effect = influence.effects.get(Measurand.COASTING_ACCELERATION)
    if effect is None or coasting.limit is None or gap.limit is None:
        return None
    off = coasting.value - ratio * effect
    if abs(off) > hypot(coasting.limit, ratio * effect * gap.limit / gap.value):
        return Speaks.AGAINST
    shown = coasting.limit < abs(gap.value)  # friction would have shown there
    return Speaks.FOR if shown else Speaks.SILENT
