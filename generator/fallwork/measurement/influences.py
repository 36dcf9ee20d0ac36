"""What influences that a model neglects would do to the measured values, by the solver.

Takes an apparatus; gives for each influence an amount that a lab might overlook and what it does.
Whether an influence explains anything is left to ``discrepancy``.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import Enum
from math import inf, radians

from fallwork.measurement.model import Measurand
from fallwork.measurement.view import View, direction, driven_phases, measurands_of, view_of
from fallwork.mechanics import Apparatus, solve
from fallwork.mechanics.apparatus import Body, Pulley
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
    base, watched = measurands_of(solve(apparatus), view), apparatus.bodies.get(view.moving)
    found = []
    for kind, (place, amount, unit, change) in CHANGES.items():
        changed = change(apparatus, view)
        if changed is None:
            continue
        values = measurands_of(solve(changed), view)
        if kind is InfluenceKind.STRING:
            values = _as_the_sensor_sees(values, base, apparatus, changed, view)
        least = -inf if kind in EITHER_WAY else 0.0
        if kind is InfluenceKind.FRICTION and watched is not None:
            least = -float(watched.friction)
        effects = {name: values[name] - base[name] for name in base if name in values}
        each = Influence(
            kind=kind, place=place, amount=amount, unit=unit, least=least, effects=effects
        )
        found.append(each)
    return tuple(found)


def _as_the_sensor_sees(
    values: Mapping[str, float],
    base: Mapping[str, float],
    apparatus: Apparatus,
    changed: Apparatus,
    view: View,
) -> dict[str, float]:
    """The string lies between sensor and pulley: the sensor doesn't see the force that speeds up
    what was added to the object, and a slack string slows down nothing.
    """
    added = float(changed.bodies[view.moving].mass - apparatus.bodies[view.moving].mass)
    hidden = added * values[Measurand.ACCELERATION]
    unseen = {
        Measurand.MEAN_TENSION: hidden,
        Measurand.TENSION_OVER_TIME: hidden,
        Measurand.WORK_OF_TENSION: hidden * values.get(Measurand.DISTANCE, 0.0),
    }
    seen = {name: value - unseen.get(Measurand(name), 0.0) for name, value in values.items()}
    coasting = Measurand.COASTING_ACCELERATION
    return {**seen, **({coasting: base[coasting]} if coasting in base else {})}


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

Change = Callable[[Apparatus, View], Apparatus | None]  # None: not in this apparatus


def _slider(apparatus: Apparatus, view: View) -> Body | None:
    """The watched object, if it stands on a surface."""
    body = apparatus.bodies.get(view.moving)
    return None if body is None or body.surface is None else body


def _at_slider(change: Callable[[Body], Body | None]) -> Change:
    def changed(apparatus: Apparatus, view: View) -> Apparatus | None:
        body = _slider(apparatus, view)
        other = None if body is None else change(body)
        if other is None:
            return None
        return replace(apparatus, bodies={**apparatus.bodies, other.name: other})

    return changed


def _rougher(body: Body) -> Body:
    static = None if body.static_friction is None else body.static_friction + FRICTION
    return replace(body, friction=body.friction + FRICTION, static_friction=static)


def _wheeled(body: Body) -> Body | None:
    taken = body.kind != "cart" or body.wheel_mass
    return None if taken else replace(body, wheel_mass=4 * ONE_WHEEL)


def _tilted(apparatus: Apparatus, view: View) -> Apparatus | None:
    """Higher where the watched object goes, so that a positive amount slows it down."""
    body = _slider(apparatus, view)
    if body is None or body.surface is None:
        return None
    surface = apparatus.surfaces[body.surface]
    way = direction(driven_phases(solve(apparatus)), view)
    raised = replace(surface, slope=surface.slope + way * TILT)
    return replace(apparatus, surfaces={**apparatus.surfaces, surface.name: raised})


def _at_pulleys(change: Callable[[Pulley, float], Pulley | None]) -> Change:
    """Of fixed pulleys, each with its radius."""

    def changed(apparatus: Apparatus, view: View) -> Apparatus | None:
        fixed = {n: each for n, each in apparatus.pulleys.items() if not each.moving}
        radii = {n: float(each.radius or RADIUS) for n, each in fixed.items()}
        others = {n: change(replace(each, radius=radii[n]), radii[n]) for n, each in fixed.items()}
        found = {n: each for n, each in others.items() if each is not None}
        return replace(apparatus, pulleys={**apparatus.pulleys, **found}) if found else None

    return changed


def _heavier(pulley: Pulley, radius: float) -> Pulley | None:
    """One without inertia as a uniform disc: at the rim half its mass."""
    return None if pulley.inertia else replace(pulley, inertia=PULLEY_MASS * radius**2 / 2)


def _stiffer(pulley: Pulley, radius: float) -> Pulley:
    return replace(pulley, bearing_torque=pulley.bearing_torque + BEARING * radius)


def _with_string_mass(apparatus: Apparatus, view: View) -> Apparatus | None:
    """The measured string's mass, for a slider at one end and a hanging weight at the other.

    Over the run half the distance hangs on average; a whole distance lies along the slider's way.
    """
    slider, distance = _slider(apparatus, view), apparatus.run.distance
    if slider is None or view.string is None or distance is None:
        return None
    first, *_, last = apparatus.strings[view.string].path
    weight = apparatus.bodies.get(last if first == view.moving else first)
    if weight is None or weight.surface is not None:
        return None
    mass = STRING * float(distance)
    return with_string(apparatus, slider.name, weight.name, hanging=mass / 2, lying=mass)


def with_string(
    apparatus: Apparatus, slider: str, weight: str, *, hanging: float, lying: float
) -> Apparatus:
    """The mass of a string in kg, as it hangs on average over the run and lies along the slider's
    way. What hangs is added to the weight, which is exact for the energy; the rest is added to the
    slider without pressing on its surface.
    """
    body, hung = apparatus.bodies[slider], apparatus.bodies[weight]
    press = body.mass / (body.mass + lying)
    static = body.static_friction
    bodies = {
        slider: replace(
            body,
            mass=body.mass + lying,
            friction=body.friction * press,
            static_friction=None if static is None else static * press,
        ),
        weight: replace(hung, mass=hung.mass + hanging),
    }
    return replace(apparatus, bodies={**apparatus.bodies, **bodies})


EITHER_WAY = (InfluenceKind.TILT, InfluenceKind.GRAVITY)  # what can have either sign
CHANGES: Mapping[InfluenceKind, tuple[Place, float, str, Change]] = {
    InfluenceKind.FRICTION: (Place.PULLED, FRICTION, "", _at_slider(_rougher)),
    InfluenceKind.TILT: (Place.PULLED, TILT, "rad", _tilted),
    InfluenceKind.WHEELS: (Place.PULLED, ONE_WHEEL, "kg", _at_slider(_wheeled)),
    InfluenceKind.UNWEIGHED: (
        *(Place.PULLED, UNWEIGHED, "kg"),
        _at_slider(lambda body: replace(body, mass=body.mass + UNWEIGHED)),
    ),
    InfluenceKind.PULLEY_INERTIA: (Place.ELSEWHERE, PULLEY_MASS, "kg", _at_pulleys(_heavier)),
    InfluenceKind.PULLEY_BEARING: (Place.ELSEWHERE, BEARING, "N", _at_pulleys(_stiffer)),
    InfluenceKind.STRING: (Place.ELSEWHERE, STRING, "kg/m", _with_string_mass),
    InfluenceKind.GRAVITY: (
        *(Place.ELSEWHERE, GRAVITY, "m/s²"),
        lambda apparatus, view: replace(apparatus, gravity=apparatus.gravity + GRAVITY),
    ),
}
