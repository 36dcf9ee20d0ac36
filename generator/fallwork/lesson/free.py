"""Set-ups whose strings leave several independent motions: their equations, solved together.

Takes a context; gives the inner forces from the givens, where the formulas stay readable, and each
acceleration from its own object's forces. The algebra is a computer algebra library's.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fallwork.lesson.algebra import linear_solution
from fallwork.lesson.elimination import Solved, determined, unknown_in
from fallwork.lesson.equations import Term
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
from fallwork.lesson.ties import rim
from fallwork.lesson.trees import opposite, product, rebuilt, scaled, signed, total, turned
from fallwork.mechanics.solution import Interaction

if TYPE_CHECKING:
    from fallwork.lesson.context import Context

MOST_UNKNOWNS = 8  # more make formulas that nobody reads
MOST_SYMBOLS = 30  # in one printed result


@dataclass(frozen=True, kw_only=True)
class FreeSolution:
    """Inner forces and accelerations; ``forces`` is empty where no readable formula exists."""

    unknown: tuple[Symbol, ...]  # the inner forces
    forces: tuple[Solved, ...]
    denominator: Expression | None  # that all forces share, to be given a letter
    accelerations: tuple[Solved, ...]


def solve_free(context: "Context") -> FreeSolution:
    """The forces from the givens; each acceleration from its object's equation or its string."""
    inner = inner_unknowns(context)
    forces = _forces(context, inner)
    return FreeSolution(
        unknown=inner,
        forces=forces,
        denominator=_shared([solved.tree for solved in forces]),
        accelerations=(*_motions(context), *_spins(context)),
    )


def _motions(context: "Context") -> Iterator[Solved]:
    """The acceleration of each mover."""
    for name in context.setting.movers:
        tree = None if context.setting.rests(name) else _own(context, name)
        if tree is not None:
            yield Solved(symbol=context.names.acceleration_of(name), tree=tree, source=name)


def _spins(context: "Context") -> Iterator[Solved]:
    """The angular acceleration of each pulley that takes a torque."""
    names = context.names
    for pulley in context.setting.spinning:
        inertia = context.setting.pulleys[pulley].inertia
        tree = total(_torques(context, pulley)) / names.inertia(pulley) if inertia else None
        if tree is None:
            tree = _from_rim(context, pulley)
        if tree is not None:
            symbol = names.angular_acceleration(pulley)
            yield Solved(symbol=symbol, tree=tree, source=pulley)


def _from_rim(context: "Context", pulley: str) -> Expression | None:
    """The angular acceleration of a massless pulley from a string that runs over it."""
    setting, names = context.setting, context.names
    for string in setting.taut:
        for tie in setting.ties.spans(string):
            factor = tie.get(rim(pulley), 0) * setting.spins[pulley]
            others = {name: k for name, k in tie.items() if name != rim(pulley)}
            if abs(factor) == 1:
                run = rates(context, others)
                return (run if factor < 0 else opposite(run)) / names.radius(pulley)
    return None


def inner_unknowns(context: "Context") -> tuple[Symbol, ...]:
    """Tensions, rigid pulls and static frictions, each once, as far as they are determined."""
    return tuple(dict.fromkeys(s for n in _settled(context) for s in unknown_in(context, n)))


def _settled(context: "Context") -> list[str]:
    """The movers on which no force stays open, without what lies on its pad."""
    setting = context.setting
    movers = (n for n in setting.movers if not setting.force(Interaction.LANDING, n))
    return [name for name in movers if determined(context, name)]


def _forces(context: "Context", inner: tuple[Symbol, ...]) -> tuple[Solved, ...]:
    setting, names = context.setting, context.names
    moving = [name for name in setting.movers if not setting.rests(name)]
    unknown = [*inner, *(names.acceleration_of(name) for name in moving)]
    unknown += [names.angular_acceleration(pulley) for pulley in setting.spinning]
    if len(unknown) > MOST_UNKNOWNS:
        return ()
    found = linear_solution([*_newton(context), *_turning(context), *_strings(context)], unknown)
    trees = [found.get(symbol.id) for symbol in inner]
    if any(tree is None or _too_long(tree) for tree in trees):
        return ()
    return tuple(
        Solved(symbol=symbol, tree=tree, source="")
        for symbol, tree in zip(inner, trees, strict=True)
        if tree is not None
    )


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


def _own(context: "Context", name: str) -> Expression | None:
    """An acceleration from the forces on its own object, for a massless one from its string."""
    masses = context.motion.inertia_terms(name)
    if not masses:
        return _from_load(context, name) or _from_string(context, name)
    if not determined(context, name):
        return None
    terms = [
        t for t in context.motion.terms(name) if t.force.interaction is not Interaction.ROLLING
    ]
    if len(masses) > 1:
        return total(term.tree for term in terms) / total(masses)
    falls = [_free_fall(context, name, t.sign) for t in terms if _is_gravity(t)]
    others = [term.tree for term in terms if not _is_gravity(term)]
    turned_round = turned(total(others)) if others else None
    if turned_round is not None:
        return total([*falls, -(turned_round / masses[0])])
    return total([*falls, *([total(others) / masses[0]] if others else [])])


def _is_gravity(term: Term) -> bool:
    return term.force.interaction is Interaction.GRAVITY


def _free_fall(context: "Context", name: str, sign: int) -> Expression:
    """What gravity alone would give an object along its path: g, on a slope g sin θ."""
    sine = context.motion.sine(name)
    gravity = as_expression(context.names.gravity)
    return signed(sign, gravity if sine is None else product(gravity, sine))


def _from_load(context: "Context", name: str) -> Expression | None:
    """The acceleration of a massless pulley from what it carries."""
    loads = [load for load, pulley in context.setting.carried.items() if pulley == name]
    return as_expression(context.names.acceleration_of(loads[0])) if loads else None


def _from_string(context: "Context", name: str) -> Expression | None:
    """The acceleration of an object from a string on which it counts once, and nothing turns."""
    setting, names = context.setting, context.names
    for string in setting.taut:
        constraint = setting.ties.constraint(string)
        if any(other not in setting.senses for other in constraint):
            continue
        tie = {n: k * setting.senses[n] for n, k in constraint.items()}
        if abs(tie.get(name, 0)) == 1:
            return total(
                scaled(-k * tie[name], names.acceleration_of(n))
                for n, k in tie.items()
                if n != name and not setting.rests(n)
            )
    return None


def conditions(context: "Context", solved: FreeSolution) -> Iterator[tuple[Expression, Expression]]:
    """Two sides each of what is left for the tensions alone.

    A massless pulley's forces balance; what a string imposes, each acceleration put in by its
    own object's forces. What then says nothing more is left out.
    """
    motion, setting = context.motion, context.setting
    for name in _settled(context):
        if not motion.inertia_terms(name) and not setting.rests(name):
            yield _sides(motion.resultant(name))
    known = {item.symbol.id: item.tree for item in solved.accelerations}
    for string in setting.taut:
        for tie in setting.ties.spans(string):
            left, right = _sides(rates(context, tie))
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


def _newton(context: "Context") -> Iterator[Expression]:
    """Trees that vanish: resultant minus mass times acceleration of each mover."""
    motion = context.motion
    for name in _settled(context):
        terms = [
            t.tree for t in motion.terms(name) if t.force.interaction is not Interaction.ROLLING
        ]
        if not context.setting.rests(name):
            acceleration = context.names.acceleration_of(name)
            terms += [-product(mass, acceleration) for mass in motion.inertia_terms(name)]
        yield total(terms)


def _turning(context: "Context") -> Iterator[Expression]:
    """Trees that vanish: torques minus inertia times angular acceleration of each pulley."""
    names = context.names
    for pulley in context.setting.spinning:
        terms = _torques(context, pulley)
        if context.setting.pulleys[pulley].inertia:
            terms.append(-product(names.inertia(pulley), names.angular_acceleration(pulley)))
        yield total(terms)


def _torques(context: "Context", pulley: str) -> list[Expression]:
    """The torques of the strings and of the bearing, positive the way the pulley turns."""
    names = context.names
    pulls = context.motion.rim_pulls(pulley)
    terms = [signed(sign, product(pull, names.radius(pulley))) for sign, pull in pulls]
    if context.setting.pulleys[pulley].bearing_torque:
        terms.append(-names.bearing_torque(pulley))
    return terms


def _strings(context: "Context") -> Iterator[Expression]:
    """Trees that vanish: what each taut stretch of string and each rigid joint imposes."""
    setting, names = context.setting, context.names
    for string in setting.taut:
        for tie in setting.ties.spans(string):
            yield rates(context, tie)
    for load, pulley in setting.carried.items():
        if not setting.rests(load):
            yield names.acceleration_of(load) - names.acceleration_of(pulley)


def rates(context: "Context", tie: Mapping[str, int]) -> Expression:
    """The sum of accelerations that vanishes while a stretch of string keeps its length."""
    setting, names = context.setting, context.names
    terms: list[Expression] = []
    for name, factor in tie.items():
        if name in setting.senses:
            if not setting.rests(name):
                sense = setting.senses[name]
                terms.append(scaled(factor * sense, names.acceleration_of(name)))
            continue
        pulley = next(p for p in setting.rotors if rim(p) == name)
        if setting.holds(pulley):
            continue
        spun = product(names.radius(pulley), names.angular_acceleration(pulley))
        terms.append(scaled(factor * setting.spins[pulley], spun))
    return total(terms)
