"""The values that a lesson starts from, in the order of the scenario file; g last."""

from collections.abc import Iterator
from dataclasses import replace

from fallwork.lesson.context import Context
from fallwork.lesson.document import Given
from fallwork.lesson.expression import Expression, Symbol, symbols_in
from fallwork.lesson.lab.motion import Motion
from fallwork.mechanics.solution import Ending
from fallwork.scenario.model import Pulley, Quantity, Slider
from fallwork.scenario.quantity import as_written, in_si

_SIZES = ("theta", "v")  # letters of what is given with a sign but counts as a size


def givens_of(context: Context) -> tuple[Given, ...]:
    """One row for each given: first those that enter the formulas, then g, then the others."""
    rows = [_given(symbol, quantity) for symbol, quantity in _pairs(context)]
    gravity = context.names.gravity
    g = f"{context.setting.apparatus.gravity:.6g}\u00a0m/s²"
    others = [
        replace(_given(symbol, quantity), symbol=None)
        for symbol, quantity in _beside(context)
        if symbol not in [row.symbol for row in rows]
    ]
    return (*rows, Given(meaning=gravity.meaning, symbol=gravity, as_written=g, in_si=g), *others)


def _beside(context: Context) -> Iterator[tuple[Symbol, Quantity]]:
    """What bounds the run or makes results uncertain without standing in a formula."""
    names, surfaces = context.names, context.setting.scenario.surfaces
    bodies = [names.slider(name) for name in context.setting.sliders]
    for name in dict.fromkeys(body.runs_on for body in bodies):
        slope, length = surfaces[name].slope, surfaces[name].length
        if slope.u and not slope.value:
            yield names.slope(name), slope
        if length is not None:
            yield names.length(name), length
    for body in bodies:
        if body.starts_at is not None:
            yield names.start_place(body.name), body.starts_at


def _given(symbol: Symbol, quantity: Quantity) -> Given:
    """As its author wrote it and as it is put into formulas, angles and speeds as sizes.

    Which way a slope or a push leads is said in words.
    """
    digits, unit = in_si(quantity)
    written = as_written(quantity).replace(" deg", "°")
    if symbol.letter in _SIZES:
        digits = digits.lstrip("-")
        written = written.removeprefix("−")
    unit = unit.replace(" ", "\u00a0")
    si = f"{digits}°" if unit == "deg" else f"{digits}\u00a0{unit}".rstrip()
    return Given(
        meaning=symbol.meaning, symbol=symbol, as_written=written, in_si=si.replace("-", "−")
    )


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
    yield from _of_run(context)


def _of_run(context: Context) -> Iterator[tuple[Symbol, Quantity]]:
    """The start speed, and what ends the run, as far as formulas use it."""
    setting, names = context.setting, context.names
    run = setting.scenario.run
    if run.speed is not None and run.speed.value:
        yield names.given_start_speed, run.speed
    if not setting.moves:
        return
    endings = {setting.at(index).ending for index in setting.driven}
    if run.distance is not None and endings & {Ending.LANDS, Ending.COVERED}:
        yield names.run_distance, run.distance
    if run.until is not None and setting.ending is Ending.TIME:
        yield names.time_limit, run.until
    used = {symbol for room in _rooms(context) for symbol in symbols_in(room)}
    for body in (names.slider(name) for name in setting.sliders):
        surface = setting.scenario.surfaces[body.runs_on]
        if body.starts_at is not None and names.start_place(body.name) in used:
            yield names.start_place(body.name), body.starts_at
        if surface.length is not None and names.length(surface.name) in used:
            yield names.length(surface.name), surface.length


def _rooms(context: Context) -> Iterator[Expression]:
    """The room on a surface that ends a part of the run."""
    for index in context.setting.driven:
        part = context.at(index)
        room = Motion(part).room
        if part.setting.ending is Ending.REACHES and part.setting.tied and room is not None:
            yield room


def _of_slider(context: Context, body: Slider) -> Iterator[tuple[Symbol, Quantity]]:
    names = context.names
    surface = context.setting.scenario.surfaces[body.runs_on]
    friction = body.friction or surface.friction
    static = body.static_friction or surface.static_friction
    if body.wheels is not None:
        yield names.wheel_mass(body.name), body.wheels.mass
    if friction.value and names.rub_alike(body.name)[0] == body.name:
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
