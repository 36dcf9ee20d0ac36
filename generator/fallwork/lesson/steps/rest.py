"""What stays at rest: the pulls, the friction that is needed, and whether it can be had."""

import math
from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Paragraph, Relation, Step, Working
from fallwork.lesson.elimination import Solved, holding_torque, inner_forces
from fallwork.lesson.expression import Operand, as_expression
from fallwork.lesson.trees import ZERO, product, total
from fallwork.lesson.words import say, title


def rest_steps(context: Context) -> Iterator[Step]:
    """The tensions, then static friction on each object that has some, then held pulleys."""
    static = {name: context.names.friction(name) for name in context.motion.frictions}
    found = [s for s in inner_forces(context)[0] if s.symbol not in static.values()]
    if found:
        yield _tension_step(context, found)
    for name in static:
        if context.motion.settled(name):
            yield _holding_step(context, name)
    if context.is_plain and context.motion.frictions and not context.setting.open_forces:
        yield _range_step(context)
    for pulley in context.setting.rotors:
        if context.setting.pulleys[pulley].bearing_torque:
            yield from held_pulley_step(context, pulley)


def _tension_step(context: Context, found: list[Solved]) -> Step:
    blocks: list[Block] = []
    for solved in found:
        the = context.the(solved.source.removeprefix("rim of "))
        blocks.append(Paragraph(text=say("static.from", the_object=the)))
        blocks.append(Working(equations=(context.result(solved.symbol, solved.tree, "N"),)))
    several = "-several" if len(found) > 1 else ""
    return Step(
        id="tension",
        topic="static.tension",
        title=title(f"tension.title{several}"),
        idea=say(f"static.idea-tension{several}"),
        blocks=tuple(blocks),
    )


def _holding_step(context: Context, name: str) -> Step:
    """The friction that one object needs to stay, against the most that it can have."""
    motion = context.motion
    needed, friction = motion.friction_needed(name), motion.frictions[name]
    limit = motion.largest_friction(name)
    symbol = context.names.friction_limit(name)
    several = len(motion.frictions) > 1
    the = context.the(name)
    return Step(
        id=f"static-friction-{name}" if several else "static-friction",
        topic="static.friction",
        title=title("static.title-several" if several else "static.title", the_slider=the),
        idea=say("static.idea", the_slider=the),
        blocks=(
            Paragraph(text=say("static.holds", the_slider=the)),
            Working(equations=(context.result(friction, needed, "N"),)),
            Paragraph(text=say("static.limit")),
            Working(equations=(context.result(symbol, limit, "N"),)),
            Paragraph(text=say("static.enough", relation=_within(friction, symbol))),
            *_once_it_slides(context, name),
        ),
    )


def _range_step(context: Context) -> Step:
    """The lightest and the heaviest weight for which static friction holds."""
    names, slider = context.names, context.slider
    mass, coefficient = names.mass(slider), names.static_coefficient(slider)
    sine, cosine = context.motion.sine(slider), context.motion.cosine(slider)
    grip = product(coefficient, cosine) if cosine is not None else as_expression(coefficient)
    slope = sine if sine is not None else ZERO
    blocks: list[Block] = []
    for which, factor in (("most", total([slope, grip])), ("least", total([slope, -grip]))):
        if slope == ZERO and which == "least":
            continue
        tree = product(mass, factor)
        value = context.value(tree)
        if which == "least" and _grips_alone(context):
            blocks.append(Paragraph(text=say("static.alone", the_slider=context.the(slider))))
            continue
        symbol = names.limiting_mass(which, title(f"static.{which}-meaning"), value)
        blocks.append(Paragraph(text=say(f"static.{which}", the_slider=context.the(slider))))
        blocks.append(Working(equations=(context.result(symbol, tree, "kg"),)))
    return Step(
        id="limits",
        topic="static.limits",
        title=title("static.title-limits"),
        idea=say("static.idea-limits", the_slider=context.the(slider)),
        blocks=tuple(blocks),
    )


def _grips_alone(context: Context) -> bool:
    """Whether static friction holds the object on its slope even without a weight."""
    body = context.setting.bodies[context.slider]
    coefficient = body.friction if body.static_friction is None else body.static_friction
    return float(coefficient) >= math.tan(abs(context.setting.slope(context.slider)))


def _once_it_slides(context: Context, name: str) -> Iterator[Block]:
    """The kinetic friction that would act, where it differs from the limit."""
    names = context.names
    if names.static_coefficient(name) == names.coefficient(name):
        return
    force = names.sliding_friction(name, context.value(context.motion.friction_in_full(name)))
    yield Paragraph(text=say("static.sliding", the_slider=context.the(name)))
    yield Working(equations=(context.result(force, context.motion.friction_in_full(name), "N"),))


def _within(needed: Operand, limit: Operand) -> Relation:
    return Relation(sides=(as_expression(needed), as_expression(limit)), signs=("≤",))


def held_pulley_step(context: Context, pulley: str) -> Iterator[Step]:
    """The torque that a bearing needs to hold a pulley, against the most that it has."""
    blocks = tuple(_holding_torque(context, pulley))
    if not blocks:
        return
    the = context.the(pulley)
    yield Step(
        id=f"holding-{pulley}",
        topic="static.pulley",
        title=title("static.title-pulley", the_pulley=the),
        idea=say("static.idea-pulley", the_pulley=the),
        blocks=blocks,
    )


def _holding_torque(context: Context, pulley: str) -> Iterator[Block]:
    names, the = context.names, context.the(pulley)
    if context.setting.unpulled(pulley):
        yield Paragraph(text=say("static.no-pull", the_pulley=the))
        return
    needed = holding_torque(context, pulley)
    if needed is None:
        return
    torque, limit = names.holding_torque(pulley), names.bearing_torque(pulley)
    key = "drum" if len(list(context.motion.rim_pulls(pulley))) == 1 else "pulley"
    yield Paragraph(text=say(f"static.holds-{key}", the_pulley=the))
    yield Working(equations=(context.result(torque, needed, "N·m"),))
    yield Paragraph(
        text=say("static.enough-pulley", the_pulley=the, relation=_within(torque, limit))
    )


def no_energy_step() -> Step:
    """Nothing moves: no force does work, for any choice of system."""
    return Step(
        id="no-work-at-rest",
        topic="static.energy",
        title=title("static.title-energy"),
        idea=say("static.idea-energy"),
        blocks=(Paragraph(text=say("static.no-work")),),
    )
