"""The acceleration where the strings leave one: the sum of the equations of motion."""

from collections.abc import Iterator
from fractions import Fraction

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, Paragraph, Relation, Step, Text, Working
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.steps.directions import push_words
from fallwork.lesson.steps.pieces import count_word, times_word
from fallwork.lesson.trees import product
from fallwork.lesson.words import Part, listing, say, sentence, title


def acceleration_step(context: Context) -> Step:
    """The sum of the equations of motion and its solution."""
    names, motion = context.names, context.motion
    a = names.acceleration
    blocks: list[Block] = [
        Paragraph(text=_sum_lead(context)),
        Working(
            equations=(Equation(left=motion.driving, right=product(motion.inertia, a), unit="N"),)
        ),
        Paragraph(text=say("acceleration.solved")),
        Working(equations=(Equation(left=as_expression(a), right=_solved(context), unit="m/s²"),)),
        *_in_numbers(context),
        *_sign(context),
        *_textbook(context),
        *_vector_caution(context),
    ]
    return Step(
        id=context.suffixed("acceleration"),
        topic="acceleration",
        title=title("acceleration.title"),
        idea=say(
            f"acceleration.{_idea(context)}", reference=context.the(context.setting.reference)
        ),
        blocks=tuple(blocks),
    )


def _solved(context: Context) -> Expression:
    """The acceleration; where no friction force stands in the way, with g taken out of the sum."""
    motion = context.motion
    full = not motion.frictions and not motion.alone
    return motion.acceleration_in_full if full else motion.acceleration


def _idea(context: Context) -> str:
    if len(context.setting.movers) + len(context.setting.rotors) == 1:
        return "idea-one"
    if not context.same_pace:
        return "idea-weighted"
    return "idea" if len(context.names.stretches) == 1 else "idea-several"


def _in_numbers(context: Context) -> Iterator[Block]:
    """The fraction worked out from its two parts, which fit a phone where the whole doesn't."""
    if not context.numbers:
        return
    names, motion = context.names, context.motion
    force = names.driving_force(context.value(motion.driving))
    first = context.setting.index == 0
    key, mass = "", names.moving_mass(context.value(motion.inertia))
    if motion.alone:
        key, mass = "-alone", names.mass(context.setting.movers[0])
    elif not first:
        key = "-later"
    yield Paragraph(text=say(f"acceleration.numbers{key}", F=force, M=mass))
    equations = [context.result(force, motion.driving, "N")]
    if first and not motion.alone:
        equations.append(context.result(mass, motion.inertia, "kg"))
    equations.append(context.result(names.acceleration, as_expression(force) / mass, "m/s²"))
    yield Working(equations=tuple(equations))


def _sign(context: Context) -> Iterator[Block]:
    """What a zero or negative acceleration means."""
    setting = context.setting
    if setting.constant:
        yield Paragraph(text=say("acceleration.constant"))
    elif setting.comes_back:
        the = context.the(setting.reference)
        yield Paragraph(text=say("acceleration.braking-back", the_object=the))
    elif setting.starts_moving and _slows_down(context):
        yield Paragraph(text=say("acceleration.braking"))


def _slows_down(context: Context) -> bool:
    setting = context.setting
    reference = setting.reference
    return setting.phase.accelerations[reference] * setting.senses[reference] < 0


def _textbook(context: Context) -> Iterator[Block]:
    """The acceleration from the givens alone, where friction forces stand in the way."""
    motion = context.motion
    if not motion.frictions and not motion.alone:
        return
    full = motion.acceleration_in_full
    a = as_expression(context.names.acceleration)
    yield Paragraph(text=_textbook_lead(context))
    yield Working(equations=(Equation(left=a, right=full, unit="m/s²"),))


def _textbook_lead(context: Context) -> Text:
    motion = context.motion
    frictions = [
        Relation(sides=(tree, motion.friction_in_full(name)), signs=("=",))
        for name, tree in motion.frictions.items()
    ]
    if not frictions:
        return say("acceleration.cancels")
    if len(frictions) > 1:
        return say("acceleration.textbook-several")
    key = "cancels-friction" if motion.alone else "textbook"
    return say(f"acceleration.{key}", friction=frictions[0])


def _sum_lead(context: Context) -> Text:
    setting = context.setting
    count = len(setting.movers) + len(setting.rotors)
    parts: dict[str, Part] = {
        "a": context.names.acceleration,
        "count": count_word(count),
        "reference": context.the(setting.reference),
        "the_object": context.the(setting.movers[0]),
        "the_pulley": listing([context.the(name) for name in setting.rotors]),
    }
    return say(f"acceleration.{_sum_key(context, count)}", **parts, **_weights(context))


def _sum_key(context: Context, count: int) -> str:
    setting = context.setting
    if count == 1:
        return "sum-one"
    if context.same_pace:
        if setting.rotors:
            return "sum-drum" if len(setting.movers) == 1 and count == 2 else "sum-rotor"
        return "sum" if count == 2 else "sum-several"
    if setting.rotors:
        return "sum-weighted-rotor"
    return "sum-weighted" if len(_unequal(context)) == 1 else "sum-weighted-several"


def _unequal(context: Context) -> list[str]:
    setting = context.setting
    return [name for name in setting.movers if setting.ratio(name) != 1]


def _weights(context: Context) -> dict[str, Part]:
    """What moves farther than the reference mover, and by which factor."""
    doubled = _unequal(context)
    if not doubled:
        return {}
    return {
        "doubled": listing([context.the(name) for name in doubled]),
        "factor": _factor(context.setting.ratio(doubled[0])),
        "times": times_word(context.setting.ratio(doubled[0])),
    }


def _factor(factor: Fraction) -> str:
    """A factor in a sentence: a small whole number as a word."""
    return count_word(factor.numerator) if factor.denominator == 1 else str(factor)


def _vector_caution(context: Context) -> Iterator[Block]:
    """That the sum is one along the string: with its full reason for a cart and a weight."""
    setting = context.setting
    turning = [n for n in setting.pulleys if n not in setting.movers]
    if len(setting.movers) < 2 or not turning or setting.index:
        return
    words = push_words(context) if context.is_plain and context.speeds_up else None
    if words is not None and not setting.slope(context.slider):
        yield Paragraph(
            text=say(
                "acceleration.along-the-string",
                the_slider=context.the(context.slider),
                the_hanging=context.the(context.weight),
                the_pulley=context.the(context.pulley),
                T=context.names.tension(context.string, context.slider),
                first=words[0],
                second=words[1],
            )
        )
        return
    string = next(s for s in setting.apparatus.strings.values() if turning[0] in s.path)
    held = [name for name in (string.path[0], string.path[-1]) if name in setting.apparatus.anchors]
    sort = _pushers(context, turning, held)
    pushing = turning if sort == "-several" else turning[:1]
    moving = len(setting.movers) + len(setting.rotors)
    parts = {
        "strings": "strings" if len(setting.apparatus.strings) > 1 else "string",
        "both": "both" if moving == 2 else "all",
        "the_pulley": listing([context.the(name) for name in pushing]),
        "the_string": context.the(string.name),
        "the_anchor": listing([context.the(name) for name in held]),
    }
    if context.same_pace:
        yield Paragraph(text=say(f"acceleration.not-vectors{sort}", **parts))
        return
    keys = ["axle" if sort == "-rotor" else "push", *(["held"] if held else [])]
    idle = listing([title(f"acceleration.idle.{key}", **parts) for key in keys])
    number = f"acceleration.idle.{'several' if len([*keys, *pushing]) > 2 else 'one'}"
    yield Paragraph(
        text=say(
            "acceleration.not-vectors-weighted",
            reference=context.the(setting.reference),
            the_idle=idle,
            are=sentence(f"{number}.are"),
            it=sentence(f"{number}.it"),
        )
    )


def _pushers(context: Context, turning: list[str], held: list[str]) -> str:
    """The ending of the caution's key: what else acts on the objects from outside."""
    if turning[0] in context.setting.rotors:
        return "-rotor"
    if len(turning) > 1:
        return "-several"
    return "-held" if held else ""
