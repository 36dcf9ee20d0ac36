"""The values that a lesson starts from, in the order of the scenario file; g last."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Given
from fallwork.lesson.expression import Symbol
from fallwork.scenario.model import Pulley, Quantity, Slider
from fallwork.scenario.quantity import as_written, in_si


def givens_of(context: Context) -> tuple[Given, ...]:
    """One row for each given that enters the formulas."""
    rows = [_given(symbol, quantity) for symbol, quantity in _pairs(context)]
    g = f"{context.setting.apparatus.gravity:.6g}\u00a0m/s²"
    return (*rows, Given(symbol=context.names.gravity, as_written=g, in_si=g))


def _given(symbol: Symbol, quantity: Quantity) -> Given:
    digits, unit = in_si(quantity)
    si = f"{digits}°" if unit == "deg" else f"{digits}\u00a0{unit}".rstrip()
    written = as_written(quantity).replace(" deg", "°")
    return Given(symbol=symbol, as_written=written, in_si=si.replace("-", "−"))


def _pairs(context: Context) -> Iterator[tuple[Symbol, Quantity]]:
    setting, names = context.setting, context.names
    for name in setting.movers:
        mass = getattr(setting.scenario.objects[name], "mass", None)
        if mass is not None:
            yield names.mass(name), mass
    for name in setting.sliders:
        yield from _of_slider(context, names.slider(name))
    for surface in setting.scenario.surfaces.values():
        if surface.slope.value:
            yield names.slope(surface.name), surface.slope
    for name in setting.rotors:
        thing = setting.scenario.objects[name]
        assert isinstance(thing, Pulley)
        yield from _of_pulley(context, thing)
    run = setting.scenario.run
    if run.speed is not None and run.speed.value:
        yield names.start_speed, run.speed
    if run.distance is not None and setting.moves:
        yield names.distance, run.distance


def _of_slider(context: Context, body: Slider) -> Iterator[tuple[Symbol, Quantity]]:
    names = context.names
    surface = context.setting.scenario.surfaces[body.runs_on]
    friction = body.friction or surface.friction
    static = body.static_friction or surface.static_friction
    if body.wheels is not None:
        yield names.wheel_mass(body.name), body.wheels.mass
    if friction.value:
        yield names.coefficient(body.name), friction
    if static is not None and names.static_coefficient(body.name) != names.coefficient(body.name):
        yield names.static_coefficient(body.name), static


def _of_pulley(context: Context, thing: Pulley) -> Iterator[tuple[Symbol, Quantity]]:
    names = context.names
    if thing.inertia is not None:
        yield names.inertia(thing.name), thing.inertia
    elif thing.mass is not None and not thing.moving:
        yield names.pulley_mass(thing.name), thing.mass
    if thing.radius is not None:
        yield names.radius(thing.name), thing.radius
    if thing.bearing_torque is not None:
        yield names.bearing_torque(thing.name), thing.bearing_torque
