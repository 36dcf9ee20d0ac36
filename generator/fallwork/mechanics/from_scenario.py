"""From a validated scenario to the apparatus that the solver takes.

Drops text, units and uncertainties. A quantity's value may be an array, for many cases at once.
What can't be is refused here with its place in the file; what that is, others say.
"""

import numpy as np

from fallwork.errors import BadInput, FallworkError
from fallwork.mechanics.apparatus import Apparatus, Body, Number, Pulley, Run, String, Surface
from fallwork.mechanics.faults import ImpossibleApparatus
from fallwork.mechanics.state import check_possible
from fallwork.scenario import Quantity, model
from fallwork.scenario.report import Impossible, listed


def apparatus_of(scenario: model.Scenario, gravity: float) -> Apparatus:
    """The scenario's apparatus in SI units; ``gravity`` in m/s².

    Raises BadInput for an apparatus that can't be, or ImpossibleApparatus where no file is known.
    """
    apparatus = _apparatus(scenario, gravity)
    try:
        check_possible(apparatus)
    except ImpossibleApparatus as fault:
        raise _placed(fault, scenario) from fault
    return apparatus


def _placed(fault: ImpossibleApparatus, scenario: model.Scenario) -> FallworkError:
    places = scenario.places
    place = places.get(fault.number) or places.get(fault.objects[0])
    if place is None:
        return fault
    found, expected = fault.reason.words
    found = f"{listed(fault.objects)}: {found}"
    return BadInput((Impossible(place=place, found=found, expected=expected),))


def _apparatus(scenario: model.Scenario, gravity: float) -> Apparatus:
    objects = scenario.objects.values()
    return Apparatus(
        bodies={
            thing.name: _body(thing, scenario)
            for thing in objects
            if isinstance(thing, model.Slider | model.Hanging)
        },
        pulleys={
            thing.name: _pulley(thing) for thing in objects if isinstance(thing, model.Pulley)
        },
        anchors=tuple(thing.name for thing in objects if isinstance(thing, model.Anchor)),
        surfaces={
            surface.name: Surface(
                name=surface.name, slope=surface.slope.value, length=_value(surface.length)
            )
            for surface in scenario.surfaces.values()
        },
        strings={
            string.name: String(name=string.name, path=string.path)
            for string in scenario.strings.values()
        },
        run=_run(scenario.run),
        gravity=gravity,
    )


def _body(thing: model.Slider | model.Hanging, scenario: model.Scenario) -> Body:
    if isinstance(thing, model.Hanging):
        return Body(
            name=thing.name, kind="hanging", mass=thing.mass.value, hangs_from=thing.hangs_from
        )
    kinetic, static = _friction(thing, scenario.surfaces[thing.runs_on])
    return Body(
        name=thing.name,
        kind=thing.kind,
        mass=thing.mass.value,
        surface=thing.runs_on,
        starts_at=_value(thing.starts_at),
        friction=kinetic,
        static_friction=static,
        wheel_mass=thing.wheels.count * thing.wheels.mass.value if thing.wheels else 0.0,
    )


def _friction(thing: model.Slider, surface: model.Surface) -> tuple[Number, Number | None]:
    """Kinetic and static coefficient: the object's own where it has one, else the surface's.

    A surface's static coefficient counts for an object with a kinetic one of its own only where
    it is the larger of the two.
    """
    kinetic = (thing.friction or surface.friction).value
    if thing.static_friction is not None:
        return kinetic, thing.static_friction.value
    if surface.static_friction is None:
        return kinetic, None
    if thing.friction is None:
        return kinetic, surface.static_friction.value
    return kinetic, np.maximum(kinetic, surface.static_friction.value)


def _pulley(thing: model.Pulley) -> Pulley:
    mass, radius, inertia = _value(thing.mass), _value(thing.radius), _value(thing.inertia)
    torque = _value(thing.bearing_torque)
    if inertia is None:  # a uniform disc
        inertia = mass * radius**2 / 2 if mass is not None and radius is not None else 0.0
    return Pulley(
        name=thing.name,
        moving=thing.moving,
        mass=0.0 if mass is None else mass,
        inertia=inertia,
        radius=radius,
        bearing_torque=0.0 if torque is None else torque,
    )


def _run(run: model.Run) -> Run:
    return Run(
        object=run.object,
        distance=_value(run.distance),
        speed=run.speed.value if run.speed else 0.0,
        until=_value(run.until),
    )


def _value(quantity: Quantity | None) -> float | None:
    return None if quantity is None else quantity.value
