"""Free-body diagrams, and Newton's second law for objects and pulleys that are hard to turn."""

from collections.abc import Iterator
from itertools import cycle

from fallwork.lesson.context import Context
from fallwork.lesson.document import (
    Block,
    Equation,
    FigureSlot,
    Paragraph,
    Step,
    Table,
    Text,
    Working,
)
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.labels import segments_at
from fallwork.lesson.steps.directions import direction
from fallwork.lesson.steps.pieces import head, kind_of
from fallwork.lesson.trees import ZERO, product, scaled, signed, total
from fallwork.lesson.words import Part, say, sentence, title
from fallwork.mechanics.solution import Force, Interaction


def diagram_step(context: Context, name: str) -> Step:
    """The free-body diagram of one object."""
    setting, the = context.setting, context.the(name)
    rows = tuple(
        (
            (kind,),
            (context.the(force.partner),),
            say(f"directions.{direction(context, force)}"),
            (size,),
        )
        for force in setting.forces_on(name)
        if setting.acts(force)
        for kind, size in _contacts(context, force)
    )
    return Step(
        id=f"diagram-{name}",
        topic="diagram.slider" if name in setting.sliders else "diagram.hanging",
        title=title("diagram.title", the_object=the),
        idea=say("diagram.idea", the_object=the),
        blocks=(
            FigureSlot(kind="diagram", subject=name),
            Table(
                caption=title("diagram.caption", the_object=the),
                head=head("diagram", "force", "by", "direction", "symbol"),
                rows=rows,
            ),
            *_not_in_the_diagram(context, name),
        ),
    )


def _contacts(context: Context, force: Force) -> Iterator[tuple[str, Expression]]:
    """A force in a word with its symbol; a string round a pulley pulls on two sides of it."""
    if force.interaction is not Interaction.CONTACT:
        yield kind_of(force), context.motion.size(force)
        return
    path = context.setting.apparatus.strings[force.partner].path
    sides = cycle(("one", "other"))  # a pulley that is passed twice has two of each
    for at, side in zip(segments_at(path, force.on), sides, strict=False):
        tension = context.names.tension_at(force.partner, at)
        yield sentence(f"kinds.side.{side}"), as_expression(tension)


def _not_in_the_diagram(context: Context, name: str) -> Iterator[Block]:
    """What doesn't act on the object although it matters for the motion."""
    setting = context.setting
    slides = name in setting.sliders
    alike = [mover for mover in setting.movers if (mover in setting.sliders) == slides]
    tempting = [mover for mover in alike if _far(context, mover)]
    direct = [mover for mover in tempting if _far(context, mover)[1] in _ends(context, mover)]
    if name in (direct or tempting)[:1]:  # said once for what slides and once for what hangs
        string, other = _far(context, name)
        yield Paragraph(
            text=say(
                f"diagram.{'slider' if slides else 'hanging'}",
                the_object=context.the(name),
                the_other=context.the(other),
                the_string=context.the(string),
            )
        )
    moving = [n for n in setting.movers if context.motion.mass_times_acceleration(n) != ZERO]
    if setting.moves and moving[:1] == [name]:
        ma = context.motion.mass_times_acceleration(name)
        yield Paragraph(text=say("diagram.no-ma", ma=ma))


def _far(context: Context, name: str) -> tuple[str, ...]:
    """A string on the object, and something heavy that acts on it only by way of the string."""
    setting = context.setting
    touching = {name, *(force.partner for force in setting.forces_on(name))}
    others = (*setting.hanging, *setting.sliders, *setting.lifts)
    if name not in setting.sliders:
        others = setting.movers
    far = [other for other in others if other not in touching and setting.mass(other)]
    strings = setting.strings_at(name)
    if not far or not strings:
        return ()
    if name not in setting.sliders:  # what hangs: first what shares a string with it
        far.sort(key=lambda other: other not in _ends(context, name))
    paths = setting.apparatus.strings
    leading = [string for string in strings if far[0] in paths[string].path]
    return (leading or strings)[0], far[0]


def _ends(context: Context, name: str) -> set[str]:
    """What the strings on an object pass or end on."""
    setting = context.setting
    strings = (setting.apparatus.strings[string] for string in setting.strings_at(name))
    return {passed for string in strings for passed in string.path}


def newton_step(context: Context, name: str) -> Step:
    """Newton's second law for one object, or the balance of forces on one that is at rest."""
    setting, the = context.setting, context.the(name)
    slides = name in setting.sliders
    place = {"the_surface": context.the(context.names.surface(name))} if slides else {}
    blocks: list[Block] = [*_along(context, name)]
    if slides:
        blocks += _slope(context, name)
        blocks += _perpendicular(context, name)
        blocks += _wheels(context, name)
    kind = "slider" if slides else "hanging"
    if not setting.mass(name):
        kind = "massless"
    key = "newton.title-rest" if not setting.moves else "newton.title"
    return Step(
        id=f"newton-{name}",
        topic=f"newton.{kind}",
        title=title(key, the_object=the),
        idea=say(f"newton.{_idea(context, name)}", the_object=the, **place),
        blocks=tuple(blocks),
    )


def _idea(context: Context, name: str) -> str:
    setting = context.setting
    if not setting.mass(name):
        return "idea-massless"
    rests = not setting.moves or setting.rests(name)
    if name in setting.sliders:
        level = "" if setting.slope(name) else "-level"
        return "idea-slider-rest" if rests else f"idea-slider{level}"
    if rests:
        return "idea-hanging-rest"
    if name in setting.lifts:
        return "idea-lift"
    return "idea-hanging" if context.motion.inner(name) else "idea-loose"


def _along(context: Context, name: str) -> Iterator[Block]:
    """The equation along the object's path."""
    names, motion = context.names, context.motion
    slides = name in context.setting.sliders
    place = {"the_surface": context.the(names.surface(name))} if slides else {}
    if not motion.settled(name):
        yield Paragraph(text=say("newton.open", **place))
        return
    equation = newton_equation(context, name)
    if equation.left == equation.right == ZERO:
        yield Paragraph(text=say("newton.nothing-along", the_object=context.the(name), **place))
        return
    lead = "newton.along" if slides else "newton.vertical"
    yield Paragraph(text=say(lead, sense=names.sense(name), **place))
    yield Working(equations=(equation,))


def newton_equation(context: Context, name: str, *, common: bool = False) -> Equation:
    """Sum of the forces along the path = mass times acceleration, its own or the common one."""
    motion = context.motion
    return Equation(
        left=motion.resultant(name),
        right=motion.mass_times_acceleration(name, common=common),
        unit="N",
        name=f"Newton's second law for {context.the(name)}",
    )


def _slope(context: Context, name: str) -> Iterator[Block]:
    sine, cosine = context.motion.sine(name), context.motion.cosine(name)
    if sine is not None:
        gravity = context.motion.gravity_on(name)
        yield Paragraph(
            text=say(
                "newton.components",
                the_object=context.the(name),
                along=product(gravity, sine),
                across=product(gravity, cosine or 1),
                the_surface=context.the(context.names.surface(name)),
            )
        )


def _perpendicular(context: Context, name: str) -> Iterator[Block]:
    names, motion, setting = context.names, context.motion, context.setting
    if setting.upright(name):
        surface, the = context.the(names.surface(name)), context.the(name)
        yield Paragraph(text=say("newton.upright", the_object=the, the_surface=surface))
        return
    normal, weight = names.normal(name), motion.normal_in_full(name)
    place: dict[str, Part] = {"the_surface": context.the(names.surface(name))}
    level = "" if setting.slope(name) else "-level"
    yield Paragraph(text=say(f"newton.perpendicular{level}", **place))
    yield Working(
        equations=(
            Equation(left=total([normal, -weight]), right=ZERO, unit="N"),
            context.result(normal, weight, "N"),
        )
    )
    if name in motion.kinetic_frictions:
        rolling = "-rolling" if setting.rolls(name) else ""
        yield Paragraph(text=say(f"newton.friction{rolling}"))
        friction = product(names.coefficient(name), normal)
        yield Working(equations=(context.result(motion.frictions[name], friction, "N"),))
    if level and setting.moves and name == setting.sliders[0]:
        yield Paragraph(text=say("newton.no-gravity", the_object=context.the(name), **place))


def _wheels(context: Context, name: str) -> Iterator[Block]:
    """What makes the wheels of a cart turn."""
    extra = context.motion.rolling_mass(name)
    force = context.setting.force(Interaction.ROLLING, name)
    if extra is None or force is None or not force.size:
        return
    rolling = context.names.rolling(name)
    gains = (context.setting.along(force) or 0.0) * context.setting.senses[name] < 0
    needed = product(extra, context.motion.own_acceleration(name))
    count = context.names.wheel_count(name)
    yield Paragraph(text=say("newton.wheels", R=rolling, count=count))
    yield Working(
        equations=(
            Equation(
                left=as_expression(rolling), right=signed(1 if gains else -1, needed), unit="N"
            ),
        )
    )


def rotor_step(context: Context, pulley: str) -> Step:
    """Newton's second law for the turning of a pulley that takes a torque."""
    the = context.the(pulley)
    idea = "idea-drum" if len(list(context.motion.rim_pulls(pulley))) == 1 else "idea-pulley"
    if not context.setting.pulleys[pulley].inertia:
        idea = "idea-pulley-drag"
    return Step(
        id=f"turning-{pulley}",
        topic="newton.pulley",
        title=title("newton.title-pulley", the_pulley=the),
        idea=say(f"newton.{idea}", the_pulley=the),
        blocks=(
            FigureSlot(kind="diagram", subject=pulley),
            Paragraph(text=_torques(context, pulley)),
            Working(equations=(rotor_equation(context, pulley),)),
            *_rim(context, pulley),
            *_disc(context, pulley),
        ),
    )


def _torques(context: Context, pulley: str) -> Text:
    """What the letters of the equation of turning stand for."""
    names = context.names
    parts: dict[str, Part] = {"r": names.radius(pulley), "the_pulley": context.the(pulley)}
    if not context.setting.pulleys[pulley].inertia:
        return say("newton.torques-light", **parts)
    parts |= {"I": names.inertia(pulley), "alpha": names.angular_acceleration(pulley)}
    return say("newton.torques", **parts)


def rotor_equation(context: Context, pulley: str) -> Equation:
    """Sum of the torques = rotational inertia times angular acceleration."""
    names, parts = context.names, context.setting.pulleys[pulley]
    torques: list[Expression] = [
        signed(sign, product(tension, names.radius(pulley)))
        for sign, tension in context.motion.rim_pulls(pulley)
    ]
    if parts.bearing_torque:
        torques.append(signed(-context.setting.onward, names.bearing_torque(pulley)))
    turning: Expression = ZERO
    if parts.inertia:
        turning = product(names.inertia(pulley), names.angular_acceleration(pulley))
    return Equation(left=total(torques), right=turning, unit="N·m")


def _rim(context: Context, pulley: str) -> Iterator[Block]:
    """The angular acceleration from that of the string, where one acceleration settles all."""
    setting = context.setting
    if not setting.pulleys[pulley].inertia or not setting.tied:
        return
    yield Paragraph(text=say("newton.rim", the_pulley=context.the(pulley)))
    yield Working(equations=(rim_equation(context, pulley),))


def rim_equation(context: Context, pulley: str) -> Equation:
    """The angular acceleration by the common acceleration."""
    names = context.names
    speedup = scaled(context.setting.rim(pulley), names.acceleration) / names.radius(pulley)
    alpha = as_expression(names.angular_acceleration(pulley))
    return Equation(left=alpha, right=speedup, unit="rad/s²")


def _disc(context: Context, pulley: str) -> Iterator[Block]:
    """The inertia of a uniform disc from its mass and radius."""
    thing = context.setting.scenario.objects[pulley]
    if getattr(thing, "inertia", None) is None and context.setting.pulleys[pulley].inertia:
        names = context.names
        mass, radius = names.pulley_mass(pulley), as_expression(names.radius(pulley))
        inertia = product(mass, radius**2) / 2
        yield Paragraph(text=say("newton.disc", the_pulley=context.the(pulley)))
        yield Working(equations=(context.result(names.inertia(pulley), inertia, "kg·m²"),))
