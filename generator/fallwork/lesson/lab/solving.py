"""Solves the equations of motion in symbols, in an order that a person would choose.

Where the strings leave one acceleration, each inner force (tension, rigid pull, static friction)
follows from one object's equation. Takes a context, gives solved symbols as trees; set-ups with
several independent motions are ``free``'s.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fallwork.lesson.expression import (
    Expression,
    Number,
    Product,
    Symbol,
    symbols_in,
)
from fallwork.lesson.lab.setup import rim
from fallwork.lesson.trees import product, scaled, signed, total
from fallwork.mechanics.solution import Interaction

if TYPE_CHECKING:
    from fallwork.lesson.lab.equations import Equations, Term


@dataclass(frozen=True)
class Solved:
    """A symbol with the tree that gives it, and the object whose equation does."""

    symbol: Symbol
    tree: Expression
    source: str = ""


def inner_forces(lab: "Equations") -> tuple[tuple[Solved, ...], tuple[Solved, ...]]:
    """Each inner force from the first equation that has no other unknown; then the checks.

    Weights come before carts, because their equations are the shortest. What the apparatus
    doesn't determine is left out.
    """
    known: set[str] = set()
    found: list[Solved] = []
    open_objects = [name for name in _order(lab) if determined(lab, name)]
    progress = True
    while progress:
        progress = False
        for name in list(open_objects):
            unknown = [s for s in unknown_in(lab, name) if s.id not in known]
            if len(unknown) == 1:
                found.append(_from_equation(lab, name, unknown[0]))
                known.add(unknown[0].id)
                open_objects.remove(name)
                progress = True
    checks = [
        _from_equation(lab, name, symbols[0])
        for name in open_objects
        if (symbols := unknown_in(lab, name)) and all(s.id in known for s in symbols)
    ]
    return tuple(found), tuple(checks)


def unknown_in(lab: "Equations", name: str) -> list[Symbol]:
    """The unknown forces in one object's equation, each once; ``rim(pulley)`` is its turning."""
    pulley = _turning(lab, name)
    if pulley:
        return list(dict.fromkeys(symbol for _, symbol in lab.rim_pulls(pulley)))
    trees = [term.size for term in lab.inner(name)]
    if name in lab.frictions and not lab.sliding(name):
        trees.append(lab.frictions[name])
    return list(dict.fromkeys(s for tree in trees for s in symbols_in(tree)))


def _turning(lab: "Equations", name: str) -> str:
    """The pulley whose turning an entry stands for; "" for an object's motion along its path."""
    return next((pulley for pulley in lab.rotors if rim(pulley) == name), "")


def determined(lab: "Equations", name: str) -> bool:
    """Whether the solver gives all forces on an object; a rotor at rest may hold any torque."""
    pulley = _turning(lab, name)
    if pulley and lab.holds(pulley) and lab.pulleys[pulley].bearing_torque:
        return False
    return not any(force.size is None for force in lab.forces_on(pulley or name))


def _order(lab: "Equations") -> list[str]:
    turning = [rim(pulley) for pulley in lab.rotors]
    return [*lab.hanging, *lab.sliders, *lab.lifts, *turning]


def _from_equation(lab: "Equations", name: str, symbol: Symbol) -> Solved:
    pulley = _turning(lab, name)
    if pulley:
        return _from_rotor(lab, pulley, symbol)
    return Solved(symbol, _from_mover(lab, name, symbol), name)


def _from_mover(lab: "Equations", name: str, symbol: Symbol) -> Expression:
    """The symbol from Σ F = m a, in the shape in which it is usually written."""
    terms = [t for t in lab.terms(name) if t.force.interaction is not Interaction.ROLLING]
    mine = [t for t in terms if symbol in set(symbols_in(t.size))]
    rest = [t for t in terms if t not in mine]
    sign, times = mine[0].sign, _multiplicity(mine[0].size)
    short = _as_weight(lab, name, rest, sign)
    if short is not None:
        return _over(short, times)
    inertia = product(total(lab.inertia_terms(name)), lab.acceleration_tree(name))
    return _over(total([signed(sign, inertia), *_others(rest, sign)]), times)


def _others(rest: "list[Term]", sign: int) -> list[Expression]:
    return [signed(-term.sign * sign, term.size) for term in rest]


def _as_weight(lab: "Equations", name: str, rest: "list[Term]", sign: int) -> Expression | None:
    """m (g ± a), where gravity is the only other force on what hangs."""
    gravity = [t for t in rest if t.force.interaction is Interaction.GRAVITY]
    if len(rest) != 1 or len(gravity) != 1 or len(lab.inertia_terms(name)) != 1:
        return None
    if lab.sine(name) is not None:
        return None
    acceleration = lab.acceleration_tree(name)
    g = signed(-gravity[0].sign * sign, lab.gravity)
    return product(lab.mass(name), total([g, signed(sign, acceleration)]))


def _multiplicity(size: Expression) -> int:
    if isinstance(size, Product) and isinstance(size.factors[0], Number):
        return size.factors[0].value
    return 1


def _over(tree: Expression, times: int) -> Expression:
    return tree if times == 1 else tree / times


def _from_rotor(lab: "Equations", pulley: str, symbol: Symbol) -> Solved:
    """One tension at a pulley that takes a torque from the other one."""
    pulls = list(lab.rim_pulls(pulley))
    sign = next(s for s, pull in pulls if pull == symbol)
    terms = [signed(-s * sign, pull) for s, pull in pulls if pull != symbol]
    inertia, drag = lab.rotor_inertia(pulley), lab.rotor_drag(pulley)
    if inertia is not None and lab.moves:
        spun = scaled(lab.rim(pulley), lab.acceleration)
        terms.append(signed(sign, product(inertia, spun)))
    if drag is not None:
        terms.append(signed(sign * lab.onward, drag))
    return Solved(symbol, total(terms), pulley)
