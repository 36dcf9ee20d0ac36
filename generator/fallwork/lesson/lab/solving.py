"""Solves the equations of motion in symbols, in an order that a person would choose: where one
acceleration is left, each inner force (tension, rigid pull, static friction) from one object's
equation; several motions together, each acceleration from its own object's forces.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fallwork.lesson.expression import (
    Expression,
    Number,
    Product,
    Quotient,
    Sum,
    Symbol,
    symbols_in,
)
from fallwork.lesson.lab.setup import rim
from fallwork.lesson.trees import (
    ZERO,
    linear_solution,
    over,
    parted,
    product,
    rebuilt,
    scaled,
    signed,
    sized,
    total,
    unit_of,
)
from fallwork.mechanics.solution import Interaction

if TYPE_CHECKING:
    from fallwork.lesson.lab.equations import Equations

Sides = tuple[Expression, Expression]
Tie = Mapping[str, int]  # as ``Setup.constraint`` gives it
MOST_UNKNOWNS = 8  # more make formulas that nobody reads
MOST_SYMBOLS = 30  # in one printed result


@dataclass(frozen=True)
class Solved:
    """A symbol with the tree that gives it, and the object whose equation does."""

    symbol: Symbol
    tree: Expression
    source: str = ""


def unknown_in(lab: "Equations", name: str) -> list[Symbol]:
    """The unknown forces in one equation, each once; ``rim(pulley)`` is a pulley's turning."""
    pulley = _turning(lab, name)
    trees: list[Expression] = [pull for _, pull in lab.rim_pulls(pulley)] if pulley else []
    trees += [] if pulley else [term.size for term in lab.inner(name)]
    if name in lab.frictions and not lab.sliding(name):
        trees.append(lab.frictions[name])
    return list(dict.fromkeys(s for tree in trees for s in symbols_in(tree)))


def determined(lab: "Equations", name: str) -> bool:
    """Whether the solver gives all forces on an object; a rotor at rest may hold any torque."""
    pulley = _turning(lab, name)
    if pulley and lab.holds(pulley) and lab.pulleys[pulley].bearing_torque:
        return False
    return all(force.size is not None for force in lab.forces_on(pulley or name))


def _turning(lab: "Equations", name: str) -> str:
    return next((pulley for pulley in lab.rotors if rim(pulley) == name), "")


def inner_forces(lab: "Equations") -> tuple[tuple[Solved, ...], tuple[Solved, ...]]:
    """Each inner force from the first equation that has no other unknown; then the checks. Weights
    come first, because their equations are the shortest. What is undetermined is left out.
    """
    order = (*lab.hanging, *lab.sliders, *lab.lifts, *map(rim, lab.rotors))
    unknown = {name: unknown_in(lab, name) for name in order if determined(lab, name)}
    found: dict[Symbol, Solved] = {}
    used: list[str] = []
    for name in [name for _ in unknown for name in unknown]:
        left = [symbol for symbol in unknown[name] if symbol not in found]
        if len(left) == 1:
            found[left[0]] = _from_equation(lab, name, left[0])
            used.append(name)
    beside = [name for name, symbols in unknown.items() if symbols and name not in used]
    checks = [name for name in beside if all(symbol in found for symbol in unknown[name])]
    return tuple(found.values()), tuple(_from_equation(lab, n, unknown[n][0]) for n in checks)


def _from_equation(lab: "Equations", name: str, symbol: Symbol) -> Solved:
    """From Σ F = m a as it is usually written, m (g ± a); at a pulley a tension from another."""
    pulley = _turning(lab, name)
    forces: list[tuple[int, Expression]]
    if pulley:
        inertia, drag = lab.rotor_inertia(pulley) or ZERO, lab.rotor_drag(pulley) or ZERO
        gain = product(inertia, scaled(lab.rim(pulley), lab.acceleration)) if lab.moves else ZERO
        forces = [*lab.rim_pulls(pulley), (-1, gain), (-lab.onward, drag)]
    else:
        masses, acceleration = lab.inertia_terms(name), lab.acceleration_tree(name)
        terms = [(term.sign, term.size) for term in lab.unrolled(name)]
        forces = [(-1, product(total(masses), acceleration)), *terms]
    sign, mine = next(force for force in forces if symbol in symbols_in(force[1]))
    others = [(-way * sign, tree) for way, tree in forces if symbol not in symbols_in(tree)]
    tree = total(signed(way, other) for way, other in others)
    if not pulley and len(masses) == 1 and [t for _, t in others[1:]] == [lab.gravity_on(name)]:
        g = signed(others[1][0], lab.gravity)
        tree = product(lab.mass(name), total([g, signed(sign, acceleration)]))
    times = mine.factors[0] if isinstance(mine, Product) else None
    return Solved(symbol, tree / times.value if isinstance(times, Number) else tree, pulley or name)


@dataclass(frozen=True)
class FreeSolution:
    """Inner forces and accelerations; ``forces`` is empty where no readable formula exists."""

    unknown: tuple[Symbol, ...]  # the inner forces
    conditions: tuple[Sides, ...]  # for them alone, by their two sides
    forces: tuple[Solved, ...]
    denominator: Solved | None  # a letter for what all forces share
    shortened: tuple[Solved, ...]  # the forces by that letter, where there is one
    accelerations: tuple[Solved, ...]


def solve_free(lab: "Equations") -> FreeSolution:
    """The forces from the givens; each acceleration from its object's equation or its string."""
    # Tensions, rigid pulls and static frictions, each once, as far as they are determined.
    inner = tuple(dict.fromkeys(s for n in _settled(lab) for s in unknown_in(lab, n)))
    accelerations, forces = tuple(_accelerations(lab)), _forces(lab, inner)
    parts = [sized(force.tree) for force in forces]
    lower = {body.bottom if isinstance(body, Quotient) else None for _, body in parts}
    bottom = lower.pop() if len(parts) > 1 and len(lower) == 1 else None
    shared, shortened = None, forces
    if isinstance(bottom, Sum | Product):
        letter = replace(lab.symbol("denominator", "", bottom), unit=unit_of(bottom))
        tops = ((sign, body.top) for sign, body in parts if isinstance(body, Quotient))
        shared, short = Solved(letter, bottom), (signed(sign, top / letter) for sign, top in tops)
        shortened = tuple(map(Solved, inner, short))
    conditions = tuple(_conditions(lab, accelerations))
    return FreeSolution(inner, conditions, forces, shared, shortened, accelerations)


def _settled(lab: "Equations") -> list[str]:
    """The movers on which no force stays open, without what lies on its pad."""
    landed = [name for name in lab.movers if lab.force(Interaction.LANDING, name)]
    return [name for name in lab.movers if determined(lab, name) and name not in landed]


def _forces(lab: "Equations", inner: tuple[Symbol, ...]) -> tuple[Solved, ...]:
    unknown = [*inner, *map(lab.acceleration_of, lab.moving)]
    unknown += map(lab.angular_acceleration, lab.spinning)
    if len(unknown) > MOST_UNKNOWNS:
        return ()
    found = linear_solution(list(_equations(lab)), unknown)
    trees = [found[symbol.id] for symbol in inner if symbol.id in found]
    long = any(len(list(symbols_in(tree))) > MOST_SYMBOLS for tree in trees)
    return () if len(trees) < len(inner) or long else tuple(map(Solved, inner, trees))


def _equations(lab: "Equations") -> Iterator[Expression]:
    """Trees that vanish, of movers, pulleys, taut stretches and rigid joints."""
    for name in _settled(lab):
        inertia = lab.inertia_terms(name) if name in lab.moving else []
        braking = (-product(mass, lab.acceleration_of(name)) for mass in inertia)
        yield total([*(term.tree for term in lab.unrolled(name)), *braking])
    for pulley in lab.spinning:
        turning = lab.torques(pulley)
        if pulley in lab.heavy:
            turning.append(-product(lab.inertia(pulley), lab.angular_acceleration(pulley)))
        yield total(turning)
    for string in lab.taut:
        for tie in lab.spans(string):
            yield rates(lab, tie)
    for load, pulley in lab.carried.items():
        if load in lab.moving:
            yield lab.acceleration_of(load) - lab.acceleration_of(pulley)


def _accelerations(lab: "Equations") -> Iterator[Solved]:
    """The acceleration of each mover, and the angular one of each pulley that takes a torque."""
    for name in lab.moving:
        if (tree := _own(lab, name)) is not None:
            yield Solved(lab.acceleration_of(name), tree, name)
    for pulley in lab.spinning:
        ties = (tie for string in lab.taut for tie in lab.spans(string))
        spun = _drawn(lab, rim(pulley), lab.spins[pulley], ties)
        if pulley in lab.heavy:
            spun = total(lab.torques(pulley)) / lab.inertia(pulley)
        elif spun is not None:  # a massless one follows its string
            spun = spun / lab.radius(pulley)
        if spun is not None:
            yield Solved(lab.angular_acceleration(pulley), spun, pulley)


def _own(lab: "Equations", name: str) -> Expression | None:
    """From the forces on its own object; of a massless one from its load or its string."""
    masses, loads = lab.inertia_terms(name), lab.loads_of([name])
    if not masses:
        ties = (tie for tie in map(lab.constraint, lab.taut) if set(tie) <= set(lab.senses))
        drawn = _drawn(lab, name, lab.senses[name], ties)
        return lab.acceleration_of(loads[0]) if loads else drawn
    if not determined(lab, name):
        return None
    terms = lab.unrolled(name)
    if len(masses) > 1:
        return total(term.tree for term in terms) / total(masses)
    fall = product(lab.gravity, lab.sine(name) or 1)
    falls = [signed(t.sign, fall) for t in terms if t.force.interaction is Interaction.GRAVITY]
    others = total(t.tree for t in terms if t.force.interaction is not Interaction.GRAVITY)
    return total([*falls, over(others, masses[0])] if len(falls) < len(terms) else falls)


def _drawn(lab: "Equations", name: str, sense: int, ties: Iterable[Tie]) -> Expression | None:
    """The rate of what counts once on one of several ties, by the others on it."""
    for tie in ties:
        if abs(tie.get(name, 0)) == 1:
            way = -1 if tie[name] * sense > 0 else 1
            return rates(lab, {other: way * k for other, k in tie.items() if other != name})
    return None


def _conditions(lab: "Equations", accelerations: tuple[Solved, ...]) -> Iterator[Sides]:
    """What is left for the tensions alone, by two sides; what says nothing more is left out."""
    for name in _settled(lab):
        if not lab.inertia_terms(name) and not lab.rests(name):
            yield parted(lab.resultant(name))
    known = {item.symbol.id: item.tree for item in accelerations}
    for tie in (tie for string in lab.taut for tie in lab.spans(string)):
        left, right = parted(rates(lab, tie))
        for _ in known:  # one acceleration may stand for another one
            left, right = rebuilt(left, known), rebuilt(right, known)
        open_still = any(s.id in known for tree in (left, right) for s in symbols_in(tree))
        if left != right and not open_still:
            yield left, right


def rates(lab: "Equations", tie: Tie) -> Expression:
    """The sum of accelerations that vanishes while a stretch of string keeps its length."""
    moving = (name for name in tie if name in lab.moving)
    terms = [scaled(tie[n] * lab.senses[n], lab.acceleration_of(n)) for n in moving]
    for pulley in (name for name in lab.spinning if rim(name) in tie):
        spun = product(lab.radius(pulley), lab.angular_acceleration(pulley))
        terms.append(scaled(tie[rim(pulley)] * lab.spins[pulley], spun))
    return total(terms)
