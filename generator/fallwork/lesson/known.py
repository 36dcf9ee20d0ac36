"""The values that a lesson starts from, and how well its results are known by them.

Takes a lab, its steps and the case that names the uncertain givens; gives the rows of the givens,
standard uncertainties, and the steps with a sentence where a result claims more than its givens
allow.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from fallwork.lesson.document import Given, Marked, Paragraph, Step, Text, Working
from fallwork.lesson.expression import SCALE, Expression, Symbol, evaluate, symbols_in
from fallwork.lesson.rounding import claims_too_much, with_uncertainty
from fallwork.lesson.words import sentence
from fallwork.measurement.prediction import Case, with_values
from fallwork.mechanics import solve
from fallwork.mechanics.solution import Ending
from fallwork.scenario import Pulley, Quantity
from fallwork.scenario.quantity import as_written, in_print, in_si

if TYPE_CHECKING:
    from fallwork.lesson.lab import Lab
    from fallwork.lesson.lab.motion import Motion

_MOVING = ("acceleration", "after-landing")  # steps that say how well accelerations are known
_Pairs = Iterator[tuple[Symbol, Quantity]]


def givens_of(lab: "Motion") -> tuple[Given, ...]:
    """A row for each given, in the file's order: those in the formulas, g, then the others."""
    push = lab.scenario.run.speed
    pairs = pairs_of(lab)
    rows = [_given(*pair, each_time=pair[1] is push) for pair in pairs]
    told, gravity = [row.symbol for row in rows], lab.gravity
    g = f"{lab.apparatus.gravity:.6g}\u00a0m/s²"
    others = (replace(_given(*pair), symbol=None) for pair in _beside(lab) if pair[0] not in told)
    return (*rows, Given(meaning=gravity.meaning, symbol=gravity, as_written=g, in_si=g), *others)


def pairs_of(lab: "Motion") -> tuple[tuple[Symbol, Quantity], ...]:
    """The givens that enter the formulas, each with the number that the scenario has for it."""
    return (*_of_things(lab), *_of_run(lab))


def _given(symbol: Symbol, quantity: Quantity, *, each_time: bool = False) -> Given:
    """As written and as put into formulas, both as a size; which way it leads is said in words."""
    digits, unit = map(in_print, in_si(quantity))
    size = digits.lstrip("-−")
    si = f"{size}°" if unit == "deg" else f"{size}\u00a0{unit}".rstrip()
    written = in_print(as_written(quantity)).removeprefix("−")
    return Given(
        meaning=symbol.meaning,
        symbol=symbol,
        as_written=written,
        in_si=si.replace("-", "−"),
        each_time=each_time,
    )


def _of_things(lab: "Motion") -> _Pairs:
    things, surfaces = lab.scenario.objects, lab.scenario.surfaces
    for name in lab.movers:
        if (mass := getattr(things[name], "mass", None)) is not None:
            yield lab.mass(name), mass
    for body in map(lab.given_slider, lab.sliders):
        name, under = body.name, surfaces[body.runs_on]
        friction = body.friction or under.friction
        static = body.static_friction or under.static_friction
        if body.wheels is not None:
            yield lab.wheel_mass(name), body.wheels.mass
        if friction.value and lab.rub_alike(name)[0] == name:
            yield lab.coefficient(name), friction
        if static is not None and lab.static_coefficient(name) != lab.coefficient(name):
            yield lab.static_coefficient(name), static
    for force in (each for each in lab.phase.forces if each.partner in lab.givers):
        yield lab.given_force(force), lab.written(force)
    for surface in surfaces.values():
        if surface.slope.value:
            yield lab.slope(surface.name), surface.slope
    for name in lab.rotors:
        pulley = things[name]
        assert isinstance(pulley, Pulley)
        for symbol, written in (
            (lab.inertia, pulley.inertia),
            (lab.pulley_mass, None if pulley.inertia or pulley.moving else pulley.mass),
            (lab.radius, pulley.radius),
            (lab.bearing_torque, pulley.bearing_torque),
        ):
            if written is not None:
                yield symbol(name), written


def _of_run(lab: "Motion") -> _Pairs:
    """The start speed, and what ends the run, as far as formulas use it."""
    run = lab.scenario.run
    if run.speed is not None and run.speed.value:
        yield lab.given_start_speed, run.speed
    if not lab.moves:
        return
    parts = [lab.at(index) for index in lab.driven]
    if run.distance and {each.ending for each in parts} & {Ending.LANDS, Ending.COVERED}:
        yield lab.run_distance, run.distance
    if run.until is not None and lab.ending is Ending.TIME:
        yield lab.given("time"), run.until
    ends = (each for each in parts if each.tied and each.ending is Ending.REACHES)
    rooms = [room for each in ends if (room := each.room)]  # on a surface, that there is no more of
    used = {symbol for room in rooms for symbol in symbols_in(room)}
    for body in map(lab.given_slider, lab.sliders):
        surface = lab.scenario.surfaces[body.runs_on]
        if body.starts_at is not None and lab.start_place(body.name) in used:
            yield lab.start_place(body.name), body.starts_at
        if surface.length is not None and lab.length(surface.name) in used:
            yield lab.length(surface.name), surface.length


def _beside(lab: "Motion") -> _Pairs:
    """What bounds the run or makes results uncertain without standing in a formula."""
    bodies = [lab.given_slider(name) for name in lab.sliders]
    for name in dict.fromkeys(body.runs_on for body in bodies):
        slope, length = lab.scenario.surfaces[name].slope, lab.scenario.surfaces[name].length
        if slope.u and not slope.value:
            yield lab.slope(name), slope
        if length is not None:
            yield lab.length(name), length
    for body in bodies:
        if body.starts_at is not None:
            yield lab.start_place(body.name), body.starts_at


# ---- how well results are known


def uncertainties(lab: "Lab", steps: Iterable[Step], case: Case) -> dict[str, float]:
    """Standard uncertainty of every result of the steps, by symbol id and in its unit: half the
    difference that each given makes when it is greater and less by its own (JCGM 100:2008, 5.1.3,
    note 2); where a result exists on one side only, its change on that side.
    """
    results: dict[str, tuple[Symbol, Expression]] = {}
    for equation in (each for step in steps for each in step.equations):
        if equation.result is not None and equation.result.value is not None:
            results.setdefault(equation.result.id, (equation.result, equation.last))
    solved = _solved(lab, results)
    rest = {key: result for key, result in results.items() if key not in solved}
    leaves = {leaf.id for _, tree in rest.values() for leaf in symbols_in(tree)}
    wanted = {*solved, *_solved(lab, leaves)}
    squares = dict.fromkeys(results, 0.0)
    for given, low, high in case.ends:
        more, less = (_values(lab, case, {given.name: end}, wanted, rest) for end in (high, low))
        for key, (symbol, _) in results.items():
            value = symbol.value or 0.0
            share = given.u / (high - low) if key in less and key in more else 1.0
            squares[key] += ((more.get(key, value) - less.get(key, value)) * share) ** 2
    return {key: square**0.5 for key, square in squares.items()}


def _values(
    lab: "Lab",
    case: Case,
    given: Mapping[str, float],
    wanted: set[str],
    rest: Mapping[str, tuple[Symbol, Expression]],
) -> dict[str, float]:
    """With another value of a given: results of the solution, the ``rest`` by their formulas."""
    apparatus = case.apparatus(given)
    scenario, solution = with_values(case.scenario, given), solve(apparatus)
    other = replace(lab, scenario=scenario, apparatus=apparatus, solution=solution)
    found = _solved(other, wanted)
    for key, (symbol, tree) in rest.items():
        with suppress(ArithmeticError, ValueError):
            found[key] = evaluate(tree, found) / SCALE.get(symbol.unit, 1.0)
    return found


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
    for name in lab.sliders:
        yield from (lab.normal(name), lab.rolling(name))
        yield from (lab.friction(name), lab.friction_limit(name))
    yield from map(lab.tension_of, lab.stretches)
    yield from map(lab.support, lab.carried)
    yield from map(lab.holding_torque, lab.rotors)
    if not lab.moves:
        return
    yield lab.time
    for name in lab.movers:
        yield from (lab.acceleration_in(name), lab.acceleration_of(name), lab.distance_of(name))
        yield from (lab.start_speed_of(name), lab.speed_of(name))
        yield from (lab.kinetic(name), lab.potential_change(name))
    for pulley in lab.rotors:
        yield from (lab.angular_acceleration(pulley), lab.angle(pulley))
        yield from (lab.start_spin(pulley), lab.spin(pulley))
    yield from map(lab.rotational, (*lab.rotors, *lab.wheeled))
    yield from (system.kinetic for system in lab.systems if system.massive)
    yield from (lab.work(force) for force in lab.phase.forces if force.on in lab.marks)
    if lab.tied:  # by formulas of their own: a slope that is zero stands in no other
        yield lab.symbol("driving-force", value=lab.driving, mover="")
        yield lab.symbol("moving-mass", value=lab.common_inertia)


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
    text: Text = (sentence("uncertainty"),)
    for at, (symbol, u) in enumerate(vague):
        sign = " " if not at else " and " if at == len(vague) - 1 else ", "
        value = with_uncertainty(symbol.value or 0.0, u).plus_minus(symbol.unit)
        value = value.replace(" °", "°").replace(" ", "\u00a0")
        text = (*text[:-1], f"{text[-1]}{sign}", symbol, f" = {value}")
    if topic != "acceleration":
        return Paragraph(text=(*text[:-1], f"{text[-1]}."))
    way = Marked(words=sentence("uncertainty-way"), step="uncertainty#prediction")
    return Paragraph(text=(*text[:-1], f"{text[-1]} (", way, ")."))
