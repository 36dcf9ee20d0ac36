"""The values that a lesson starts from, and how well its results are known by them.

Takes a lab, its steps and the case that names the uncertain givens; gives the rows of the givens,
standard uncertainties, and steps that say where a result claims more than its givens allow.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from fallwork.lesson.document import Equation, Given, Marked, Paragraph, Step, Text, Working
from fallwork.lesson.expression import SCALE, Symbol, evaluate, evaluated, follows, symbols_in
from fallwork.lesson.rounding import claims_too_much, with_uncertainty
from fallwork.lesson.words import say
from fallwork.measurement.prediction import Case, quantities_of, with_values
from fallwork.measurement.propagation import ROUNDING, Input
from fallwork.mechanics import solve
from fallwork.mechanics.solution import Ending
from fallwork.scenario.quantity import as_written, in_print, in_si

if TYPE_CHECKING:
    from fallwork.lesson.lab import Lab
    from fallwork.lesson.lab.motion import Motion

Results = dict[str, tuple[Symbol, Equation]]  # by id, with the equation that first gives it
Pairs = dict[str, list[dict[str, float]]]  # results by id, with a given less and greater
_MOVING = ("acceleration", "after-landing")  # steps that say how well accelerations are known


def givens_of(lab: "Motion") -> tuple[Given, ...]:
    """A row for each given, in the file's order: those in the formulas, g, then the others."""
    push, gravity = lab.scenario.run.speed, lab.gravity
    known = tuple(given_symbols(lab))
    rows = [_given(each, each_time=each.source is push) for each in known]
    g = f"{lab.apparatus.gravity:.6g}\u00a0m/s²"
    beside = (each for each in dict.fromkeys(_beside(lab)) if each not in known)
    others = (replace(_given(each), symbol=None) for each in beside)
    return (*rows, Given(gravity.meaning, gravity, g, g), *others)


def _given(symbol: Symbol, *, each_time: bool = False) -> Given:
    """As written and as put into formulas, both as a size; which way it leads is said in words."""
    digits, unit = map(in_print, in_si(symbol.source))
    size = digits.lstrip("-−")
    si = f"{size}°" if unit == "deg" else f"{size}\u00a0{unit}".rstrip()
    written = in_print(as_written(symbol.source)).removeprefix("−")
    return Given(symbol.meaning, symbol, written, si.replace("-", "−"), each_time)


def given_symbols(lab: "Motion") -> Iterator[Symbol]:
    """The givens that enter the formulas."""
    things: Mapping[str, Any] = lab.scenario.objects
    run = lab.scenario.run
    weighed = (name for name in lab.movers if getattr(things[name], "mass", None) is not None)
    yield from map(lab.mass, weighed)
    for name in lab.sliders:
        friction, static = lab.coefficient(name), lab.static_coefficient(name)
        if lab.given_slider(name).wheels is not None:
            yield lab.wheel_mass(name)
        if friction.source.value and lab.rub_alike(name)[0] == name:
            yield friction
        if static != friction:
            yield static
    yield from (lab.given_force(each) for each in lab.phase.forces if each.partner in lab.givers)
    yield from map(lab.slope, lab.sloping_surfaces)
    of_pulleys = {
        "inertia": lab.inertia,
        "mass": lab.pulley_mass,
        "radius": lab.radius,
        "bearing_torque": lab.bearing_torque,
    }
    for name in lab.rotors:
        heavy = things[name].inertia is not None or things[name].moving  # known without its mass
        for key, symbol in of_pulleys.items():
            if getattr(things[name], key) is not None and not (key == "mass" and heavy):
                yield symbol(name)
    if run.speed is not None and run.speed.value:
        yield lab.given_start_speed
    if lab.moves:
        yield from _of_end(lab)


def by_path(lab: "Motion") -> list[tuple[str, Symbol]]:
    """The same, each with its path."""
    paths = {id(quantity): path for path, quantity in quantities_of(lab.scenario)}
    return [(paths[id(symbol.source)], symbol) for symbol in given_symbols(lab)]


def _of_end(lab: "Motion") -> Iterator[Symbol]:
    """What ends the run, as far as formulas use it."""
    run, parts = lab.scenario.run, [lab.at(index) for index in lab.driven]
    if run.distance and {each.ending for each in parts} & {Ending.LANDS, Ending.COVERED}:
        yield lab.run_distance
    if run.until is not None and lab.ending is Ending.TIME:
        yield lab.given("time")
    ends = (each for each in parts if each.tied and each.ending is Ending.REACHES)
    rooms = [room for each in ends if (room := each.room)]  # on a surface, that there is no more of
    used = {symbol for room in rooms for symbol in symbols_in(room)}
    yield from (place for place in _places(lab) if place in used)


def _places(lab: "Motion") -> Iterator[Symbol]:
    """Where what runs on surfaces starts and how long these are, as far as the file says it."""
    for body in map(lab.given_slider, lab.sliders):
        if body.starts_at is not None:
            yield lab.start_place(body.name)
        if lab.scenario.surfaces[body.runs_on].length is not None:
            yield lab.length(body.runs_on)


def _beside(lab: "Motion") -> Iterator[Symbol]:
    """What bounds the run or makes results uncertain without standing in a formula."""
    for name in dict.fromkeys(map(lab.surface_under, lab.sliders)):
        slope, length = lab.scenario.surfaces[name].slope, lab.scenario.surfaces[name].length
        if slope.u and not slope.value:
            yield lab.slope(name)
        if length is not None:
            yield lab.length(name)
    yield from _places(lab)


# ---- how well results are known


def uncertainties(lab: "Lab", steps: Iterable[Step], case: Case) -> dict[str, float]:
    """Standard uncertainty of every result of the steps, by symbol id and in its unit: half the
    difference that each given makes when it is greater and less by its own (JCGM 100:2008, 5.1.3,
    note 2); where a result exists on one side only, its change on that side.
    """
    results: Results = {}
    equations = [each for step in steps for each in step.equations]
    for equation in equations:
        if equation.result is not None and equation.result.value is not None:
            results.setdefault(equation.result.id, (equation.result, equation))
    found = _by_formulas(lab, case, equations, results)
    others = [each for each in case.ends if each[0].name not in found]
    found |= _by_solver(lab, case, results, others) if others else {}
    squares = dict.fromkeys(results, 0.0)
    for given, low, high in case.ends:
        less, more = found[given.name]
        for key, (symbol, _) in results.items():
            value = symbol.value or 0.0
            share = given.u / (high - low) if key in less and key in more else 1.0
            change = more.get(key, value) - less.get(key, value)
            if abs(change) > ROUNDING * abs(value):
                squares[key] += (change * share) ** 2
    return {key: square**0.5 for key, square in squares.items()}


def followed(equations: Iterable[Equation], values: dict[str, Any]) -> Iterator[Symbol]:
    """What follows from the ``values`` of givens, by symbol id and in its unit, and is put to them.
    An equation of something that no equation before it gives is passed over.
    """
    for each in equations:
        left = each.result
        if left is None or left.value is None or left.given or left.id in values:
            continue
        if follows(each.last, values):
            values[left.id] = evaluated(each.last, values, left.unit)
            yield left


def _by_formulas(lab: "Lab", case: Case, equations: Iterable[Equation], results: Results) -> Pairs:
    """All results with a given less and greater, for each that stands in formulas of a run which
    stays of its kind: nothing changes its sign.
    """
    symbols, values = by_path(lab) if lab.moves else [], dict[str, Any]()
    ends = [(given.name, end) for given, *both in case.ends for end in both]
    for path, symbol in symbols:
        sizes = [abs(end if name == path else symbol.source.value) for name, end in ends]
        values[symbol.id] = np.array(sizes) / SCALE.get(symbol.unit, 1.0)
    list(followed(equations, values))
    rows = [np.broadcast_to(values.get(key, np.nan), len(ends)) for key in results]
    found = np.reshape(rows, (len(results), len(ends)))
    right = np.reshape([symbol.value or 0.0 for symbol, _ in results.values()], (-1, 1))
    alike = (np.sign(found) == np.sign(right)).all(axis=0)
    sets = [dict(zip(results, row, strict=True)) for row in found.T.tolist()]
    good = [at for at in range(0, len(ends), 2) if alike[at] and alike[at + 1]]
    return {name: sets[at : at + 2] for at in good if (name := ends[at][0]) in dict(symbols)}


def _by_solver(
    lab: "Lab", case: Case, results: Results, ends: Iterable[tuple[Input, float, float]]
) -> Pairs:
    """The same by solving the set-up anew: what doesn't follow from the solution alone, by its
    formula; a result that doesn't exist then is left out.
    """
    solved = _solved(lab, results)
    rest = {key: result for key, result in results.items() if key not in solved}
    leaves = {leaf.id for _, of in rest.values() for leaf in symbols_in(of.last)}
    wanted = {*solved, *_solved(lab, leaves)}

    def at(path: str, end: float) -> dict[str, float]:
        given = {path: end}
        scenario, apparatus = with_values(case.scenario, given), case.apparatus(given)
        other = replace(lab, scenario=scenario, apparatus=apparatus, solution=solve(apparatus))
        found = _solved(other, wanted)
        for key, (symbol, of) in rest.items():
            with suppress(ArithmeticError, ValueError):
                found[key] = evaluate(of.last, found) / SCALE.get(symbol.unit, 1.0)
        return found

    return {given.name: [at(given.name, end) for end in both] for given, *both in ends}


def _solved(lab: "Lab", wanted: Collection[str]) -> dict[str, float]:
    """Those of the wanted quantities that follow from givens and solution without any step."""
    found: dict[str, float] = {}
    for symbol in _quantities(lab):
        if symbol.value is not None and symbol.id in wanted:
            found.setdefault(symbol.id, symbol.value)
            if len(found) == len(wanted):
                break
    return found


def _quantities(lab: "Lab") -> Iterator[Symbol]:
    """What is wanted most and costs least first."""
    yield from _in_part(lab)
    yield lab.gravity
    yield from (given.symbol for given in givens_of(lab) if given.symbol is not None)
    last = lab.at(lab.driven[-1]) if lab.moves else lab
    if lab.moves and lab.followed:
        yield lab.symbol("potential-of-run", value=lab.heights_over_the_run)
    if lab.moves and last.coasts and (last.kinetic_frictions or last.climb):
        yield from (lab.coasting_acceleration, lab.coasting_distance)
    for index in range(1, len(lab.solution.phases)):
        yield from _in_part(lab.at(index))
    claims = (claim for limit in lab.limits for claim in limit.claims)
    yield from (claim.letter for claim in claims if claim.letter is not None)


def _in_part(lab: "Lab") -> Iterator[Symbol]:
    yield from _each(lab.sliders, lab.normal, lab.friction)
    yield from map(lab.tension_of, lab.stretches)
    yield from map(lab.support, lab.carried)
    if not lab.moves:
        return
    yield lab.time
    rates = lab.acceleration_in, lab.acceleration_of, lab.start_speed_of, lab.speed_of
    yield from _each(lab.movers, *rates, lab.distance_of, lab.kinetic, lab.potential_change)
    yield from (system.kinetic for system in lab.systems if system.massive)
    yield from (lab.work(force) for force in lab.phase.forces if force.on in lab.marks)
    if lab.tied:  # a slope that is zero stands in no formula
        yield lab.symbol("driving-force", value=lab.driving, mover="")


def _each(names: Iterable[str], *quantities: Callable[[str], Symbol]) -> Iterator[Symbol]:
    return (quantity(name) for name in names for quantity in quantities)


def with_uncertainties(
    steps: Iterable[Step], known: Mapping[str, float], figures: int
) -> Iterator[Step]:
    """The steps; below the last equation of each stands how well its results are known of which the
    givens leave more than the last figure open, and the accelerations, with the way to find it. A
    result is told of once.
    """
    told = set[str]()
    for step in steps:
        vague = [
            (symbol, known[symbol.id])
            for symbol in dict.fromkeys(equation.result for equation in step.equations)
            if symbol is not None and symbol.value is not None and not symbol.given
            if symbol.id in known and symbol.id not in told
            if claims_too_much(symbol.value, known[symbol.id], figures)
            or (step.topic in _MOVING and symbol.unit.endswith("/s²") and known[symbol.id])
        ]
        told |= {symbol.id for symbol, _ in vague}
        if vague:
            last = max(at for at, block in enumerate(step.blocks) if isinstance(block, Working)) + 1
            blocks = (*step.blocks[:last], _sentence(vague, step.topic), *step.blocks[last:])
            step = replace(step, blocks=blocks)
        yield step


def _sentence(vague: Sequence[tuple[Symbol, float]], topic: str) -> Paragraph:
    """E.g. ``T = 0.040 N ± 0.010 N`` of each."""
    text: Text = (say("uncertainty"),)
    for at, (symbol, u) in enumerate(vague):
        sign = " " if not at else " and " if at == len(vague) - 1 else ", "
        value = with_uncertainty(symbol.value or 0.0, u).plus_minus(symbol.unit)
        value = value.replace(" °", "°").replace(" ", "\u00a0")
        text = (*text[:-1], f"{text[-1]}{sign}", symbol, f" =\u00a0{value}")
    if topic != "acceleration":
        return Paragraph(text=(*text[:-1], f"{text[-1]}."))
    way = Marked(words=say("uncertainty-way"), step="uncertainty#prediction")
    return Paragraph(text=(*text[:-1], f"{text[-1]} (", way, ")."))
