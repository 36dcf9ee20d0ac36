"""Limiting cases of the printed formulas: each is derived from its tree and evaluated there."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Relation, Text
from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Operand,
    Symbol,
    as_expression,
    evaluate,
)
from fallwork.lesson.trees import rebuilt, total, with_values
from fallwork.lesson.words import join, noun, say, sentence, the

EXTREME = 1000  # how many times heavier one object is made to look at a limiting case


def limit_items(context: Context) -> tuple[Text, ...]:
    """What the limits step lists; empty where there is no formula for one acceleration."""
    if not context.setting.tied or not context.moves_freely or not context.speeds_up:
        return ()
    return tuple(_items(context))


def _items(context: Context) -> Iterator[Text]:
    yield say("limits.units", a=context.names.acceleration)
    if context.is_plain:
        if not context.setting.slope(context.slider):
            yield _light(context)
        yield _heavy_plain(context)
    elif context.driver is not None:
        yield _heavy(context, context.driver)
    if context.is_pair:
        yield _balanced(context)
    yield from _level(context)
    yield from _ideal(context)


def _arrow(left: Operand, right: Operand) -> Relation:
    return Relation(sides=(as_expression(left), as_expression(right)), signs=("→",))


def _light(context: Context) -> Text:
    """A very light weight on a level track."""
    names, motion = context.names, context.motion
    weight = names.mass(context.weight)
    parts = {"the_slider": the(context.slider), "the_hanging": the(context.weight)}
    if not motion.frictions:
        far = _arrow(weight, 0)
        return join(
            say("limits.light-frictionless", light=far, **parts), *_evaluated_light(context)
        )
    threshold = Relation(
        sides=(motion.gravity_on(context.weight), motion.largest_friction(context.slider)),
        signs=(">",),
    )
    static = context.setting.bodies[context.slider].static_friction is not None
    return say(
        "limits.light-friction-static" if static else "limits.light-friction",
        relation=threshold,
        weight=motion.gravity_on(context.weight),
        a=names.acceleration,
        **parts,
    )


def _heavy_plain(context: Context) -> Text:
    """A very heavy weight that pulls one cart."""
    names, motion = context.names, context.motion
    slider, weight = context.slider, context.weight
    gravity = motion.gravity_on(slider)
    limit = total([gravity, *(-tree for tree in _resistances(context, slider))])
    text = say(
        "limits.heavy",
        the_slider=the(slider),
        the_hanging=the(weight),
        heavy=_arrow(as_expression(names.mass(slider)) / names.mass(weight), 0),
        a_limit=_arrow(names.acceleration, names.gravity),
        friction_too=sentence("limits.friction-too") if motion.frictions else "",
        and_friction=sentence("limits.and-friction") if motion.frictions else "",
        T_limit=_arrow(names.tension(context.string, weight), limit),
    )
    return join(text, *_evaluated_heavy(context))


def _resistances(context: Context, slider: str) -> Iterator[Expression]:
    """What else acts on a slider along its path, as signed trees from the givens."""
    motion = context.motion
    for term in motion.outer(slider):
        rubs = term.size == motion.frictions.get(slider)
        size = motion.friction_in_full(slider) if rubs else term.size
        yield size if term.sign > 0 else -size


def _heavy(context: Context, driver: str) -> Text:
    """One object that drives the others made very heavy: it falls freely."""
    names, motion = context.names, context.motion
    parts = {"the_object": the(driver), "object": noun(driver)}
    mine = names.acceleration_of(driver) if len(context.setting.movers) > 1 else names.acceleration
    text = say("limits.heavy-driver", a_limit=_arrow(mine, names.gravity), **parts)
    if not context.numbers:
        return text
    values = {names.mass(driver).id: EXTREME * context.setting.mass(driver)}
    ratio = context.setting.ratio(driver)
    a = float(ratio) * evaluate(with_values(motion.acceleration_in_full, values))
    return join(
        text,
        say("limits.evaluated-driver", factor=EXTREME, a=context.amount(a, "m/s²"), **parts),
    )


def _balanced(context: Context) -> Text:
    """Two hanging weights of equal mass, and of very different ones."""
    first, second = (context.names.mass(name) for name in context.setting.hanging)
    equal = Relation(sides=(as_expression(first), as_expression(second)), signs=("→",))
    return say("limits.balanced", equal=equal, a_limit=_arrow(context.names.acceleration, 0))


def _level(context: Context) -> Iterator[Text]:
    """A slope made level and made vertical: the known formulas come back."""
    a, formula = context.names.acceleration, context.motion.acceleration_in_full
    for surface in context.setting.apparatus.surfaces:
        sliders = [n for n in context.setting.sliders if context.names.surface(n) == surface]
        if not any(context.setting.slope(name) for name in sliders):
            continue
        theta = context.names.slope(surface)
        level = _with_slope(formula, theta, sine=0, cosine=1)
        steep = _with_slope(formula, theta, sine=1, cosine=0)
        yield say(
            "limits.level",
            the_surface=the(surface),
            level=_arrow(theta, 0),
            a_level=_arrow(a, level),
            a_steep=_arrow(a, steep),
        )


def _with_slope(tree: Expression, theta: Symbol, *, sine: int, cosine: int) -> Expression:
    values: dict[Expression, Expression] = {
        Function(name="sin", argument=as_expression(theta)): Number(value=sine),
        Function(name="cos", argument=as_expression(theta)): Number(value=cosine),
    }
    return rebuilt(tree, {}, values)


def _ideal(context: Context) -> Iterator[Text]:
    """A pulley without inertia and without friction in its bearing."""
    names, setting = context.names, context.setting
    formula = context.motion.acceleration_in_full
    for pulley in setting.rotors:
        gone: dict[str, Expression] = {}
        if setting.pulleys[pulley].inertia:
            gone[names.inertia(pulley).id] = Number(value=0)
        if setting.pulleys[pulley].bearing_torque:
            gone[names.bearing_torque(pulley).id] = Number(value=0)
        yield say(
            "limits.ideal-pulley",
            the_pulley=the(pulley),
            a_limit=_arrow(names.acceleration, rebuilt(formula, gone)),
        )


def _at_weight(context: Context, mass: float) -> tuple[float, float]:
    """Acceleration and tension by the printed formulas for another hanging mass."""
    names, motion = context.names, context.motion
    values = {names.mass(context.weight).id: mass}
    a = evaluate(with_values(motion.acceleration_in_full, values))
    return a, mass * (evaluate(as_expression(names.gravity)) - a)


def _evaluated_heavy(context: Context) -> Iterator[Text]:
    if context.numbers:
        a, tension = _at_weight(context, context.setting.mass(context.slider) * EXTREME)
        yield say(
            "limits.evaluated",
            factor=EXTREME,
            the_slider=the(context.slider),
            a=context.amount(a, "m/s²"),
            T=context.amount(tension, "N"),
        )


def _evaluated_light(context: Context) -> Iterator[Text]:
    if context.numbers:
        mass = context.setting.mass(context.slider) / EXTREME
        a, tension = _at_weight(context, mass)
        share = tension / (mass * evaluate(as_expression(context.names.gravity)))
        yield say(
            "limits.evaluated-light",
            factor="one thousandth",
            the_slider=the(context.slider),
            a=context.amount(a, "m/s²"),
            share=context.amount(100 * share, "%"),
        )
