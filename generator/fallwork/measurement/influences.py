"""What influences that a model neglects would do to the measured values, by the solver.

Takes an apparatus; gives for each influence an amount that a lab might overlook and what it does.
Whether an influence explains anything is left to ``discrepancy``.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import Enum
from math import inf, radians
from typing import Any

from fallwork.measurement.view import View, direction, driven_phases, measurands_of, view_of
from fallwork.mechanics import Apparatus, solve
from fallwork.mechanics.apparatus import Body, Pulley, Surface
from fallwork.scenario import Scenario, Slider

# Amounts that a lab may overlook: common practice, no standard.
TILT = radians(0.1)
ONE_WHEEL = 0.006  # kg, of four
FRICTION = 0.002
PULLEY_MASS = 0.005  # kg, of a uniform disc
BEARING = 0.002  # N, at the rim of a pulley
STRING = 0.0003  # kg/m
UNWEIGHED = 0.010  # kg, riding on the cart
GRAVITY = 0.01  # m/s²: places in Europe and North America differ by three times that
RADIUS = 0.025  # m, of a pulley that has none yet; cancels out


class InfluenceKind(Enum):
    """The influences, in the order in which they are listed."""

    FRICTION = "friction"  # more of it at the cart or block
    TILT = "tilt"
    WHEELS = "wheels"
    UNWEIGHED = "unweighed"  # mass on the cart that wasn't weighed
    PULLEY_INERTIA = "pulley inertia"
    PULLEY_BEARING = "pulley bearing"
    STRING = "string"
    GRAVITY = "gravity"


class Place(Enum):
    """Where the energy goes that an influence takes."""

    PULLED = "pulled object"
    ELSEWHERE = "elsewhere"


@dataclass(frozen=True, kw_only=True)
class Influence:
    """One influence and its effect on what is measured."""

    kind: InfluenceKind
    place: Place
    amount: float  # that may be overlooked
    unit: str  # of the amount, as in the unit table; "" for a coefficient
    least: float  # the most negative amount that can be: −inf for what can have either sign
    effects: Mapping[str, float]  # by Measurand, for ``amount``; those that it leaves alone are 0


def influences_of(apparatus: Apparatus, view: View) -> tuple[Influence, ...]:
    """Every influence that this apparatus can have."""
    base, found = measurands_of(solve(apparatus), view), []
    least = dict.fromkeys(EITHER_WAY, -inf)
    if view.moving in apparatus.bodies:
        least[InfluenceKind.FRICTION] = -float(apparatus.bodies[view.moving].friction)
    for kind, (place, amount, unit, change) in CHANGES.items():
        changed = _with(apparatus, *change(apparatus, view))
        if changed is apparatus:
            continue
        values = measurands_of(solve(changed), view)
        effects = {name: values[name] - base[name] for name in base if name in values}
        each = Influence(
            kind=kind,
            place=place,
            amount=amount,
            unit=unit,
            least=least.get(kind, 0.0),
            effects=effects,
        )
        found.append(each)
    return tuple(found)


def uncertain_givens(scenario: Scenario, u_gravity: float) -> dict[InfluenceKind, float]:
    """The standard uncertainty of what a scenario gives of an influence, in the unit of its amount.
    Not of masses: what wasn't weighed isn't in the uncertainty of the balance.
    """
    body = scenario.objects[view_of(scenario).moving]
    found = {InfluenceKind.GRAVITY: u_gravity}
    if isinstance(body, Slider):
        surface = scenario.surfaces[body.runs_on]
        found |= {
            InfluenceKind.TILT: surface.slope.u,
            InfluenceKind.FRICTION: (body.friction or surface.friction).u,
        }
    return found


# ---- the changes

Thing = Body | Pulley | Surface | float  # a float: gravity
Change = Callable[[Apparatus, View], Iterator[Thing]]  # what is otherwise; nothing: it can't be
HOLDERS = {Body: "bodies", Pulley: "pulleys", Surface: "surfaces"}


def _with(apparatus: Apparatus, *things: Thing) -> Apparatus:
    """The apparatus with other things in place of those of their names."""
    for thing in things:
        if isinstance(thing, float):
            apparatus = replace(apparatus, gravity=thing)
        else:
            holder = HOLDERS[type(thing)]
            others: Any = {**getattr(apparatus, holder), thing.name: thing}
            apparatus = replace(apparatus, **{holder: others})
    return apparatus


def _slider(apparatus: Apparatus, view: View) -> Iterator[tuple[Body, Surface]]:
    """The watched object with its surface, if it stands on one."""
    body = apparatus.bodies.get(view.moving)
    if body is not None and body.surface is not None:
        yield body, apparatus.surfaces[body.surface]


def _pulleys(apparatus: Apparatus) -> Iterator[tuple[Pulley, float]]:
    """The fixed ones, each with its radius."""
    for each in apparatus.pulleys.values():
        if not each.moving:
            radius = float(each.radius or RADIUS)
            yield replace(each, radius=radius), radius


def _rougher(apparatus: Apparatus, view: View) -> Iterator[Thing]:
    for body, _ in _slider(apparatus, view):
        static = None if body.static_friction is None else body.static_friction + FRICTION
        yield replace(body, friction=body.friction + FRICTION, static_friction=static)


def _tilted(apparatus: Apparatus, view: View) -> Iterator[Thing]:
    """Higher where the watched object goes, so that a positive amount slows it down."""
    for _, surface in _slider(apparatus, view):
        way = direction(driven_phases(solve(apparatus)), view)
        yield replace(surface, slope=surface.slope + way * TILT)


def _wheeled(apparatus: Apparatus, view: View) -> Iterator[Thing]:
    for body, _ in _slider(apparatus, view):
        if body.kind == "cart" and not body.wheel_mass:
            yield replace(body, wheel_mass=4 * ONE_WHEEL)


def _loaded(apparatus: Apparatus, view: View) -> Iterator[Thing]:
    for body, _ in _slider(apparatus, view):
        yield replace(body, mass=body.mass + UNWEIGHED)


def _heavier(apparatus: Apparatus, view: View) -> Iterator[Thing]:
    """Those without inertia as uniform discs: at the rim half their mass."""
    for pulley, radius in _pulleys(apparatus):
        if not pulley.inertia:
            yield replace(pulley, inertia=PULLEY_MASS * radius**2 / 2)


def _stiffer(apparatus: Apparatus, view: View) -> Iterator[Thing]:
    for pulley, radius in _pulleys(apparatus):
        yield replace(pulley, bearing_torque=pulley.bearing_torque + BEARING * radius)


def _with_string_mass(apparatus: Apparatus, view: View) -> Iterator[Thing]:
    """The measured string's mass, for a slider at one end and a hanging weight at the other.

    Over the run half the distance hangs on average; a whole distance lies along the slider's way,
    where a slope makes it weigh too.
    """
    for body, surface in _slider(apparatus, view):
        path = () if view.string is None else apparatus.strings[view.string].path
        first, *passed, last = path or ("", "")
        weight = apparatus.bodies.get(last if first == body.name else first)
        if weight and weight.surface is None and apparatus.run.distance is not None:
            mass = STRING * float(apparatus.run.distance)
            rises = float(surface.tangent[1]) * (1 if first == body.name else -1)
            over = [(pulley, r) for pulley, r in _pulleys(apparatus) if pulley.name in passed]
            yield from with_string(weight, *over[0], pulls=mass * (0.5 - rises), whole=1.5 * mass)


def with_string(
    weight: Body, pulley: Pulley, radius: float, *, pulls: float, whole: float
) -> tuple[Body, Pulley]:
    """The mass of a string in kg: what ``pulls``, as it hangs on average over the run, is added to
    the weight, which is exact for the energy. What is left of the ``whole`` has to be sped up
    behind the sensor, as the rim of a pulley has.
    """
    rim = (whole - pulls) * radius**2
    inertia = pulley.inertia + rim
    return replace(weight, mass=weight.mass + pulls), replace(pulley, inertia=inertia)


EITHER_WAY = (InfluenceKind.TILT, InfluenceKind.GRAVITY)  # what can have either sign
CHANGES: Mapping[InfluenceKind, tuple[Place, float, str, Change]] = {
    InfluenceKind.FRICTION: (Place.PULLED, FRICTION, "", _rougher),
    InfluenceKind.TILT: (Place.PULLED, TILT, "rad", _tilted),
    InfluenceKind.WHEELS: (Place.PULLED, ONE_WHEEL, "kg", _wheeled),
    InfluenceKind.UNWEIGHED: (Place.PULLED, UNWEIGHED, "kg", _loaded),
    InfluenceKind.PULLEY_INERTIA: (Place.ELSEWHERE, PULLEY_MASS, "kg", _heavier),
    InfluenceKind.PULLEY_BEARING: (Place.ELSEWHERE, BEARING, "N", _stiffer),
    InfluenceKind.STRING: (Place.ELSEWHERE, STRING, "kg/m", _with_string_mass),
    InfluenceKind.GRAVITY: (
        *(Place.ELSEWHERE, GRAVITY, "m/s²"),
        lambda apparatus, view: iter([float(apparatus.gravity) + GRAVITY]),
    ),
}
