"""The second stretch: what the strings impose, acceleration and tensions, time and speed."""

from collections.abc import Iterator
from dataclasses import replace

from fallwork.lesson.context import Context
from fallwork.lesson.document import (
    Block,
    Equation,
    FigureSlot,
    Items,
    Paragraph,
    Relation,
    Step,
    Text,
    Working,
)
from fallwork.lesson.elimination import Solved, inner_forces, solve_free
from fallwork.lesson.expression import Expression, Root, as_expression, evaluate
from fallwork.lesson.steps.limits import limit_items
from fallwork.lesson.trees import half, product, scaled, total
from fallwork.lesson.words import Part, join, listing, say, sentence, the, title


def string_step(context: Context, string: str) -> Step:
    """What one string imposes on the objects that it meets."""
    setting = context.setting
    several = len(setting.apparatus.strings) > 1
    blocks: list[Block] = [*_tie(context, string), *_pull(context, string)]
    return Step(
        id=f"string-{string}" if several else "string",
        topic="string",
        title=title("string.title", the_string=the(string)),
        idea=say("string.idea" if context.names.one_tension(string) else "string.idea-rotor"),
        blocks=tuple(blocks),
    )


def _tie(context: Context, string: str) -> Iterator[Block]:
    """The relation between the accelerations of the objects on a string."""
    setting = context.setting
    ties = {
        n: k * setting.senses[n]
        for n, k in setting.constraint(string).items()
        if n in setting.senses
    }
    if string in setting.phase.slack:
        yield Paragraph(text=say("string.slack", the_string=the(string)))
    elif len(ties) == 2 and len(set(map(abs, ties.values()))) == 1:
        first, second = ties
        yield Paragraph(
            text=say(
                "string.same",
                the_first=the(first),
                the_second=the(second),
                sense_first=context.names.sense(first),
                sense_second=context.names.sense(second),
            )
        )
        yield Working(equations=(_equal(context, first, second),))
    elif len(ties) >= 2:
        yield from _unequal(context, string, ties)
    elif ties:
        (only,) = ties
        yield Paragraph(text=say("string.wound", the_object=the(only), the_string=the(string)))


def _equal(context: Context, first: str, second: str) -> Equation:
    names = context.names
    forms: tuple[Expression, ...] = ()
    if context.same_pace:
        forms = (as_expression(names.acceleration),)
    return Equation(
        left=as_expression(names.acceleration_of(first)),
        right=as_expression(names.acceleration_of(second)),
        forms=forms,
        unit="m/s²",
    )


def _unequal(context: Context, string: str, ties: dict[str, int]) -> Iterator[Block]:
    """A string over a moving pulley: the parts lengthen and shorten together."""
    names = context.names
    plus = [scaled(abs(k), names.acceleration_of(n)) for n, k in ties.items() if k < 0]
    minus = [scaled(abs(k), names.acceleration_of(n)) for n, k in ties.items() if k > 0]
    doubled = [n for n, k in ties.items() if abs(k) == 2]
    yield Paragraph(
        text=say(
            "string.moving-pulley",
            the_string=the(string),
            the_pulley=listing([the(name) for name in doubled]),
        )
    )
    left, right = (plus, minus) if plus else (minus, plus)
    yield Working(equations=(Equation(left=total(left), right=total(right), unit="m/s²"),))
    if context.setting.tied:
        movers = context.setting.movers
        equations = [
            Equation(
                left=as_expression(names.acceleration_of(name)),
                right=context.motion.acceleration_tree(name),
                unit="m/s²",
            )
            for name in movers
            if name in ties or context.setting.carried.get(name) in ties
        ]
        yield Paragraph(text=say("string.common", a=names.acceleration))
        yield Working(equations=tuple(equations))


def _pull(context: Context, string: str) -> Iterator[Block]:
    """Where the string pulls equally, and where it doesn't."""
    setting = context.setting
    path = setting.apparatus.strings[string].path
    ideal = [n for n in path[1:-1] if n in setting.pulleys and n not in setting.rotors]
    heavy = [n for n in path[1:-1] if n in setting.rotors]
    if string in setting.phase.slack:
        return
    T = context.names.tension(string, path[0])  # noqa: N806 - the letter on the page
    if not ideal and not heavy:
        yield Paragraph(text=say("string.tension-straight", T=T))
    if ideal:
        yield Paragraph(text=say("string.tension", the_pulley=the(ideal[0]), T=T))
    if heavy:
        after = context.names.tension(string, heavy[0], after=True)
        before = context.names.tension(string, heavy[0])
        parts = {"first": before, "second": after}
        yield Paragraph(text=say("string.tension-rotor", the_pulley=the(heavy[0]), **parts))
    elif ideal:
        yield Paragraph(text=say("string.unlike"))


def acceleration_steps(context: Context) -> Iterator[Step]:
    """The acceleration where the strings leave one, else all of them together."""
    if context.setting.tied:
        yield _acceleration_step(context)
    else:
        yield _free_step(context)


def _acceleration_step(context: Context) -> Step:
    """The sum of the equations of motion and its solution."""
    names, motion = context.names, context.motion
    a = names.acceleration
    blocks: list[Block] = [
        Paragraph(text=_sum_lead(context)),
        Working(
            equations=(Equation(left=motion.driving, right=product(motion.inertia, a), unit="N"),)
        ),
        Paragraph(text=say("acceleration.solved")),
        Working(
            equations=(Equation(left=as_expression(a), right=motion.acceleration, unit="m/s²"),)
        ),
        *_in_numbers(context),
    ]
    if motion.frictions:
        frictions = [
            Relation(sides=(tree, motion.friction_in_full(name)), signs=("=",))
            for name, tree in motion.frictions.items()
        ]
        lead = say("acceleration.textbook", friction=frictions[0])
        if len(frictions) > 1:
            lead = say("acceleration.textbook-several")
        blocks += [
            Paragraph(text=lead),
            Working(
                equations=(
                    Equation(left=as_expression(a), right=motion.acceleration_in_full, unit="m/s²"),
                )
            ),
        ]
    blocks += _vector_caution(context)
    several = len(context.setting.movers) > 1
    return Step(
        id=context.suffixed("acceleration"),
        topic="acceleration",
        title=title("acceleration.title"),
        idea=say("acceleration.idea" if several else "acceleration.idea-one"),
        blocks=tuple(blocks),
    )


def _in_numbers(context: Context) -> Iterator[Block]:
    """The fraction worked out from its two parts, which fit a phone where the whole doesn't."""
    if not context.numbers:
        return
    names, motion = context.names, context.motion
    force, mass = (
        names.driving_force(evaluate(motion.driving)),
        names.moving_mass(evaluate(motion.inertia)),
    )
    yield Paragraph(text=say("acceleration.numbers", F=force, M=mass))
    yield Working(
        equations=(
            context.result(force, motion.driving, "N"),
            context.result(mass, motion.inertia, "kg"),
            context.result(names.acceleration, as_expression(force) / mass, "m/s²"),
        )
    )


def _sum_lead(context: Context) -> Text:
    setting, a = context.setting, context.names.acceleration
    count = len(setting.movers) + len(setting.rotors)
    parts: dict[str, Part] = {"a": a, "count": _count_word(count)}
    if count == 1:
        return say("acceleration.sum-one", **parts)
    if setting.rotors:
        return say("acceleration.sum-rotor", the_pulley=the(setting.rotors[0]), **parts)
    if context.same_pace:
        return say("acceleration.sum" if count == 2 else "acceleration.sum-several", **parts)
    doubled = [the(name) for name in setting.movers if setting.ratio(name) != 1]
    factor = next(setting.ratio(name) for name in setting.movers if setting.ratio(name) != 1)
    return say(
        "acceleration.sum-weighted",
        reference=the(setting.reference),
        doubled=listing(doubled),
        factor=str(factor),
        **parts,
    )


def _count_word(count: int) -> str:
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    return words[count] if count < len(words) else str(count)


def _vector_caution(context: Context) -> Iterator[Block]:
    """That the sum is one along the string: with its full reason for a cart and a weight."""
    setting = context.setting
    turning = [n for n in setting.pulleys if n not in setting.movers]
    if len(setting.movers) < 2 or not turning:
        return
    plain = context.is_plain and not setting.slope(context.slider) and context.speeds_up
    if plain:
        yield Paragraph(
            text=say(
                "acceleration.along-the-string",
                the_slider=the(context.slider),
                the_hanging=the(context.weight),
                the_pulley=the(context.pulley),
                T=context.names.tension(context.string, context.slider),
            )
        )
    else:
        yield Paragraph(text=say("acceleration.not-vectors", the_pulley=the(turning[0])))


def _free_step(context: Context) -> Step:
    """Several independent accelerations: the tensions first, from the strings' conditions."""
    blocks: list[Block] = [
        Paragraph(
            text=say(
                "acceleration.free",
                movers=_count_word(len(context.setting.movers)),
                strings=_count_word(len(context.setting.taut)),
            )
        )
    ]
    solved = solve_free(context)
    blocks.append(Working(equations=tuple(context.result(*item) for item in _units(solved.forces))))
    blocks.append(Paragraph(text=say("acceleration.free-motions")))
    motions = tuple(context.result(*item) for item in _units(solved.accelerations))
    blocks.append(Working(equations=motions))
    return Step(
        id=context.suffixed("acceleration"),
        topic="acceleration.free",
        title=title("acceleration.title-free"),
        idea=say("acceleration.idea-free"),
        blocks=tuple(blocks),
    )


def _units(group: tuple[Solved, ...]) -> list[tuple[Expression, Expression, str]]:
    return [(as_expression(s.symbol), s.tree, s.symbol.unit) for s in group]


def tension_step(context: Context) -> Step | None:
    """The inner forces from one object's equation after the other; the rest are checks."""
    if not context.setting.tied or not context.setting.taut:
        return None
    found, checks = inner_forces(context)
    if not found:
        return None
    blocks: list[Block] = []
    for solved in found:
        blocks.append(Paragraph(text=say("tension.from", the_object=the(solved.source))))
        blocks.append(Working(equations=(context.result(solved.symbol, solved.tree, "N"),)))
    check: list[Block] = []
    for solved in checks:
        check.append(Paragraph(text=say("tension.check", the_object=the(solved.source))))
        check.append(Working(equations=(context.result(solved.symbol, solved.tree, "N"),)))
    check += [Paragraph(text=text) for text in _less_than_weight(context)]
    return Step(
        id=context.suffixed("tension"),
        topic="tension",
        title=title("tension.title" if len(found) == 1 else "tension.title-several"),
        idea=say("tension.idea" if len(found) == 1 else "tension.idea-several"),
        blocks=tuple(blocks),
        check=tuple(check),
    )


def _less_than_weight(context: Context) -> Iterator[Text]:
    """How the pull on each hanging weight compares with gravity on it."""
    setting, motion = context.setting, context.motion
    for name in setting.hanging:
        strings = setting.strings_at(name)
        if len(strings) != 1:
            continue
        tension = as_expression(context.names.tension(strings[0], name))
        gravity = motion.gravity_on(name)
        acceleration = setting.phase.accelerations[name]
        if not acceleration:
            continue
        key, sign = ("less", "<") if acceleration > 0 else ("more", ">")
        if acceleration * setting.senses[name] < 0:
            key += "-slowing"
        texts = [
            say(
                f"tension.{key}",
                the_hanging=the(name),
                relation=Relation(sides=(tension, gravity), signs=(sign,)),
            )
        ]
        if context.numbers:
            texts.append(
                say(
                    "tension.numbers",
                    the_hanging=the(name),
                    tension=context.amount(evaluate(tension), "N"),
                    gravity=context.amount(evaluate(gravity), "N"),
                )
            )
        yield join(*texts)


def limits_step(context: Context) -> Step | None:
    """Units and limiting cases; with numbers the formulas are evaluated there."""
    items = limit_items(context)
    if not items:
        return None
    return Step(
        id="limits",
        topic="limits",
        title=title("limits.title"),
        idea=say("limits.idea"),
        blocks=(Items(items=items),),
    )


def time_step(context: Context) -> Step:
    """Final speed and time over the distance."""
    names = context.names
    a, d, v, t = context.reference_acceleration, names.distance, names.speed, names.time
    start = as_expression(names.start_speed) if names.starts_moving else None
    square = product(2, a, d)
    if start is not None:
        square = start**2 + square
    final = Root(body=square)
    duration = (as_expression(v) - start if start is not None else as_expression(v)) / a
    case = "-push" if start is not None else ""
    turns = context.turns
    lead = say("time-and-speed.turns" if turns else f"time-and-speed.speed{case}", d=d)
    blocks: list[Block] = [Paragraph(text=lead)]
    if turns and start is not None:
        far = -(start**2) / product(2, a)
        blocks.append(Working(equations=(context.result(d, far, "m"),)))
        duration = -start / a
    else:
        blocks.append(Working(equations=(context.result(v, final, "m/s"),)))
    blocks.append(Paragraph(text=say(f"time-and-speed.time{'-turns' if turns else ''}")))
    blocks.append(Working(equations=(context.result(t, duration, "s"),)))
    blocks += _other_speeds(context)
    if context.numbers and context.setting.index == 0:
        blocks.append(FigureSlot(kind="motion"))
    mean = half(v, t) if start is None else half(start if turns else start + v, t)
    return Step(
        id=context.suffixed("time-and-speed"),
        topic="time-and-speed" if start is None else "time-and-speed.push",
        title=title("time-and-speed.title"),
        idea=say("time-and-speed.idea"),
        blocks=tuple(blocks),
        check=(
            Paragraph(text=say(f"time-and-speed.check{case}")),
            Working(equations=(context.result(d, mean, "m"),)),
        ),
    )


def later_steps(context: Context) -> Iterator[Step]:
    """A later driven part: the friction has turned round, so the acceleration is another one."""
    parts = {
        "the_object": the(context.setting.reference),
        "sense": context.names.sense(context.setting.reference),
    }
    if not context.setting.tied:
        return
    for step in (_acceleration_step(context), tension_step(context), time_step(context)):
        if step is not None:
            key = "later.lead" if step.topic == "acceleration" else "later.again"
            lead = Paragraph(text=say(key, **parts))
            heading = f"{step.title}{sentence('later.title')}"
            topic = f"{step.topic}.later"
            yield replace(step, title=heading, topic=topic, blocks=(lead, *step.blocks))


def _other_speeds(context: Context) -> Iterator[Block]:
    """The speeds and paths of movers that don't share the reference mover's."""
    setting, names = context.setting, context.names
    if setting.tied:
        return
    others = [name for name in setting.movers if name != setting.reference]
    yield Paragraph(text=say("time-and-speed.others"))
    equations: list[Equation] = []
    for name in others:
        a, t = names.acceleration_of(name), names.time
        square = as_expression(t) ** 2
        equations.append(context.result(names.distance_of(name), half(a, square), "m"))
        equations.append(context.result(names.speed_of(name), product(a, t), "m/s"))
    yield Working(equations=tuple(equations))
