"""What stays at rest: the pulls, the friction that is needed, and whether it can be had."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Paragraph, Relation, Step, Text, Working
from fallwork.lesson.elimination import Solved, holding_torque, inner_forces
from fallwork.lesson.expression import Expression, Operand, Symbol, as_expression
from fallwork.lesson.steps.directions import short_direction
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import Part, say, title
from fallwork.mechanics.solution import Interaction


def rest_steps(context: Context) -> Iterator[Step]:
    """The tensions, then static friction on each object that has some, then held pulleys."""
    static = {name: context.names.friction(name) for name in context.motion.frictions}
    found = [s for s in inner_forces(context)[0] if s.symbol not in static.values()]
    if found:
        yield _tension_step(context, found)
    for name in static:
        if context.motion.settled(name):
            yield _holding_step(context, name)
    if has_range(context):
        yield _range_step(context)
    for pulley in context.setting.rotors:
        if context.setting.pulleys[pulley].bearing_torque:
            yield from held_pulley_step(context, pulley)


def _tension_step(context: Context, found: list[Solved]) -> Step:
    blocks: list[Block] = []
    for solved in found:
        the = context.the(solved.source)
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
    motion, names = context.motion, context.names
    needed, friction = motion.friction_needed(name), motion.frictions[name]
    symbol = names.friction_limit(name)
    limit = product(names.static_coefficient(name), names.normal(name))
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
            Paragraph(text=_way(context, name)),
            Paragraph(text=say("static.limit")),
            Working(equations=(context.result(symbol, limit, "N"),)),
            Paragraph(text=say("static.enough", relation=_within(friction, symbol))),
            *_once_it_slides(context, name),
        ),
    )


def _way(context: Context, name: str) -> Text:
    """Which way static friction points, and why."""
    setting = context.setting
    friction = setting.force(Interaction.FRICTION, name)
    pull = setting.force(Interaction.TENSION, name)
    assert friction is not None
    sense = short_direction(context, friction)
    parts: dict[str, Part] = {"the_slider": context.the(name), "sense": sense}
    if not context.is_plain or pull is None:
        return say("static.way", **parts)
    sine = context.motion.sine(name)
    if sine is None or not pulls_uphill(context):
        return say("static.way-pull", **parts)
    parts["along"] = product(context.motion.gravity_on(name), sine)
    parts["T"] = context.names.tension(pull.partner, name)
    with_pull = (setting.along(friction) or 0.0) * (setting.along(pull) or 0.0) > 0
    return say("static.way-gravity" if with_pull else "static.way-weight", **parts)


def pulls_uphill(context: Context) -> bool:
    """Whether the string pulls the object on a slope up, so that gravity acts against it."""
    setting, slider = context.setting, context.slider
    pull = setting.force(Interaction.TENSION, slider)
    along = 0.0 if pull is None else setting.along(pull) or 0.0
    return along * setting.slope(slider) > 0


def _limiting_masses(context: Context) -> dict[str, Expression]:
    """The masses of the weights at the limits of what static friction can hold, and between."""
    names, motion, slider = context.names, context.motion, context.slider
    mass, coefficient = names.mass(slider), names.static_coefficient(slider)
    sine, cosine = motion.sine(slider), motion.cosine(slider)
    grip = product(coefficient, cosine) if cosine is not None else as_expression(coefficient)
    if sine is None:
        return {"most": product(grip, mass)}
    if not pulls_uphill(context):
        return {"most": product(mass, total([grip, -sine]))}
    found = {"most": product(mass, total([sine, grip]))}
    if not context.setting.clings(context.slider):
        found["least"] = product(mass, total([sine, -grip]))
    return {**found, "free": product(mass, sine)}


def holding_limits(context: Context) -> Iterator[tuple[str, Symbol]]:
    """The symbols of those masses: of the heaviest weight, the lightest, that without friction."""
    for which, tree in _limiting_masses(context).items():
        words = title(f"static.{which}-meaning")
        yield which, context.names.limiting_mass(which, words, context.value(tree))


def has_range(context: Context) -> bool:
    """Whether the weights that static friction can hold are to be told."""
    rests = not context.setting.moves and bool(context.motion.frictions)
    return rests and context.is_plain and not context.setting.open_forces


def _range_step(context: Context) -> Step:
    """The lightest and the heaviest weight for which static friction holds."""
    the = context.the(context.slider)
    masses, symbols = _limiting_masses(context), dict(holding_limits(context))
    sloping = "free" in masses
    idea = "static.idea-limits" if "least" in masses else "static.idea-limit"
    blocks: list[Block] = []
    for which, tree in masses.items():
        key = which if sloping else f"{which}-only"
        blocks.append(Paragraph(text=say(f"static.{key}", the_slider=the)))
        blocks.append(Working(equations=(context.result(symbols[which], tree, "kg"),)))
    if sloping and "least" not in masses:
        blocks.append(Paragraph(text=say("static.alone", the_slider=the)))
    return Step(
        id="limits",
        topic="static.limits",
        title=title("static.title-limits"),
        idea=say(idea, the_slider=the),
        blocks=tuple(blocks),
    )


def _once_it_slides(context: Context, name: str) -> Iterator[Block]:
    """The kinetic friction that would act, where it differs from the limit."""
    names = context.names
    if names.static_coefficient(name) == names.coefficient(name):
        return
    size = product(names.coefficient(name), names.normal(name))
    force = names.sliding_friction(name, context.value(size))
    yield Paragraph(text=say("static.sliding", the_slider=context.the(name)))
    yield Working(equations=(context.result(force, size, "N"),))


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
