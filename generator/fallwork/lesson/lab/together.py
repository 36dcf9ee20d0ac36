"""Set-ups whose strings leave several independent motions: their equations, solved together.

Takes a context; gives the inner forces from the givens, where the formulas stay readable, and each
acceleration from its own object's forces. The algebra is a computer algebra library's.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fallwork.lesson.algebra import linear_solution
from fallwork.lesson.expression import (
    Expression,
    Negative,
    Product,
    Quotient,
    Sum,
    Symbol,
    as_expression,
    symbols_in,
)
from fallwork.lesson.lab.setup import rim
from fallwork.lesson.lab.solving import Solved, determined, unknown_in
from fallwork.lesson.trees import opposite, product, rebuilt, scaled, signed, total, turned
from fallwork.mechanics.solution import Interaction

if TYPE_CHECKING:
    from fallwork.lesson.lab.equations import Equations, Term

MOST_UNKNOWNS = 8  # more make formulas that nobody reads
MOST_SYMBOLS = 30  # in one printed result


@dataclass(frozen=True, kw_only=True)
class FreeSolution:
    """Inner forces and accelerations; ``forces`` is empty where no readable formula exists."""

    unknown: tuple[Symbol, ...]  # the inner forces
    forces: tuple[Solved, ...]
    denominator: Expression | None  # that all forces share, to be given a letter
    accelerations: tuple[Solved, ...]


def solve_free(lab: "Equations") -> FreeSolution:
    """The forces from the givens; each acceleration from its object's equation or its string."""
    # Tensions, rigid pulls and static frictions, each once, as far as they are determined.
    inner = tuple(dict.fromkeys(s for n in _settled(lab) for s in unknown_in(lab, n)))
    forces = _forces(lab, inner)
    return FreeSolution(
        unknown=inner,
        forces=forces,
        denominator=_shared([solved.tree for solved in forces]),
        accelerations=tuple(_accelerations(lab)),
    )


def _accelerations(lab: "Equations") -> Iterator[Solved]:
    """The acceleration of each mover, and the angular one of each pulley that takes a torque."""
    for name in lab.movers:
        tree = None if lab.rests(name) else _own(lab, name)
        if tree is not None:
            yield Solved(lab.acceleration_of(name), tree, name)
    for pulley in lab.spinning:
        if lab.pulleys[pulley].inertia:
            spun: Expression | None = total(_torques(lab, pulley)) / lab.inertia(pulley)
        else:
            spun = _from_rim(lab, pulley)
        if spun is not None:
            yield Solved(lab.angular_acceleration(pulley), spun, pulley)


def _from_rim(lab: "Equations", pulley: str) -> Expression | None:
    """The angular acceleration of a massless pulley from a string that runs over it."""
    for string in lab.taut:
        for tie in lab.spans(string):
            factor = tie.get(rim(pulley), 0) * lab.spins[pulley]
            others = {name: k for name, k in tie.items() if name != rim(pulley)}
            if abs(factor) == 1:
                run = rates(lab, others)
                return (run if factor < 0 else opposite(run)) / lab.radius(pulley)
    return None


def _settled(lab: "Equations") -> list[str]:
    """The movers on which no force stays open, without what lies on its pad."""
    movers = (n for n in lab.movers if not lab.force(Interaction.LANDING, n))
    return [name for name in movers if determined(lab, name)]


def _forces(lab: "Equations", inner: tuple[Symbol, ...]) -> tuple[Solved, ...]:
    moving = [name for name in lab.movers if not lab.rests(name)]
    unknown = [*inner, *(lab.acceleration_of(name) for name in moving)]
    unknown += [lab.angular_acceleration(pulley) for pulley in lab.spinning]
    if len(unknown) > MOST_UNKNOWNS:
        return ()
    found = linear_solution([*_newton(lab), *_turning(lab), *_strings(lab)], unknown)
    trees = [found[symbol.id] for symbol in inner if symbol.id in found]
    if len(trees) < len(inner) or any(map(_too_long, trees)):
        return ()
    return tuple(map(Solved, inner, trees))


def _too_long(tree: Expression) -> bool:
    return sum(1 for _ in symbols_in(tree)) > MOST_SYMBOLS


def _shared(trees: list[Expression]) -> Expression | None:
    """The lower side that all trees have, where it is a sum."""
    bodies = [tree.body if isinstance(tree, Negative) else tree for tree in trees]
    lower = {tree.bottom for tree in bodies if isinstance(tree, Quotient)}
    same = len(lower) == 1 and all(isinstance(tree, Quotient) for tree in bodies)
    if not same:
        return None
    (bottom,) = lower
    return bottom if isinstance(bottom, Sum | Product) else None


def _own(lab: "Equations", name: str) -> Expression | None:
    """An acceleration from the forces on its own object, for a massless one from its string."""
    masses = lab.inertia_terms(name)
    if not masses:
        return _from_load(lab, name) or _from_string(lab, name)
    if not determined(lab, name):
        return None
    terms = [t for t in lab.terms(name) if t.force.interaction is not Interaction.ROLLING]
    if len(masses) > 1:
        return total(term.tree for term in terms) / total(masses)
    falls = [_free_fall(lab, name, t.sign) for t in terms if _is_gravity(t)]
    others = [term.tree for term in terms if not _is_gravity(term)]
    turned_round = turned(total(others)) if others else None
    if turned_round is not None:
        return total([*falls, -(turned_round / masses[0])])
    return total([*falls, *([total(others) / masses[0]] if others else [])])


def _is_gravity(term: "Term") -> bool:
    return term.force.interaction is Interaction.GRAVITY


def _free_fall(lab: "Equations", name: str, sign: int) -> Expression:
    """What gravity alone would give an object along its path: g, on a slope g sin θ."""
    sine = lab.sine(name)
    gravity = as_expression(lab.gravity)
    return signed(sign, gravity if sine is None else product(gravity, sine))


def _from_load(lab: "Equations", name: str) -> Expression | None:
    """The acceleration of a massless pulley from what it carries."""
    loads = [load for load, pulley in lab.carried.items() if pulley == name]
    return as_expression(lab.acceleration_of(loads[0])) if loads else None


def _from_string(lab: "Equations", name: str) -> Expression | None:
    """The acceleration of an object from a string on which it counts once, and nothing turns."""
    for string in lab.taut:
        constraint = lab.constraint(string)
        if any(other not in lab.senses for other in constraint):
            continue
        tie = {n: k * lab.senses[n] for n, k in constraint.items()}
        if abs(tie.get(name, 0)) == 1:
            return total(
                scaled(-k * tie[name], lab.acceleration_of(n))
                for n, k in tie.items()
                if n != name and not lab.rests(n)
            )
    return None


def conditions(lab: "Equations", solved: FreeSolution) -> Iterator[tuple[Expression, Expression]]:
    """Two sides each of what is left for the tensions alone.

    A massless pulley's forces balance; what a string imposes, each acceleration put in by its
    own object's forces. What then says nothing more is left out.
    """
    for name in _settled(lab):
        if not lab.inertia_terms(name) and not lab.rests(name):
            yield _sides(lab.resultant(name))
    known = {item.symbol.id: item.tree for item in solved.accelerations}
    for string in lab.taut:
        for tie in lab.spans(string):
            left, right = _sides(rates(lab, tie))
            for _ in known:  # one acceleration may stand for another one
                left, right = rebuilt(left, known), rebuilt(right, known)
            open_still = any(s.id in known for tree in (left, right) for s in symbols_in(tree))
            if left != right and not open_still:
                yield left, right


def _sides(tree: Expression) -> tuple[Expression, Expression]:
    """A tree that vanishes as an equation: what is positive on the left, the rest on the right."""
    terms = tree.terms if isinstance(tree, Sum) else (tree,)
    minus = [term.body for term in terms if isinstance(term, Negative)]
    return total(term for term in terms if not isinstance(term, Negative)), total(minus)


def _newton(lab: "Equations") -> Iterator[Expression]:
    """Trees that vanish: resultant minus mass times acceleration of each mover."""
    for name in _settled(lab):
        terms = [t.tree for t in lab.terms(name) if t.force.interaction is not Interaction.ROLLING]
        if not lab.rests(name):
            acceleration = lab.acceleration_of(name)
            terms += [-product(mass, acceleration) for mass in lab.inertia_terms(name)]
        yield total(terms)


def _turning(lab: "Equations") -> Iterator[Expression]:
    """Trees that vanish: torques minus inertia times angular acceleration of each pulley."""
    for pulley in lab.spinning:
        terms = _torques(lab, pulley)
        if lab.pulleys[pulley].inertia:
            terms.append(-product(lab.inertia(pulley), lab.angular_acceleration(pulley)))
        yield total(terms)


def _torques(lab: "Equations", pulley: str) -> list[Expression]:
    """The torques of the strings and of the bearing, positive the way the pulley turns."""
    pulls = lab.rim_pulls(pulley)
    terms = [signed(sign, product(pull, lab.radius(pulley))) for sign, pull in pulls]
    if lab.pulleys[pulley].bearing_torque:
        terms.append(-lab.bearing_torque(pulley))
    return terms


def _strings(lab: "Equations") -> Iterator[Expression]:
    """Trees that vanish: what each taut stretch of string and each rigid joint imposes."""
    for string in lab.taut:
        for tie in lab.spans(string):
            yield rates(lab, tie)
    for load, pulley in lab.carried.items():
        if not lab.rests(load):
            yield lab.acceleration_of(load) - lab.acceleration_of(pulley)


def rates(lab: "Equations", tie: Mapping[str, int]) -> Expression:
    """The sum of accelerations that vanishes while a stretch of string keeps its length."""
    terms: list[Expression] = []
    for name, factor in tie.items():
        if name in lab.senses:
            if not lab.rests(name):
                sense = lab.senses[name]
                terms.append(scaled(factor * sense, lab.acceleration_of(name)))
            continue
        pulley = next(p for p in lab.rotors if rim(p) == name)
        if lab.holds(pulley):
            continue
        spun = product(lab.radius(pulley), lab.angular_acceleration(pulley))
        terms.append(scaled(factor * lab.spins[pulley], spun))
    return total(terms)
