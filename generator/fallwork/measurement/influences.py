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


@dataclass(frozen=True, kw_only=True)
class _Recipe:
    place: Place
    amount: float
    unit: str
    changed: Callable[[Apparatus, View, float], Apparatus | None]  # None: not in this apparatus
    least: Callable[[Apparatus, View], float]


def influences_of(apparatus: Apparatus, view: View) -> tuple[Influence, ...]:
    """Every influence that this apparatus can have."""
    base = measurands_of(solve(apparatus), view)
    found = []
    for kind, recipe in RECIPES.items():
        changed = recipe.changed(apparatus, view, recipe.amount)
        if changed is None:
            continue
        values = measurands_of(solve(changed), view)
        effects = {name: values[name] - base[name] for name in base if name in values}
        if kind in OUTSIDE_THE_SENSOR:
            effects = _as_the_sensor_sees(effects, values, changed, apparatus, view)
        found.append(
            Influence(
                kind=kind,
                place=recipe.place,
                amount=recipe.amount,
                unit=recipe.unit,
                least=recipe.least(apparatus, view),
                effects=effects,
            )
        )
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


# The string lies between sensor and pulley: the sensor doesn't see the force that speeds it up.
OUTSIDE_THE_SENSOR = (InfluenceKind.STRING,)


def _as_the_sensor_sees(
    effects: Mapping[str, float],
    values: Mapping[str, float],
    changed: Apparatus,
    base: Apparatus,
    view: View,
) -> dict[str, float]:
    """The changes of the pull without that part which accelerates what was added to the object."""
    added = float(changed.bodies[view.moving].mass - base.bodies[view.moving].mass)
    hidden = added * values[Measurand.ACCELERATION]
    seen = dict(effects)
    for name in (Measurand.MEAN_TENSION, Measurand.TENSION_OVER_TIME):
        if name in seen:
            seen[name] -= hidden
    if Measurand.WORK_OF_TENSION in seen:
        seen[Measurand.WORK_OF_TENSION] -= hidden * values[Measurand.DISTANCE]
    return seen | dict.fromkeys(seen.keys() & {Measurand.COASTING_ACCELERATION.value}, 0.0)


# ---- the changes


def _with_slider(
    apparatus: Apparatus, view: View, change: Callable[[Body], Body]
) -> Apparatus | None:
    """Changed at the watched object, if it stands on a surface."""
    body = apparatus.bodies.get(view.moving)
    if body is None or body.surface is None:
        return None
    return replace(apparatus, bodies={**apparatus.bodies, body.name: change(body)})


def _rougher(apparatus: Apparatus, view: View, amount: float) -> Apparatus | None:
    return _with_slider(
        apparatus,
        view,
        lambda body: replace(
            body,
            friction=body.friction + amount,
            static_friction=None if body.static_friction is None else body.static_friction + amount,
        ),
    )


def _tilted(apparatus: Apparatus, view: View, amount: float) -> Apparatus | None:
    """Higher where the watched object goes, so that a positive amount slows it down."""
    body = apparatus.bodies.get(view.moving)
    if body is None or body.surface is None:
        return None
    surface = apparatus.surfaces[body.surface]
    way = direction(driven_phases(solve(apparatus)), view)
    raised = replace(surface, slope=surface.slope + way * amount)
    return replace(apparatus, surfaces={**apparatus.surfaces, surface.name: raised})


def _wheeled(apparatus: Apparatus, view: View, amount: float) -> Apparatus | None:
    body = apparatus.bodies.get(view.moving)
    if body is None or body.kind != "cart" or body.wheel_mass:
        return None
    return _with_slider(apparatus, view, lambda body: replace(body, wheel_mass=4 * amount))


def _loaded(apparatus: Apparatus, view: View, amount: float) -> Apparatus | None:
    return _with_slider(apparatus, view, lambda body: replace(body, mass=body.mass + amount))


def _with_pulleys(
    apparatus: Apparatus, change: Callable[[Pulley], Pulley], only: Callable[[Pulley], bool]
) -> Apparatus | None:
    changed = {
        name: change(pulley)
        for name, pulley in apparatus.pulleys.items()
        if not pulley.moving and only(pulley)
    }
    if not changed:
        return None
    return replace(apparatus, pulleys={**apparatus.pulleys, **changed})


def _heavier_pulley(apparatus: Apparatus, view: View, amount: float) -> Apparatus | None:
    """Pulleys without inertia as uniform discs: at the rim half their mass."""
    return _with_pulleys(
        apparatus,
        lambda pulley: replace(
            pulley,
            radius=pulley.radius or RADIUS,
            inertia=amount * (pulley.radius or RADIUS) ** 2 / 2,
        ),
        lambda pulley: not pulley.inertia,
    )


def _stiffer_pulley(apparatus: Apparatus, view: View, amount: float) -> Apparatus | None:
    return _with_pulleys(
        apparatus,
        lambda pulley: replace(
            pulley,
            radius=pulley.radius or RADIUS,
            bearing_torque=pulley.bearing_torque + amount * (pulley.radius or RADIUS),
        ),
        lambda _: True,
    )


def _with_string_mass(apparatus: Apparatus, view: View, amount: float) -> Apparatus | None:
    """The measured string's mass, for a slider at one end and a hanging weight at the other.

    Over the run half the distance hangs on average; a whole distance lies along the slider's way.
    """
    slider, weight = _slider(apparatus, view), _weight(apparatus, view)
    distance = apparatus.run.distance
    if slider is None or weight is None or distance is None:
        return None
    length = float(distance)
    return with_string(
        apparatus,
        slider.name,
        weight.name,
        hanging=amount * length / 2,
        lying=amount * length,
    )


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


def _slider(apparatus: Apparatus, view: View) -> Body | None:
    body = apparatus.bodies.get(view.moving)
    return None if body is None or body.surface is None or view.string is None else body


def _weight(apparatus: Apparatus, view: View) -> Body | None:
    if view.string is None:
        return None
    path = apparatus.strings[view.string].path
    other = path[-1] if path[0] == view.moving else path[0]
    body = apparatus.bodies.get(other)
    return body if body is not None and body.surface is None else None


def _stronger_gravity(apparatus: Apparatus, view: View, amount: float) -> Apparatus | None:
    return replace(apparatus, gravity=apparatus.gravity + amount)


def _either_way(apparatus: Apparatus, view: View) -> float:
    return -inf


def _not_below_zero(apparatus: Apparatus, view: View) -> float:
    return 0.0


def _friction_there_is(apparatus: Apparatus, view: View) -> float:
    body = apparatus.bodies.get(view.moving)
    return 0.0 if body is None else -float(body.friction)


RECIPES: Mapping[InfluenceKind, _Recipe] = {
    InfluenceKind.FRICTION: _Recipe(
        place=Place.PULLED, amount=FRICTION, unit="", changed=_rougher, least=_friction_there_is
    ),
    InfluenceKind.TILT: _Recipe(
        place=Place.PULLED, amount=TILT, unit="rad", changed=_tilted, least=_either_way
    ),
    InfluenceKind.WHEELS: _Recipe(
        place=Place.PULLED, amount=ONE_WHEEL, unit="kg", changed=_wheeled, least=_not_below_zero
    ),
    InfluenceKind.UNWEIGHED: _Recipe(
        place=Place.PULLED, amount=UNWEIGHED, unit="kg", changed=_loaded, least=_not_below_zero
    ),
    InfluenceKind.PULLEY_INERTIA: _Recipe(
        place=Place.ELSEWHERE,
        amount=PULLEY_MASS,
        unit="kg",
        changed=_heavier_pulley,
        least=_not_below_zero,
    ),
    InfluenceKind.PULLEY_BEARING: _Recipe(
        place=Place.ELSEWHERE,
        amount=BEARING,
        unit="N",
        changed=_stiffer_pulley,
        least=_not_below_zero,
    ),
    InfluenceKind.STRING: _Recipe(
        place=Place.ELSEWHERE,
        amount=STRING,
        unit="kg/m",
        changed=_with_string_mass,
        least=_not_below_zero,
    ),
    InfluenceKind.GRAVITY: _Recipe(
        place=Place.ELSEWHERE,
        amount=GRAVITY,
        unit="m/s²",
        changed=_stronger_gravity,
        least=_either_way,
    ),
}
