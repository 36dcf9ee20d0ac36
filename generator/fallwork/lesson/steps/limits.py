"""Limiting cases of the printed formulas: what must come out, and what the formulas give there.

Each case is data: which givens change, and to what each quantity then tends. With numbers the
formulas, written in the givens, are evaluated there.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

from fallwork.lesson.context import Context
from fallwork.lesson.document import (
    Block,
    Equation,
    Inline,
    Paragraph,
    Step,
    Table,
    Text,
    Working,
)
from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Power,
    Ref,
    Symbol,
    as_expression,
    children,
)
from fallwork.lesson.steps.limiting import EXTREME, Cases, Claim, Limit, arrow, value_at
from fallwork.lesson.steps.limits_tied import pull_on, tied_limits
from fallwork.lesson.steps.pieces import head
from fallwork.lesson.trees import ZERO, product, signed, total
from fallwork.lesson.words import Part, join, say, sentence, series, title


def limits_step(context: Context) -> Step | None:
    """A table of limiting cases; with numbers the formulas are evaluated there."""
    cases = limits_of(context)
    if not cases:
        return None
    rows = [_row(context, limit) for limit in cases]
    worked = [equation for limit in cases for equation in _worked(context, limit)]
    columns = ("case", "must", "gives") if context.numbers else ("case", "must")
    key = "units" if context.setting.tied else "units-free"
    units: list[Block] = [Paragraph(text=say(f"limits.{key}", a=context.reference_acceleration))]
    told = context.numbers and any(limit.id in ("heavy", "light") for limit in cases)
    extremes = [Paragraph(text=say("limits.extremes", factor=EXTREME))] if told else []
    return Step(
        id="limits" if context.setting.moves else "limiting-cases",
        topic="limits",
        title=title("limits.title"),
        idea=say("limits.idea"),
        blocks=(
            *(units if context.setting.moves else []),
            Table(
                caption=sentence("limits.caption"),
                head=head("limits", *columns),
                rows=tuple(rows),
            ),
            *([Working(equations=tuple(worked))] if worked else []),
            *extremes,
        ),
    )


def _row(context: Context, limit: Limit) -> tuple[Text, ...]:
    must = series(
        [
            (arrow(claim.symbol, _named(context, limit, claim) or claim.limit),)
            for claim in limit.claims
        ]
    )
    must = join(limit.words, must)
    if not context.numbers:
        return limit.case, must
    amounts = [_amount(context, claim, limit.changes) for claim in limit.claims]
    return limit.case, must, series(amounts) or (sentence("limits.nothing"),)


def _named(context: Context, limit: Limit, claim: Claim) -> Symbol | None:
    """A letter for what a quantity tends to, where numbers stand in it that need working out."""
    if claim.limit == ZERO or not _counts(claim.limit):
        return None
    mark = sentence(f"limits.marks.{limit.id}")
    return context.names.limiting(claim.symbol, mark, context.value(claim.limit))


def _counts(tree: Expression) -> bool:
    return isinstance(tree, Number | Power) or any(map(_counts, children(tree)))


def _worked(context: Context, limit: Limit) -> Iterator[Equation]:
    """What the letters of the table stand for."""
    if limit.load is not None:
        yield context.result(*limit.load, "kg")
    for claim in limit.claims:
        named = _named(context, limit, claim)
        if named is not None:
            yield context.result(named, claim.limit, claim.symbol.unit)


def _amount(context: Context, claim: Claim, changes: Mapping[str, float]) -> Text:
    value: Inline = context.amount(value_at(claim.formula, changes), claim.symbol.unit)
    return (Ref(symbol=claim.symbol), ": ", value)


def limits_of(context: Context) -> tuple[Limit, ...]:
    """The limiting cases of a set-up; ``changes`` are there without numbers too."""
    setting = context.setting
    if not setting.moves:
        return tuple(_at_rest(Cases(context)))
    if not context.moves_freely or setting.constant or setting.turns_within:
        return ()
    return tuple(tied_limits(Cases(context)) if setting.tied else _free(Cases(context)))


# Rest, and several accelerations.


def _at_rest(cases: Cases) -> Iterator[Limit]:
    """A block on a slope, held by a weight and by static friction."""
    context = cases.context
    setting = context.setting
    if not context.is_plain or setting.slope(context.slider) * setting.senses[context.slider] <= 0:
        return
    slider, weight, names, motion = context.slider, context.weight, context.names, context.motion
    theta, sine = names.slope(context.surface), motion.sine(slider)
    if sine is None or slider not in motion.frictions:
        return
    friction, mass, g = names.friction(slider), names.mass(weight), names.gravity
    up = setting.along(next(t.force for t in motion.terms(slider) if _is_friction(context, t.size)))
    way = 1 if (up or 0.0) * setting.slope(slider) > 0 else -1  # +1: it points up the slope
    alone = product(names.mass(slider), g, sine)
    tangent = Function(name="tan", argument=as_expression(theta))
    static = names.static_coefficient(slider)
    parts: dict[str, Part] = {"the_object": context.the(slider), "theta": theta}
    grip = cases.known.names.static_coefficient(slider).value
    assert grip is not None
    key = "stays" if math.tan(abs(setting.slope(slider))) <= grip else "slides"
    words = say(f"limits.{key}", tangent=tangent, static_coefficient=static)
    gone = arrow(mass, 0)
    claims = [(friction, signed(way, alone))]
    yield cases.limit("unloaded", {mass.id: 0.0}, claims, words, light=gone, **parts)
    share = product(names.mass(slider), sine)
    balance = setting.mass(slider) * math.sin(abs(setting.slope(slider)))
    held = [(friction, ZERO), (names.tension(context.string, weight), alone)]
    yield cases.limit("unneeded", {mass.id: balance}, held, balance=arrow(mass, share), **parts)


def _is_friction(context: Context, size: Expression) -> bool:
    return size in context.motion.frictions.values()


def _free(cases: Cases) -> Iterator[Limit]:
    """Several free motions: a pair on a pulley that hangs from a string, else one weight heavy."""
    context = cases.context
    names, setting = context.names, context.setting
    pair = _pair_on_a_string(context)
    if pair is not None:
        yield from _of_pair(cases, *pair)
    elif context.driver is not None and not setting.rotors:
        heavy = names.mass(context.driver)
        others = sum(setting.mass(n) for n in setting.movers if n != context.driver)
        claims = [(names.acceleration_of(context.driver), as_expression(names.gravity))]
        the = context.the(context.driver)
        limit = cases.limit("heavy", {heavy.id: EXTREME * others}, claims, the_object=the)
        if limit.claims:
            yield limit


def _pair_on_a_string(context: Context) -> tuple[str, str, str] | None:
    """What pulls the pulley up, and the two weights that hang from it; None for anything else."""
    setting = context.setting
    if len(setting.hanging) != 3 or len(setting.movers) != 4 or len(setting.taut) != 2:
        return None
    lift, paths = setting.lifts, [string.path for string in setting.apparatus.strings.values()]
    if not lift or setting.mass(lift[0]) or setting.rotors or setting.carried:
        return None
    lower = next((p for p in paths if lift[0] in p[1:-1] and len(p) == 3), ())
    upper = next((p for p in paths if lift[0] in (p[0], p[-1]) and len(p) == 3), ())
    if not lower or not upper:
        return None
    return (upper[0] if upper[-1] == lift[0] else upper[-1]), lower[0], lower[-1]


def _of_pair(cases: Cases, counter: str, first: str, second: str) -> Iterator[Limit]:
    context = cases.context
    names, setting, g = context.names, context.setting, as_expression(context.names.gravity)
    mass, one, two = (names.mass(name) for name in (counter, first, second))
    a = {name: names.acceleration_of(name) for name in (counter, first, second)}
    upper, lower = (pull_on(context, name) for name in (counter, first))
    assert upper is not None
    assert lower is not None
    full = product(4, one, two) / total([one, two])
    load = names.pair_mass((first, second), context.value(full))

    def down(name: str, tree: Expression) -> Expression:
        return signed(setting.senses[name], tree)

    drive = product(total([mass, -as_expression(load)]), g) / total([mass, load])
    effective = [(a[counter], down(counter, drive))]
    yield replace(cases.limit("effective", {}, effective, load=load), load=(load, full))
    half = setting.mass(counter) / 2
    still = [*((symbol, ZERO) for symbol in a.values()), (upper, product(mass, g))]
    still.append((lower, product(one, g)))
    yield cases.limit("even", {one.id: half, two.id: half}, still, the_object=context.the(counter))
    others = EXTREME * (setting.mass(first) + setting.mass(second))
    falls = [(a[counter], down(counter, g)), (lower, product(load, g))]
    yield cases.limit("heavy", {mass.id: others}, falls, the_object=context.the(counter))
    free = [(lower, ZERO), (a[counter], down(counter, g)), (a[second], down(second, g))]
    rest = {one.id: setting.mass(first) / EXTREME}
    the = context.the(first)
    yield cases.limit("light", rest, free, the_object=the, light=arrow(one, 0))
