"""How well the results of a worked solution are known, and the one rule for saying it.

Takes a lab, its steps and the case that names the uncertain givens; gives standard uncertainties,
and the steps with a sentence where a result claims more than its givens allow.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace

from fallwork.lesson.document import Paragraph, Step, Text, Working
from fallwork.lesson.expression import SCALE, Expression, Symbol, evaluate, symbols_in
from fallwork.lesson.givens import givens_of
from fallwork.lesson.lab import Lab
from fallwork.lesson.rounding import claims_too_much, with_uncertainty
from fallwork.lesson.words import sentence
from fallwork.measurement.prediction import Case, with_values
from fallwork.mechanics import solve


def uncertainties(lab: Lab, steps: Iterable[Step], case: Case) -> dict[str, float]:
    """Standard uncertainty of every result of the steps, by symbol id and in its unit: half the
    difference that each given makes when it is greater and less by its own (JCGM 100:2008, 5.1.3,
    note 2); where a result exists on one side only, its change on that side.
    """
    results: dict[str, tuple[Symbol, Expression]] = {}
    for equation in (each for step in steps for each in step.equations):
        if equation.result is not None and equation.result.value is not None:
            tree = (equation.right, *equation.forms)[-1]
            results.setdefault(equation.result.id, (equation.result, tree))
    solved = _solved(lab, results)
    rest = {key: result for key, result in results.items() if key not in solved}
    leaves = {leaf.id for _, tree in rest.values() for leaf in symbols_in(tree)}
    wanted = {*solved, *_solved(lab, leaves)}
    squares = dict.fromkeys(results, 0.0)
    for given, low, high in case.ends:
        more, less = (_values(lab, case, {given.name: end}, wanted, rest) for end in (high, low))
        for key, (symbol, _) in results.items():
            value = symbol.value or 0.0
            both = key in less and key in more
            change = (more.get(key, value) - less.get(key, value)) * (
                given.u / (high - low) if both else 1.0
            )
            squares[key] += change**2
    return {key: square**0.5 for key, square in squares.items()}


def _values(
    lab: Lab,
    case: Case,
    given: Mapping[str, float],
    wanted: set[str],
    rest: Mapping[str, tuple[Symbol, Expression]],
) -> dict[str, float]:
    """The results with another value of a given: those that the solution has, and the ``rest`` by
    their formulas.
    """
    apparatus = case.apparatus(given)
    scenario, solution = with_values(case.scenario, given), solve(apparatus)
    other = replace(lab, scenario=scenario, apparatus=apparatus, solution=solution)
    found = _solved(other, wanted)
    for key, (symbol, tree) in rest.items():
        with suppress(ArithmeticError, ValueError):
            found[key] = evaluate(tree, found) / SCALE.get(symbol.unit, 1.0)
    return found


def _solved(lab: Lab, wanted: Collection[str]) -> dict[str, float]:
    """Those of the wanted quantities that follow from givens and solution without any step."""
    found: dict[str, float] = {}
    for symbol in _quantities(lab):
        if symbol.value is not None and symbol.id in wanted:
            found.setdefault(symbol.id, symbol.value)
            if len(found) == len(wanted):
                break
    return found


def _quantities(lab: Lab) -> Iterator[Symbol]:
    """What is wanted most and costs least first."""
    yield from _in_part(lab)
    yield lab.gravity
    yield from (given.symbol for given in givens_of(lab) if given.symbol is not None)
    yield from _of_the_run(lab) if lab.moves else ()
    for index in range(1, len(lab.solution.phases)):
        yield from _in_part(lab.at(index))
    claims = (claim for limit in lab.limits for claim in limit.claims)
    yield from (claim.letter for claim in claims if claim.letter is not None)


def _in_part(lab: Lab) -> Iterator[Symbol]:
    yield from _forces(lab)
    yield from _motions(lab) if lab.moves else ()


def _forces(lab: Lab) -> Iterator[Symbol]:
    for name in lab.sliders:
        yield from (lab.normal(name), lab.rolling(name))
        yield from (lab.friction(name), lab.friction_limit(name))
    yield from map(lab.tension_of, lab.stretches)
    yield from map(lab.support, lab.carried)
    yield from map(lab.holding_torque, lab.rotors)


def _motions(lab: Lab) -> Iterator[Symbol]:
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


def _of_the_run(lab: Lab) -> Iterator[Symbol]:
    last = lab.at(lab.driven[-1])
    if lab.followed:
        yield lab.symbol("potential-of-run", value=lab.heights_over_the_run)
    if last.coasts and (last.rubs or last.climb):
        yield lab.coasting_acceleration
        yield lab.coasting_distance


# ---- how it is said


def with_uncertainties(
    steps: Iterable[Step], known: Mapping[str, float], figures: int
) -> Iterator[Step]:
    """The steps; below the last equation of each stands how well its results are known of which the
    givens leave more than the last figure open. A result is told of once.
    """
    told = set[str]()
    for step in steps:
        vague = [
            (symbol, known[symbol.id])
            for symbol in dict.fromkeys(equation.result for equation in step.equations)
            if symbol is not None and symbol.value is not None and not symbol.given
            if symbol.id in known and symbol.id not in told
            if claims_too_much(symbol.value, known[symbol.id], figures)
        ]
        told |= {symbol.id for symbol, _ in vague}
        if vague:
            last = max(at for at, block in enumerate(step.blocks) if isinstance(block, Working)) + 1
            blocks = (*step.blocks[:last], _sentence(vague), *step.blocks[last:])
            step = replace(step, blocks=blocks)
        yield step


def _sentence(vague: Sequence[tuple[Symbol, float]]) -> Paragraph:
    """E.g. ``T = 0.040 N ± 0.010 N`` of each."""
    text: Text = (sentence("uncertainty"),)
    for at, (symbol, u) in enumerate(vague):
        sign = " " if not at else " and " if at == len(vague) - 1 else ", "
        value = with_uncertainty(symbol.value or 0.0, u).plus_minus(symbol.unit)
        value = value.replace(" °", "°").replace(" ", "\u00a0")
        text = (*text[:-1], f"{text[-1]}{sign}", symbol, f" = {value}")
    return Paragraph(text=(*text[:-1], f"{text[-1]}."))
