"""Limiting cases where one acceleration settles all others."""

from collections.abc import Iterator, Sequence

from fallwork.lesson.context import Context
from fallwork.lesson.document import Relation
from fallwork.lesson.expression import (
    Expression,
    Function,
    Negative,
    Number,
    Operand,
    Product,
    Quotient,
    Ref,
    Sum,
    Symbol,
    as_expression,
)
from fallwork.lesson.steps.limiting import EXTREME, Cases, Limit, arrow, value_at
from fallwork.lesson.trees import ZERO, product, rebuilt, scaled, signed, total
from fallwork.lesson.words import Part, listing, say


def tied_limits(cases: Cases) -> Iterator[Limit]:
    """The cases of a set-up that moves with one acceleration."""
    context = cases.context
    names, setting = context.names, context.setting
    if context.rubs:
        gone = list(dict.fromkeys(map(names.coefficient, context.motion.kinetic_frictions)))
        rubbing = listing([context.the(name) for name in context.motion.kinetic_frictions])
        yield from cases.without("frictionless", gone, the_slider=rubbing)
    body = context.driver or (context.weight if context.is_plain else None)
    if body is not None and len(setting.movers) > 1:
        yield from _balanced(cases, body)
        yield from _light(cases, body)
        yield _heavy(cases, body)
    yield from _slopes(cases)
    yield from _one_less(cases)
    yield from _light_wheels(cases)
    yield from _ideal(cases)


def pull_on(context: Context, body: str) -> Symbol | None:
    """The tension of the one string that holds an object."""
    terms = context.motion.inner(body)
    size = terms[0].size if len(terms) == 1 else None
    return size.symbol if isinstance(size, Ref) and body not in context.setting.carried else None


def _weight(context: Context, body: str) -> list[tuple[Symbol, Expression]]:
    """That the string just carries what hangs on it."""
    pull = pull_on(context, body)
    return [] if pull is None else [(pull, context.motion.gravity_on(body))]


def _balanced(cases: Cases, body: str) -> Iterator[Limit]:
    """The hanging mass with which nothing gets faster or slower."""
    context = cases.context
    sides = _sides(context)
    mass = context.names.mass(body)
    if ZERO in sides:
        return
    first, second = _sides(cases.known)
    none, one = (value_at(first, {mass.id: m}) - value_at(second, {mass.id: m}) for m in (0.0, 1.0))
    balance = -none / (one - none)
    if balance <= 0.0:
        return
    claims = [(context.names.acceleration, ZERO), *_weight(context, body)]
    yield cases.limit("balanced", {mass.id: balance}, claims, balance=arrow(*sides))


def _sides(context: Context) -> tuple[Expression, Expression]:
    """What drives and what holds back, as masses: the net driving force over g, in two parts."""
    motion, g = context.motion, context.names.gravity
    terms = [*motion.shares(), *(_over(drag, g) for drag in motion.drags())]
    parts = [part for term in terms for part in _opened(term)]
    minus = [part.body for part in parts if isinstance(part, Negative)]
    return total(part for part in parts if not isinstance(part, Negative)), total(minus)


def _over(tree: Expression, divisor: Operand) -> Expression:
    """A tree divided, in one fraction where it is one already."""
    if isinstance(tree, Negative):
        return -_over(tree.body, divisor)
    if isinstance(tree, Quotient):
        return tree.top / product(tree.bottom, divisor)
    return tree / divisor


def _opened(tree: Expression) -> Sequence[Expression]:
    return tree.terms if isinstance(tree, Sum) else (tree,)


def _light(cases: Cases, body: str) -> Iterator[Limit]:
    """A very light hanging mass."""
    context, known = cases.context, cases.known
    names, setting, motion = context.names, context.setting, context.motion
    mass, others = names.mass(body), [name for name in setting.movers if name != body]
    changes = {mass.id: setting.mass(body) / EXTREME}
    parts: dict[str, Part] = {"the_object": context.the(body), "light": arrow(mass, 0)}
    gone: dict[str, Expression] = {mass.id: ZERO}
    if len(others) == 1 and not setting.rotors and not setting.wheel_mass(others[0]):
        gone[names.mass(others[0]).id] = Number(value=1)  # what is left alone, its mass cancels
    full = _sign_first(rebuilt(motion.acceleration_in_full, gone))
    smooth = {names.coefficient(name).id: 0.0 for name in motion.kinetic_frictions}
    drive = value_at(total(known.motion.shares()), {mass.id: 0.0, **smooth})
    drive *= float(setting.apparatus.gravity)
    grip = _grip(known)
    if not setting.starts_moving and grip and abs(drive) <= grip:
        words = say("limits.rests", condition=start_condition(context))
        yield cases.limit("light", changes, (), words, **parts)
    elif not setting.starts_moving and drive < 0.0 and grip:
        the = listing([context.the(name) for name in others])
        key = "goes-back" if len(others) == 1 else "goes-back-several"
        words = say(f"limits.{key}", the_object=the)
        yield cases.limit("light", changes, (), words, **parts)
    else:
        claims = [(names.acceleration, full)]
        claims += _weight(context, body) if full == ZERO else []
        yield cases.limit("light", changes, claims, **parts)


def _sign_first(tree: Expression) -> Expression:
    """A product of a negative factor with the sign in front."""
    if isinstance(tree, Product) and isinstance(tree.factors[0], Negative):
        return -product(tree.factors[0].body, *tree.factors[1:])
    return tree


def _grip(known: Context) -> float:
    """The most that static friction and bearings can hold, N."""
    setting, motion = known.setting, known.motion
    frictions = (
        float(setting.ratio(name)) * value_at(motion.largest_friction(name), {})
        for name in setting.sliders
    )
    return sum(frictions) + sum(value_at(-drag, {}) for drag in motion.drags())


def start_condition(context: Context) -> Relation:
    """The condition under which a run starts from rest."""
    drives, holds = _sides(context)
    static: dict[str, Expression] = {
        context.names.coefficient(name).id: as_expression(context.names.static_coefficient(name))
        for name in context.motion.kinetic_frictions
    }
    return Relation(sides=(drives, rebuilt(holds, static)), signs=(">",))


def _heavy(cases: Cases, body: str) -> Limit:
    """A very heavy hanging mass: it falls freely, and the others go with it."""
    context = cases.context
    names, setting = context.names, context.setting
    others = [name for name in setting.movers if name != body]
    changes = {names.mass(body).id: EXTREME * sum(map(setting.mass, others))}
    sense = setting.senses[body]
    common = scaled(1 / setting.ratio(body), names.gravity)
    claims: list[tuple[Symbol, Expression]] = [(names.acceleration, signed(sense, common))]
    farthest = max(others, key=setting.ratio)
    if setting.ratio(farthest) != setting.ratio(body):
        far = signed(sense, scaled(setting.ratio(farthest), common))
        claims.append((names.acceleration_of(farthest), far))
    if len(others) == 1 and (sense > 0 or setting.starts_moving):
        claims += _pulled(context, others[0], sense)
    return cases.limit("heavy", changes, claims, the_object=context.the(body))


def _pulled(context: Context, name: str, sense: int) -> Iterator[tuple[Symbol, Expression]]:
    """The tension that gives an object the acceleration g, in the lesson's sense or against it."""
    pull = pull_on(context, name)
    if pull is None:
        return
    sign = context.motion.inner(name)[0].sign
    needed = context.motion.gravity_on(name)  # its mass times g
    outer = [signed(-sign, term) for term in _outer_in_full(context, name)]
    if outer == [needed]:
        yield pull, product(2, context.names.mass(name), context.names.gravity)
    else:
        yield pull, total([signed(sign * sense, needed), *outer])


def _outer_in_full(context: Context, name: str) -> Iterator[Expression]:
    """What else acts on an object along its path, as signed trees from the givens."""
    motion = context.motion
    for term in motion.outer(name):
        rubs = term.size == motion.frictions.get(name)
        yield signed(term.sign, motion.friction_in_full(name) if rubs else term.size)


def _slopes(cases: Cases) -> Iterator[Limit]:
    """A slope made level and made upright: the known formulas come back."""
    context = cases.context
    formula, names = context.motion.acceleration_in_full, context.names
    for surface in context.setting.apparatus.surfaces:
        riders = [n for n in context.setting.sliders if names.surface(n) == surface]
        if not any(context.motion.sine(name) for name in riders):
            continue
        theta = names.slope(surface)
        parts: dict[str, Part] = {"the_surface": context.the(surface)}
        if context.driver is not None:
            level = _with_slope(formula, theta, sine=0, cosine=1)
            yield cases.limit("level", {theta.id: 0.0}, [(names.acceleration, level)], **parts)
        steep = _with_slope(formula, theta, sine=1, cosine=0)
        mark = "upright-pair" if context.is_plain else "upright"
        yield cases.limit(mark, {theta.id: 90.0}, [(names.acceleration, steep)], **parts)
        return


def _with_slope(tree: Expression, theta: Symbol, *, sine: int, cosine: int) -> Expression:
    values: dict[Expression, Expression] = {
        Function(name="sin", argument=as_expression(theta)): Number(value=sine),
        Function(name="cos", argument=as_expression(theta)): Number(value=cosine),
    }
    return rebuilt(tree, {}, values)


def _one_less(cases: Cases) -> Iterator[Limit]:
    """A train without its last cart: the formula of the others."""
    context, setting = cases.context, cases.context.setting
    if len(setting.sliders) < 2:
        return
    rear = next((n for n in setting.sliders if len(setting.strings_at(n)) == 1), None)
    if rear is not None and setting.ratio(rear) == 1 and not setting.wheel_mass(rear):
        yield from cases.without("less", [context.names.mass(rear)], the_object=context.the(rear))


def _light_wheels(cases: Cases) -> Iterator[Limit]:
    context, setting = cases.context, cases.context.setting
    wheeled = [name for name in setting.sliders if setting.wheel_mass(name)]
    if wheeled:
        masses = [context.names.wheel_mass(name) for name in wheeled]
        yield from cases.without("wheels", masses, the_object=listing([*map(context.the, wheeled)]))


def _ideal(cases: Cases) -> Iterator[Limit]:
    """Pulleys without inertia and without friction in their bearings."""
    names, setting = cases.context.names, cases.context.setting
    gone = [names.inertia(n) for n in setting.rotors if setting.pulleys[n].inertia]
    gone += [names.bearing_torque(n) for n in setting.rotors if setting.pulleys[n].bearing_torque]
    if gone:
        the = listing([cases.context.the(name) for name in setting.rotors])
        yield from cases.without("ideal", gone, the_pulley=the)
