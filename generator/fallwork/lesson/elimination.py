"""Solves the equations of motion in symbols, in an order that a person would choose.

Where the strings leave one acceleration, each inner force (tension, rigid pull) follows from one
object's equation; where they leave several, the strings' conditions give a small linear system,
which a computer algebra library solves. Takes a context, gives solved symbols as trees.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fallwork.lesson.algebra import linear_solution
from fallwork.lesson.expression import Expression, Symbol, as_expression, symbols_in
from fallwork.lesson.trees import product, scaled, signed, total
from fallwork.mechanics.solution import Interaction

if TYPE_CHECKING:
    from fallwork.lesson.context import Context


@dataclass(frozen=True, kw_only=True)
class Solved:
    """A symbol with the tree that gives it, and the object whose equation does."""

    symbol: Symbol
    tree: Expression
    source: str


def inner_forces(context: "Context") -> tuple[tuple[Solved, ...], tuple[Solved, ...]]:
    """Each inner force from the first equation that has no other unknown; then the checks.

    Weights come before carts, because their equations are the shortest.
    """
    known: set[str] = set()
    found: list[Solved] = []
    open_objects = _order(context)
    progress = True
    while progress:
        progress = False
        for name in list(open_objects):
            unknown = [s for s in _inner_symbols(context, name) if s.id not in known]
            if len(unknown) == 1:
                found.append(_from_equation(context, name, unknown[0]))
                known.add(unknown[0].id)
                open_objects.remove(name)
                progress = True
    checks = [
        _from_equation(context, name, symbols[0])
        for name in open_objects
        if (symbols := _inner_symbols(context, name))
    ]
    return tuple(found), tuple(checks)


def _order(context: "Context") -> list[str]:
    setting = context.setting
    tied = set(setting.senses)
    return [
        *(name for name in setting.hanging if name in tied),
        *setting.sliders,
        *setting.lifts,
        *setting.rotors,
    ]


def _inner_symbols(context: "Context", name: str) -> list[Symbol]:
    """The unknown forces in one object's equation, each once."""
    trees = (
        [tree for _, tree in _rim(context, name)]
        if name in context.setting.rotors
        else [term.size for term in context.motion.inner(name)]
    )
    return list(dict.fromkeys(s for tree in trees for s in symbols_in(tree)))


def _rim(context: "Context", pulley: str) -> list[tuple[int, Expression]]:
    from fallwork.lesson.steps.forces import rim_pulls

    return list(rim_pulls(context, pulley))


def _from_equation(context: "Context", name: str, symbol: Symbol) -> Solved:
    if name in context.setting.rotors and name not in context.setting.movers:
        return _from_rotor(context, name, symbol)
    return Solved(symbol=symbol, tree=_from_mover(context, name, symbol), source=name)


def _from_mover(context: "Context", name: str, symbol: Symbol) -> Expression:
    """The symbol from Σ F = m a, in the shape in which it is usually written."""
    motion = context.motion
    acceleration = motion.acceleration_tree(name)
    mine = [t for t in motion.inner(name) if symbol in set(symbols_in(t.size))]
    rest = [
        t
        for t in motion.terms(name)
        if t not in mine and t.force.interaction is not Interaction.ROLLING
    ]
    sign = mine[0].sign
    times = _multiplicity(mine[0].size)
    masses = [m for m in (motion.mass_term(name), motion.rolling_mass(name)) if m is not None]
    gravity = [t for t in rest if t.force.interaction is Interaction.GRAVITY]
    if len(rest) == len(gravity) == 1 and len(masses) == 1 and not motion.sine(name):
        inside = signed(-gravity[0].sign * sign, context.names.gravity)
        inside = total([inside, signed(sign, acceleration)])
        return _over(product(masses[0], inside), times)
    terms = [signed(-t.sign * sign, t.size) for t in rest]
    if masses:
        terms.insert(0, signed(sign, product(total(masses), acceleration)))
    return _over(total(terms), times)


def _multiplicity(size: Expression) -> int:
    from fallwork.lesson.expression import Number, Product

    if isinstance(size, Product) and isinstance(size.factors[0], Number):
        return size.factors[0].value
    return 1


def _over(tree: Expression, times: int) -> Expression:
    return tree if times == 1 else tree / times


def _from_rotor(context: "Context", pulley: str, symbol: Symbol) -> Solved:
    """One tension at a pulley that takes a torque from the other one."""
    motion = context.motion
    pulls = _rim(context, pulley)
    sign = next(s for s, tree in pulls if symbol in set(symbols_in(tree)))
    terms = [signed(-s * sign, tree) for s, tree in pulls if symbol not in set(symbols_in(tree))]
    rim = context.setting.rim(pulley)
    inertia, drag = motion.rotor_inertia(pulley), motion.rotor_drag(pulley)
    if inertia is not None:
        terms.append(signed(sign, scaled(rim, product(inertia, context.names.acceleration))))
    if drag is not None:
        terms.append(signed(sign, drag))
    return Solved(symbol=symbol, tree=total(terms), source=pulley)


@dataclass(frozen=True, kw_only=True)
class FreeSolution:
    """The inner forces and the accelerations of a set-up with several independent motions."""

    forces: tuple[Solved, ...]
    accelerations: tuple[Solved, ...]


def solve_free(context: "Context") -> FreeSolution:
    """The forces from the givens; each acceleration from its object's equation or its string."""
    setting, names = context.setting, context.names
    inner = list(dict.fromkeys(s for n in setting.movers for s in _inner_symbols(context, n)))
    accelerations = [names.acceleration_of(name) for name in setting.movers]
    equations = [*_newton(context), *_strings(context)]
    solution = linear_solution(equations, [*inner, *accelerations])
    forces = tuple(Solved(symbol=s, tree=solution[s.id], source="") for s in inner)
    return FreeSolution(
        forces=forces,
        accelerations=tuple(
            Solved(symbol=symbol, tree=_own(context, name) or solution[symbol.id], source=name)
            for name, symbol in zip(setting.movers, accelerations, strict=True)
        ),
    )


def _own(context: "Context", name: str) -> Expression | None:
    """An acceleration from the forces on its own object, for a massless one from its string."""
    mass = context.motion.mass_term(name)
    if mass is None:
        return _from_string(context, name)
    rolling = context.motion.rolling_mass(name)
    inertia = total([m for m in (mass, rolling) if m is not None])
    terms = [
        t.tree for t in context.motion.terms(name) if t.force.interaction is not Interaction.ROLLING
    ]
    return total(terms) / inertia


def _from_string(context: "Context", name: str) -> Expression | None:
    """The acceleration of an object from a string on which it counts once."""
    setting, names = context.setting, context.names
    for string in setting.taut:
        tie = {n: k * setting.senses[n] for n, k in setting.constraint(string).items()}
        if abs(tie.get(name, 0)) == 1:
            return total(
                scaled(-k * tie[name], names.acceleration_of(n))
                for n, k in tie.items()
                if n != name
            )
    return None


def _newton(context: "Context") -> Iterator[Expression]:
    """Trees that vanish: resultant minus mass times acceleration of each mover."""
    motion = context.motion
    for name in context.setting.movers:
        terms = [
            t.tree for t in motion.terms(name) if t.force.interaction is not Interaction.ROLLING
        ]
        for mass in (motion.mass_term(name), motion.rolling_mass(name)):
            if mass is not None:
                terms.append(-product(mass, context.names.acceleration_of(name)))
        yield total(terms)


def _strings(context: "Context") -> Iterator[Expression]:
    """Trees that vanish: what each taut string and each rigid joint imposes."""
    setting, names = context.setting, context.names
    for string in setting.taut:
        yield total(
            scaled(k * setting.senses[n], names.acceleration_of(n))
            for n, k in setting.constraint(string).items()
        )
    for load, pulley in setting.carried.items():
        yield as_expression(names.acceleration_of(load)) - names.acceleration_of(pulley)
