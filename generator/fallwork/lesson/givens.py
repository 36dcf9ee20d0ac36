"""The values that a lesson starts from, in the order of the scenario file; g last."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from fallwork.lesson.document import Given
from fallwork.lesson.expression import Symbol, symbols_in
from fallwork.mechanics.solution import Ending
from fallwork.scenario import Pulley, Quantity, Slider
from fallwork.scenario.quantity import as_written, in_print, in_si

if TYPE_CHECKING:
    from fallwork.lesson.lab.motion import Motion


def givens_of(lab: "Motion") -> tuple[Given, ...]:
    """One row for each given: first those that enter the formulas, then g, then the others."""
    rows = [_given(*pair, each_time=pair[1] is lab.scenario.run.speed) for pair in _pairs(lab)]
    gravity = lab.gravity
    g = f"{lab.apparatus.gravity:.6g}\u00a0m/s²"
    others = [
        replace(_given(symbol, quantity), symbol=None)
        for symbol, quantity in _beside(lab)
        if symbol not in [row.symbol for row in rows]
    ]
    return (*rows, Given(meaning=gravity.meaning, symbol=gravity, as_written=g, in_si=g), *others)


def _beside(lab: "Motion") -> Iterator[tuple[Symbol, Quantity]]:
    """What bounds the run or makes results uncertain without standing in a formula."""
    surfaces = lab.scenario.surfaces
    bodies = [lab.given_slider(name) for name in lab.sliders]
    for name in dict.fromkeys(body.runs_on for body in bodies):
        slope, length = surfaces[name].slope, surfaces[name].length
        if slope.u and not slope.value:
            yield lab.slope(name), slope
        if length is not None:
            yield lab.length(name), length
    for body in bodies:
        if body.starts_at is not None:
            yield lab.start_place(body.name), body.starts_at


def _given(symbol: Symbol, quantity: Quantity, each_time: bool = False) -> Given:
    """As its author wrote it and as it is put into formulas, both as a size.

    Which way a slope, a push or a force leads is said in words.
    """
    digits, unit = in_si(quantity)
    written, digits = in_print(as_written(quantity)).removeprefix("−"), digits.lstrip("-")
    unit = in_print(unit)
    si = f"{digits}°" if unit == "deg" else f"{digits}\u00a0{unit}".rstrip()
    return Given(
        meaning=symbol.meaning,
        symbol=symbol,
        as_written=written,
        in_si=si.replace("-", "−"),
        each_time=each_time,
    )


def _pairs(lab: "Motion") -> Iterator[tuple[Symbol, Quantity]]:
    for name in lab.movers:
        mass = getattr(lab.scenario.objects[name], "mass", None)
        if mass is not None:
            yield lab.mass(name), mass
    for name in lab.sliders:
        yield from _of_slider(lab, lab.given_slider(name))
    for force in lab.given_forces:
        yield lab.given_force(force), lab.written(force)
    for surface in lab.scenario.surfaces.values():
        if surface.slope.value:
            yield lab.slope(surface.name), surface.slope
    for name in lab.rotors:
        thing = lab.scenario.objects[name]
        assert isinstance(thing, Pulley)
        yield from _of_pulley(lab, thing)
    yield from _of_run(lab)


def _of_run(lab: "Motion") -> Iterator[tuple[Symbol, Quantity]]:
    """The start speed, and what ends the run, as far as formulas use it."""
    run = lab.scenario.run
    if run.speed is not None and run.speed.value:
        yield lab.given_start_speed, run.speed
    if not lab.moves:
        return
    endings = {lab.at(index).ending for index in lab.driven}
    if run.distance is not None and endings & {Ending.LANDS, Ending.COVERED}:
        yield lab.run_distance, run.distance
    if run.until is not None and lab.ending is Ending.TIME:
        yield lab.given("time"), run.until
    parts = map(lab.at, lab.driven)  # that end where there is no more room on a surface
    rooms = (each.room for each in parts if each.tied and each.ending is Ending.REACHES)
    used = {symbol for room in rooms if room is not None for symbol in symbols_in(room)}
    for body in (lab.given_slider(name) for name in lab.sliders):
        surface = lab.scenario.surfaces[body.runs_on]
        if body.starts_at is not None and lab.start_place(body.name) in used:
            yield lab.start_place(body.name), body.starts_at
        if surface.length is not None and lab.length(surface.name) in used:
            yield lab.length(surface.name), surface.length


def _of_slider(lab: "Motion", body: Slider) -> Iterator[tuple[Symbol, Quantity]]:
    surface = lab.scenario.surfaces[body.runs_on]
    friction = body.friction or surface.friction
    static = body.static_friction or surface.static_friction
    if body.wheels is not None:
        yield lab.wheel_mass(body.name), body.wheels.mass
    if friction.value and lab.rub_alike(body.name)[0] == body.name:
        yield lab.coefficient(body.name), friction
    if static is not None and lab.static_coefficient(body.name) != lab.coefficient(body.name):
        yield lab.static_coefficient(body.name), static


def _of_pulley(lab: "Motion", thing: Pulley) -> Iterator[tuple[Symbol, Quantity]]:
    mass = None if thing.inertia is not None or thing.moving else thing.mass
    for symbol, written in (
        (lab.inertia, thing.inertia),
        (lab.pulley_mass, mass),
        (lab.radius, thing.radius),
        (lab.bearing_torque, thing.bearing_torque),
    ):
        if written is not None:
            yield symbol(thing.name), written
