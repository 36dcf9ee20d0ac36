"""For a choice of system: the energy account, the final speed from it, and where the energy is."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, Paragraph, Relation, Step, Working
from fallwork.lesson.expression import (
    Expression,
    Negative,
    Number,
    Operand,
    Product,
    Root,
    Sum,
    Symbol,
    as_expression,
)
from fallwork.lesson.steps.stores import on_the_way
from fallwork.lesson.steps.view import View
from fallwork.lesson.trees import half, half_of, product, rebuilt, scaled, total
from fallwork.lesson.words import Part, listing, say


def energy_step(view: View) -> Step:
    """The balance, what it leaves for the kinetic energy, and the energies on the way."""
    context = view.context
    blocks: list[Block] = [
        Paragraph(text=say("system.energy.balance")),
        Working(equations=(view.balance,)),
    ]
    if not view.carriers:
        blocks.append(Paragraph(text=say("system.energy.none-massless")))
    elif context.setting.tied:
        blocks += _gain(view)
        blocks += _speed(view)
        blocks += _shares(view)
    else:
        blocks += _each(view)
    blocks += on_the_way(view)
    return view.step("energy", say(f"system.energy.idea{view.again}"), blocks)


def _gain(view: View) -> Iterator[Block]:
    """The kinetic energy that works and potential energy leave."""
    context = view.context
    carriers = view.carriers
    both = listing([context.the(name) for name in carriers])
    case = {1: "one", 2: "two"}.get(len(carriers), "all")
    if len(carriers) == 1 and view.turning:
        case = "rotation" if view.massive or context.setting.starts_moving else "turning"
    if context.setting.starts_moving:
        case = f"{'all' if case == 'two' else case}-push"
    yield Paragraph(
        text=say(f"system.energy.gain-{case}", both=both, the_object=context.the(carriers[0]))
    )
    yield Working(equations=(context.result(view.kinetic_symbol, view.gain, "J"),))


# The final speed.


def _own(view: View) -> bool:
    """Whether the system is one object that has a speed symbol of its own."""
    return not view.together


def _end_speed(view: View) -> Symbol:
    names = view.context.names
    return names.speed_of(view.massive[0]) if _own(view) else names.speed


def _start_speed(view: View) -> Symbol | None:
    context = view.context
    if not context.setting.starts_moving:
        return None
    if _own(view):
        return context.names.start_speed_of(view.massive[0])
    return context.names.start_speed


def moving_mass(view: View) -> Expression:
    """What half the squared common speed is multiplied by in the kinetic energy."""
    if _own(view):
        return as_expression(view.context.names.mass(view.massive[0]))
    rotors = tuple(name for name in view.turning if name in view.context.setting.rotors)
    return total(view.context.motion.inertia_of(view.moving, rotors))


def _squares(view: View) -> Expression:
    """v², or v² − v₀²."""
    final, start = as_expression(_end_speed(view)) ** 2, _start_speed(view)
    return final if start is None else final - as_expression(start) ** 2


def _speed(view: View) -> Iterator[Block]:
    """The final speed from the kinetic energy, with numbers and then in full."""
    context = view.context
    energy, mass = view.kinetic_symbol, moving_mass(view)
    if context.setting.turns:
        yield from _stops(view, energy, mass)
        return
    kinetic = Relation(sides=(as_expression(energy), half_of(mass, _squares(view))), signs=("=",))
    speed, start = _end_speed(view), _start_speed(view)
    parts: dict[str, Part] = {"kinetic": kinetic, "v": context.names.speed}
    yield Paragraph(text=say(f"system.energy.{_lead(view)}", **parts))
    yield Working(equations=(_speed_equation(view, energy, mass, start, speed),))
    yield Paragraph(text=say("system.energy.in-full"))
    full = Root(body=_with_start(start, _gain_over_mass(view)))
    yield Working(equations=(Equation(left=as_expression(speed), right=full, unit="m/s"),))
    outside = listing([context.the(name) for name in view.outside])
    yield Paragraph(text=say(f"system.energy.{_comment(view)}", the_pulley=outside))


def _stops(view: View, energy: Symbol, mass: Expression) -> Iterator[Block]:
    """At a turning point all kinetic energy of the start is gone."""
    start = _start_speed(view)
    assert start is not None
    rests = "-rest" if view.context.setting.rests_at_end else ""
    lost = -half_of(mass, as_expression(start) ** 2)
    yield Paragraph(text=say(f"system.energy.stops{rests}"))
    yield Working(equations=(view.context.result(energy, lost, "J"),))


def _lead(view: View) -> str:
    if len(view.carriers) == 1:
        return "speed-one"
    return "speed-all-simple" if view.context.same_pace else "speed-all-ratios"


def _comment(view: View) -> str:
    if view.first:
        return "same"
    if not _all_inside(view):
        return "same-later"
    if view.outside:
        return "same-outside"
    if not view.context.names.stretches:
        return "same-later"
    return "same-again" if len(view.context.names.stretches) == 1 else "same-again-several"


def _all_inside(view: View) -> bool:
    """Whether no tension enters the account."""
    return set(view.moving) == set(view.context.setting.movers) and view.whole


def _speed_equation(
    view: View, energy: Symbol, mass: Expression, start: Symbol | None, speed: Symbol
) -> Equation:
    """The root, with a letter for a long mass where the numbers are put in."""
    context = view.context
    gained = product(2, energy) / mass
    equation = context.result(speed, Root(body=_with_start(start, gained)), "m/s")
    whole = not _own(view) and mass == context.motion.inertia
    if not equation.numbers or not whole:
        return equation
    letter = context.names.moving_mass(context.value(mass))
    short = Root(body=_with_start(start, product(2, energy) / as_expression(letter)))
    return Equation(
        left=equation.left, right=equation.right, forms=(short,), unit="m/s", numbers=True
    )


def _with_start(start: Symbol | None, gained: Expression) -> Expression:
    return gained if start is None else as_expression(start) ** 2 + gained


def _gain_over_mass(view: View) -> Expression:
    """Twice the net force times distance over the mass, with the distance taken out of the sum."""
    context = view.context
    if _own(view):
        distance = context.motion.distance_tree(view.massive[0])
        ratio = context.setting.ratio(view.massive[0])
        forces = [scaled(1 / ratio, push) for push in _per_distance(view)]
    else:
        distance, forces = as_expression(context.names.distance), _per_distance(view)
    push = _gravity_out(context, _ordered(context, total(forces)))
    return product(2, push, distance) / moving_mass(view)


def _gravity_out(context: Context, forces: Expression) -> Expression:
    """A sum in which g is a factor of every term, with g taken out of it."""
    terms = forces.terms if isinstance(forces, Sum) else ()
    g = as_expression(context.names.gravity)
    bodies = [term.body if isinstance(term, Negative) else term for term in terms]
    shared = [body for body in bodies if isinstance(body, Product) and g in body.factors]
    if not bodies or len(shared) < len(bodies):
        return forces
    return product(rebuilt(forces, {context.names.gravity.id: Number(value=1)}), g)


def _ordered(context: Context, forces: Expression) -> Expression:
    """The terms in the order in which Newton's second law had them, where they are the same."""
    if not context.setting.tied:
        return forces
    before = context.motion.driving
    terms, known = ([*tree.terms] if isinstance(tree, Sum) else [tree] for tree in (forces, before))
    same = len(terms) == len(known) and all(term in known for term in terms)
    return before if same else forces


def _per_distance(view: View) -> list[Expression]:
    """What the works leave for each unit of the common distance."""
    one: dict[str, Expression] = {view.context.names.distance.id: Number(value=1)}
    return [rebuilt(tree, one) for tree in view.gain_in_full]


# Kinetic energies one by one.


def _shares(view: View) -> Iterator[Block]:
    """The kinetic energy of each member, where there are several."""
    if view.together:
        yield Paragraph(text=say("system.energy.shares"))
        yield Working(equations=tuple(_kinetic_equations(view)))


def _each(view: View) -> Iterator[Block]:
    """The kinetic energies where no common speed ties them, and the account as their check."""
    context = view.context
    yield Paragraph(text=say("system.energy.each" if view.together else "system.energy.each-one"))
    equations = list(_kinetic_equations(view))
    yield Working(equations=tuple(equations))
    symbol = view.kinetic_symbol
    if view.together:
        parts = [equation.left for equation in equations]
        yield Paragraph(text=say("system.energy.each-agrees-all"))
        yield Working(equations=(context.result(symbol, total(parts), "J"),))
        yield Paragraph(text=say("system.energy.each-agrees-then"))
    else:
        yield Paragraph(text=say("system.energy.each-agrees"))
    yield Working(equations=(context.result(symbol, view.gain, "J"),))


def _kinetic_equations(view: View) -> Iterator[Equation]:
    context = view.context
    names, motion = context.names, context.motion
    for name in view.massive:
        energy = _times_square(names.mass(name), _own_squares(context, name))
        yield context.result(names.kinetic(name), energy, "J")
    for name in view.turning:
        rolling = motion.rolling_mass(name) if name in view.massive else None
        if rolling is not None:
            energy = _times_square(rolling, _own_squares(context, name))
            yield context.result(names.rotational(name), energy, "J")
        else:
            yield context.result(names.rotational(name), _spinning(context, name), "J")


def _times_square(mass: Operand, square: Expression) -> Expression:
    """Half a mass times a square, with the sign in front."""
    body = square.body if isinstance(square, Negative) else square
    energy = half_of(as_expression(mass), body)
    return -energy if isinstance(square, Negative) else energy


def _own_squares(context: Context, name: str) -> Expression:
    """v², or v² − v₀² where the phase starts with a speed; at a turning point v is 0."""
    if context.setting.turns:
        return -(as_expression(context.names.start_speed_of(name)) ** 2)
    final = as_expression(context.names.speed_of(name)) ** 2
    if not context.setting.first_speed(name):
        return final
    return final - as_expression(context.names.start_speed_of(name)) ** 2


def _spinning(context: Context, pulley: str) -> Expression:
    """½ I (v/r)², or the difference of two of them; ½ I ω² where no common speed is there."""
    if not context.setting.tied:
        return _spinning_freely(context, pulley)
    names, rim = context.names, context.setting.rim(pulley)
    inertia = as_expression(names.inertia(pulley))
    final = (scaled(rim, names.speed) / names.radius(pulley)) ** 2
    if not context.setting.starts_moving:
        return half(inertia, final)
    if context.setting.turns:
        start = (scaled(rim, names.start_speed) / names.radius(pulley)) ** 2
        return -half(inertia, start)
    start = (scaled(rim, names.start_speed) / names.radius(pulley)) ** 2
    return half(inertia, final - start)


def _spinning_freely(context: Context, pulley: str) -> Expression:
    names = context.names
    square = as_expression(names.spin(pulley)) ** 2
    if context.setting.phase.start_angular_velocities.get(pulley):
        square = square - as_expression(names.start_spin(pulley)) ** 2
    return half(names.inertia(pulley), square)
