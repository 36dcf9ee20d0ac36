"""Units and limiting cases of the printed formulas: each is derived from its tree and evaluated."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Paragraph, Relation, Step, Text, Working
from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Operand,
    Symbol,
    as_expression,
    evaluate,
)
from fallwork.lesson.free import solve_free
from fallwork.lesson.trees import ZERO, rebuilt, total, with_values
from fallwork.lesson.words import Part, join, listing, say, sentence, title

EXTREME = 1000  # how many times heavier one object is made to look at a limiting case


def limits_step(context: Context) -> Step | None:
    """Units and limiting cases; with numbers the formulas are evaluated there."""
    setting = context.setting
    if not context.moves_freely or not context.speeds_up or setting.constant:
        return None
    blocks = tuple(_blocks(context) if setting.tied else _free_blocks(context))
    if not blocks:
        return None
    return Step(
        id="limits",
        topic="limits",
        title=title("limits.title"),
        idea=say("limits.idea"),
        blocks=blocks,
    )


def _blocks(context: Context) -> Iterator[Block]:
    yield Paragraph(text=say("limits.units", a=context.names.acceleration))
    if context.is_plain and context.driver is not None:
        if not context.setting.slope(context.slider):
            yield Paragraph(text=_light(context))
        yield Paragraph(text=_heavy_plain(context))
    elif context.driver is not None:
        yield Paragraph(text=_heavy(context, context.driver))
    if context.is_pair:
        yield Paragraph(text=_balanced(context))
    if context.is_plain and context.driver is None:
        yield from _lone(context)
    yield from _slopes(context)
    yield from _one_less(context)
    yield from _light_wheels(context)
    yield from _ideal(context)


def _free_blocks(context: Context) -> Iterator[Block]:
    """Several free motions: the units of the tensions, and one weight made very heavy."""
    solved = solve_free(context)
    driver = context.driver
    if not solved.forces or driver is None or context.setting.rotors:
        return
    yield Paragraph(text=say("limits.units-free"))
    own = next(item for item in solved.accelerations if item.source == driver)
    the = context.the(driver)
    far = _arrow(own.symbol, context.names.gravity)
    text = say("limits.heavy-driver", a_limit=far, the_object=the)
    if context.numbers:
        values = {context.names.mass(driver).id: EXTREME * context.setting.mass(driver)}
        pulls = {s.symbol.id: evaluate(with_values(s.tree, values)) for s in solved.forces}
        amount = context.amount(evaluate(with_values(own.tree, values | pulls)), "m/s²")
        extra = say("limits.evaluated-free", factor=EXTREME, a=amount, the_object=the)
        text = join(text, extra)
    yield Paragraph(text=text)


def _arrow(left: Operand, right: Operand) -> Relation:
    return Relation(sides=(as_expression(left), as_expression(right)), signs=("→",))


def _case(context: Context, mark: str, formula: Expression, **parts: Part) -> Iterator[Block]:
    """A limiting case that leaves a formula of its own, evaluated where there are numbers."""
    named = {name: part for name, part in parts.items() if isinstance(part, str)}
    words = title(f"limits.{mark}-meaning", **named)
    symbol = context.names.limiting(mark, words, context.value(formula))
    yield Paragraph(text=say(f"limits.{mark}", **parts))
    yield Working(equations=(context.result(symbol, formula, "m/s²"),))


def _light(context: Context) -> Text:
    """A very light weight on a level track."""
    names, motion = context.names, context.motion
    parts = {"the_slider": context.the(context.slider), "the_hanging": context.the(context.weight)}
    if not motion.frictions:
        far = _arrow(names.mass(context.weight), 0)
        text = say("limits.light-frictionless", light=far, **parts)
        return join(text, *_evaluated_light(context))
    threshold = Relation(
        sides=(motion.gravity_on(context.weight), motion.largest_friction(context.slider)),
        signs=(">",),
    )
    static = names.static_coefficient(context.slider) != names.coefficient(context.slider)
    return say(
        "limits.light-friction-static" if static else "limits.light-friction",
        relation=threshold,
        weight=motion.gravity_on(context.weight),
        **parts,
    )


def _heavy_plain(context: Context) -> Text:
    """A very heavy weight that pulls one cart."""
    names, motion = context.names, context.motion
    slider, weight = context.slider, context.weight
    resistances = list(_resistances(context, slider))
    limit = total([motion.gravity_on(slider), *(-tree for tree in resistances)])
    text = say(
        "limits.heavy",
        the_slider=context.the(slider),
        the_hanging=context.the(weight),
        heavy=_arrow(as_expression(names.mass(slider)) / names.mass(weight), 0),
        a_limit=_arrow(names.acceleration, names.gravity),
        and_friction=_what_else(context),
        T_limit=_arrow(names.tension(context.string, weight), limit),
    )
    return join(text, *_evaluated_heavy(context))


def _what_else(context: Context) -> str:
    """What the tension has to do besides accelerating the slider."""
    slope = context.setting.slope(context.slider)
    uphill = bool(slope) and slope * context.setting.senses[context.slider] > 0
    if uphill:
        return sentence("limits.and-both" if context.rubs else "limits.and-slope")
    friction = sentence("limits.and-friction") if context.rubs else ""
    return friction + (sentence("limits.helped") if slope else "")


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
    mine = names.acceleration if driver in names.alike else names.acceleration_of(driver)
    the = context.the(driver)
    text = say("limits.heavy-driver", a_limit=_arrow(mine, names.gravity), the_object=the)
    if not context.numbers:
        return text
    values = {names.mass(driver).id: EXTREME * context.setting.mass(driver)}
    ratio = context.setting.ratio(driver)
    a = float(ratio) * evaluate(with_values(motion.acceleration_in_full, values))
    amount = context.amount(a, "m/s²")
    return join(text, say("limits.evaluated-driver", factor=EXTREME, a=amount, the_object=the))


def _balanced(context: Context) -> Text:
    """Two hanging weights of equal mass."""
    first, second = (context.names.mass(name) for name in context.setting.hanging)
    equal = _arrow(first, second)
    return say("limits.balanced", equal=equal, a_limit=_arrow(context.names.acceleration, 0))


def _slopes(context: Context) -> Iterator[Block]:
    """A slope made level and made upright: the known formulas come back."""
    formula = context.motion.acceleration_in_full
    for surface in context.setting.apparatus.surfaces:
        riders = [n for n in context.setting.sliders if context.names.surface(n) == surface]
        if not any(context.motion.sine(name) for name in riders):
            continue
        theta = context.names.slope(surface)
        parts = {"the_surface": context.the(surface), "the_object": context.the(riders[0])}
        if context.driver is not None:
            level = _with_slope(formula, theta, sine=0, cosine=1)
            yield from _case(context, "level", level, **parts)
        steep = _with_slope(formula, theta, sine=1, cosine=0)
        yield from _case(context, "upright", steep, **parts)
        if context.is_plain and _against_each_other(context):
            yield Paragraph(text=_who_wins(context))
        return


def _against_each_other(context: Context) -> bool:
    """Whether gravity drives one of cart and weight and holds back the other."""
    climb = context.setting.slope(context.slider) * context.setting.senses[context.slider]
    return (climb > 0) == (context.driver is not None)


def _who_wins(context: Context) -> Text:
    """What a minus sign means where a cart and a weight hang side by side."""
    cart, weight = context.the(context.slider), context.the(context.weight)
    falls = context.driver is not None
    return say(
        "limits.upright-sign",
        the_object=weight if falls else cart,
        the_other=cart if falls else weight,
    )


def _lone(context: Context) -> Iterator[Block]:
    """A cart that draws a very light weight up a slope: it runs down as if it were alone."""
    names, slider = context.names, context.slider
    if not context.setting.slope(slider) or context.setting.upright(slider):
        return
    gone: dict[str, Expression] = {names.mass(context.weight).id: ZERO}
    formula = rebuilt(
        context.motion.acceleration_in_full, {**gone, names.mass(slider).id: Number(value=1)}
    )
    light = _arrow(as_expression(names.mass(context.weight)) / names.mass(slider), 0)
    yield from _case(context, "alone", formula, light=light, the_object=context.the(slider))


def _with_slope(tree: Expression, theta: Symbol, *, sine: int, cosine: int) -> Expression:
    values: dict[Expression, Expression] = {
        Function(name="sin", argument=as_expression(theta)): Number(value=sine),
        Function(name="cos", argument=as_expression(theta)): Number(value=cosine),
    }
    return rebuilt(tree, {}, values)


def _one_less(context: Context) -> Iterator[Block]:
    """A train without its last cart: the formula of the others."""
    setting = context.setting
    if len(setting.sliders) < 2:
        return
    rear = next((n for n in setting.sliders if len(setting.strings_at(n)) == 1), None)
    if rear is None or setting.ratio(rear) != 1 or setting.wheel_mass(rear):
        return
    yield from _without(context, "less", {context.names.mass(rear)}, the_object=context.the(rear))


def _light_wheels(context: Context) -> Iterator[Block]:
    wheeled = [name for name in context.setting.sliders if context.setting.wheel_mass(name)]
    if wheeled:
        masses = {context.names.wheel_mass(name) for name in wheeled}
        the = listing([context.the(name) for name in wheeled])
        yield from _without(context, "wheels", masses, the_object=the)


def _ideal(context: Context) -> Iterator[Block]:
    """Pulleys without inertia and without friction in their bearings."""
    names, setting = context.names, context.setting
    parts = {
        "the_pulley": listing([context.the(name) for name in setting.rotors]),
        "the_object": context.the(setting.movers[0]),
    }
    if setting.rotors and len(setting.movers) == 1:
        yield Paragraph(
            text=say("limits.drum", a_limit=_arrow(names.acceleration, names.gravity), **parts)
        )
        return
    gone = {names.inertia(n) for n in setting.rotors if setting.pulleys[n].inertia}
    gone |= {names.bearing_torque(n) for n in setting.rotors if setting.pulleys[n].bearing_torque}
    if gone:
        yield from _without(context, "ideal", gone, **parts)


def _without(context: Context, mark: str, gone: set[Symbol], **parts: str) -> Iterator[Block]:
    """The case in which some givens are zero."""
    zeros: dict[str, Expression] = {symbol.id: ZERO for symbol in gone}
    formula = rebuilt(context.motion.acceleration_in_full, zeros)
    yield from _case(context, mark, formula, **parts)


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
            the_slider=context.the(context.slider),
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
            factor=sentence("limits.thousandth"),
            the_slider=context.the(context.slider),
            a=context.amount(a, "m/s²"),
            share=context.amount(100 * share, "%"),
        )
