"""The first stretch: what acts on what, a free-body diagram of each object, Newton's second law."""

from collections.abc import Iterator

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
from fallwork.lesson.expression import Expression, Number, as_expression
from fallwork.lesson.trees import product, signed, total
from fallwork.lesson.words import Part, join, listing, say, sentence, the, title
from fallwork.mechanics.solution import Force, Interaction

KINDS = {
    Interaction.NORMAL: "normal force",
    Interaction.ROLLING: "force at the rims",
    Interaction.CONTACT: "pull of the string",
    Interaction.AXLE: "pull",
}


def kind_of(force: Force) -> str:
    """The trade's word for a kind of force."""
    return KINDS.get(force.interaction, force.interaction.value)


def objects_step(context: Context) -> Step:
    """Objects and interactions, the model, and the positive senses."""
    setting = context.setting
    senses = [f"{the(name)} {context.names.sense(name)}" for name in setting.movers]
    return Step(
        id="objects",
        topic="objects",
        title=title("objects.title"),
        idea=say("objects.idea"),
        blocks=(
            FigureSlot(kind="sketch"),
            Table(
                caption=sentence("objects.caption"),
                head=head("objects", "interaction", "between", "what"),
                rows=tuple(_interaction_rows(context)),
            ),
            Paragraph(text=_model(context)),
            Paragraph(
                text=say("objects.senses", list=listing(senses))
                if len(senses) > 1
                else say("objects.sense", the_object=senses[0])
            ),
        ),
    )


def _model(context: Context) -> Text:
    """What the model leaves out."""
    setting = context.setting
    ideal = [name for name in setting.pulleys if name not in setting.rotors]
    fixed = [the(name) for name in setting.apparatus.surfaces]
    parts = [
        say(
            "objects.model-strings"
            if len(setting.apparatus.strings) > 1
            else "objects.model-string"
        )
    ]
    if ideal:
        key = "objects.model-pulleys" if len(ideal) > 1 else "objects.model-pulley"
        parts.append(say(key, the_pulley=the(ideal[0]), pulleys=listing([the(n) for n in ideal])))
    for name in setting.rotors:
        parts.append(say("objects.model-rotor", the_pulley=the(name)))
    parts.append(say("objects.model-air"))
    at_rest = listing(["Earth", *fixed, "the bench of the room"])
    parts.append(say("objects.model-frame", at_rest=at_rest))
    return join(*parts)


def diagram_step(context: Context, name: str) -> Step:
    """The free-body diagram of one object."""
    setting = context.setting
    rows = tuple(
        (
            (kind_of(force),),
            (the(force.partner),),
            say(f"directions.{direction(context, force)}"),
            (context.motion.size(force),),
        )
        for force in setting.forces_on(name)
        if force.size
    )
    return Step(
        id=f"diagram-{name}",
        topic="diagram.slider" if name in setting.sliders else "diagram.hanging",
        title=title("diagram.title", the_object=the(name)),
        idea=say("diagram.idea", the_object=the(name)),
        blocks=(
            FigureSlot(kind="diagram", subject=name),
            Table(
                caption=title("diagram.caption", the_object=the(name)),
                head=head("diagram", "force", "by", "direction", "symbol"),
                rows=rows,
            ),
            *_not_in_the_diagram(context, name),
        ),
    )


def _not_in_the_diagram(context: Context, name: str) -> Iterator[Block]:
    setting = context.setting
    touching = {force.partner for force in setting.forces_on(name)}
    far = [other for other in setting.movers if other != name and other not in touching]
    if far:
        kind = "slider" if name in setting.sliders else "hanging"
        string = next(iter(setting.strings_at(name)), "")
        yield Paragraph(
            text=say(
                f"diagram.{kind}",
                the_object=the(name),
                the_other=the(far[0]),
                the_string=the(string or "string"),
            )
        )
    if setting.mass(name):
        mass, acceleration = context.names.mass(name), context.acceleration_of(name)
        yield Paragraph(text=say("diagram.no-ma", ma=product(mass, acceleration)))


def newton_step(context: Context, name: str) -> Step:
    """Newton's second law for one object that moves along its path."""
    setting, names, motion = context.setting, context.names, context.motion
    slides = name in setting.sliders
    kind = "slider" if slides else "hanging"
    if not setting.mass(name):
        kind = "massless"
    place = {"the_surface": the(names.surface(name))} if slides else {}
    acceleration = (
        product(names.mass(name), context.acceleration_of(name))
        if setting.mass(name)
        else Number(value=0)
    )
    along = Equation(
        left=motion.resultant(name),
        right=acceleration,
        unit="N",
        name=f"Newton's second law for {the(name)}",
    )
    lead = "newton.along" if slides else "newton.vertical"
    blocks: list[Block] = [
        Paragraph(text=say(lead, sense=names.sense(name), **place)),
        Working(equations=(along,)),
    ]
    if slides:
        blocks += _slope(context, name)
        blocks += _perpendicular(context, name)
        blocks += _wheels(context, name)
    return Step(
        id=f"newton-{name}",
        topic=f"newton.{kind}",
        title=title("newton.title", the_object=the(name)),
        idea=say(f"newton.idea-{kind}", the_object=the(name), **place),
        blocks=tuple(blocks),
    )


def _slope(context: Context, name: str) -> Iterator[Block]:
    sine = context.motion.sine(name)
    if sine is not None:
        cosine = context.motion.cosine(name)
        gravity = context.motion.gravity_on(name)
        yield Paragraph(
            text=say(
                "newton.components",
                the_object=the(name),
                along=product(gravity, sine),
                across=product(gravity, cosine or 1),
                the_surface=the(context.names.surface(name)),
            )
        )


def _perpendicular(context: Context, name: str) -> Iterator[Block]:
    names, motion = context.names, context.motion
    normal, weight = names.normal(name), motion.normal_in_full(name)
    place = {"the_surface": the(names.surface(name))}
    yield Paragraph(text=say("newton.perpendicular", **place))
    yield Working(
        equations=(
            Equation(left=total([normal, -weight]), right=Number(value=0), unit="N"),
            context.result(normal, weight, "N"),
        )
    )
    if name in motion.frictions and context.setting.slides(name):
        yield Paragraph(text=say("newton.friction"))
        friction = product(names.coefficient(name), normal)
        yield Working(equations=(context.result(motion.frictions[name], friction, "N"),))
    if not context.setting.slope(name):
        yield Paragraph(text=say("newton.no-gravity", the_object=the(name), **place))


def _wheels(context: Context, name: str) -> Iterator[Block]:
    extra = context.motion.rolling_mass(name)
    if extra is not None and context.setting.force(Interaction.ROLLING, name) is not None:
        rolling = context.names.rolling(name)
        yield Paragraph(text=say("newton.wheels", R=rolling, count=context.names.wheel_count(name)))
        yield Working(
            equations=(
                Equation(
                    left=as_expression(rolling),
                    right=product(extra, context.acceleration_of(name)),
                    unit="N",
                ),
            )
        )


def rotor_step(context: Context, pulley: str) -> Step:
    """Newton's second law for the turning of a pulley that takes a torque."""
    names, setting = context.names, context.setting
    parts = setting.pulleys[pulley]
    radius = names.radius(pulley)
    torques: list[Expression] = [
        signed(sign, product(tension, radius)) for sign, tension in rim_pulls(context, pulley)
    ]
    if parts.bearing_torque:
        torques.append(-as_expression(names.bearing_torque(pulley)))
    turning: Expression = Number(value=0)
    blocks: list[Block] = [Paragraph(text=say("newton.torques", the_pulley=the(pulley)))]
    if parts.inertia:
        turning = product(names.inertia(pulley), names.angular_acceleration(pulley))
    blocks.append(Working(equations=(Equation(left=total(torques), right=turning, unit="N·m"),)))
    if parts.inertia:
        alpha = names.angular_acceleration(pulley)
        rim = setting.rim(pulley)
        speedup = product(rim.numerator, context.names.acceleration) / radius
        blocks += [
            Paragraph(text=say("newton.rim", the_pulley=the(pulley))),
            Working(equations=(Equation(left=as_expression(alpha), right=speedup, unit="rad/s²"),)),
            *_disc(context, pulley),
        ]
    return Step(
        id=f"newton-{pulley}",
        topic="newton.pulley",
        title=title("newton.title-pulley", the_pulley=the(pulley)),
        idea=say("newton.idea-pulley", the_pulley=the(pulley)),
        blocks=tuple(blocks),
    )


def rim_pulls(context: Context, pulley: str) -> Iterator[tuple[int, Expression]]:
    """The pulls of a string at the rim; the one that turns the pulley its way is positive."""
    setting, names = context.setting, context.names
    for string in setting.apparatus.strings.values():
        if pulley not in string.path:
            continue
        way = 1 if setting.rim_ratio(pulley) * setting.ratio_sign >= 0 else -1
        if pulley == string.path[-1]:
            yield -way, as_expression(names.tension(string.name, pulley))
        elif pulley == string.path[0]:
            yield way, as_expression(names.tension(string.name, pulley))
        else:
            yield way, as_expression(names.tension(string.name, pulley, after=True))
            yield -way, as_expression(names.tension(string.name, pulley))


def _disc(context: Context, pulley: str) -> Iterator[Block]:
    """The inertia of a uniform disc from its mass and radius."""
    thing = context.setting.scenario.objects[pulley]
    if getattr(thing, "inertia", None) is None and getattr(thing, "mass", None) is not None:
        names = context.names
        mass, radius = names.pulley_mass(pulley), as_expression(names.radius(pulley))
        yield Paragraph(text=say("newton.disc", the_pulley=the(pulley)))
        yield Working(
            equations=(
                context.result(names.inertia(pulley), product(mass, radius**2) / 2, "kg·m²"),
            )
        )


def direction(context: Context, force: Force) -> str:
    """A key of the directions' words for a force on a mover."""
    if force.vector is None:
        raise ValueError(force.name)
    sloping = bool(context.setting.slope(force.on))
    if force.interaction is Interaction.NORMAL:
        return "away" if sloping else "up"
    if force.on not in context.setting.sliders or force.interaction is Interaction.GRAVITY:
        return "up" if force.vector[1] > 0 else "down"
    ahead = context.setting.along(force) > 0
    if sloping:
        return "up-slope" if ahead == (context.setting.slope(force.on) > 0) else "down-slope"
    return "forward" if ahead else "back"


def head(step: str, *columns: str) -> tuple[Text, ...]:
    """The heads of a table's columns."""
    return tuple((sentence(f"{step}.head.{column}"),) for column in columns)


def _interaction_rows(context: Context) -> Iterator[tuple[Text, ...]]:
    """One row for each pair of objects that act on each other."""
    setting = context.setting
    for interaction in _ROWS:
        for name in setting.movers:
            force = setting.force(interaction, name)
            if force is not None and (force.partner not in setting.carried):
                yield from _rows(context, force, interaction)
    for string in setting.apparatus.strings.values():
        for pulley in (name for name in string.path if name in setting.pulleys):
            if pulley not in setting.movers:
                yield from _pulley_rows(context, pulley, string.name)


def _pulley_rows(context: Context, pulley: str, string: str) -> Iterator[tuple[Text, ...]]:
    wound = pulley in (
        context.setting.apparatus.strings[string].path[0],
        context.setting.apparatus.strings[string].path[-1],
    )
    what = "objects.wound" if wound else "objects.contact"
    parts = {"the_pulley": the(pulley), "the_string": the(string)}
    yield ("contact",), (f"{the(pulley)} and {the(string)}",), say(what, **parts)
    if context.setting.pulleys[pulley].bearing_torque:
        tau = context.names.bearing_torque(pulley)
        what_bearing = say("objects.bearing", tau=tau, **parts)
        yield ("bearing torque",), (f"the bench and {the(pulley)}",), what_bearing
    yield ("axle",), (f"the bench and {the(pulley)}",), say("objects.axle", **parts)


_ROWS = {
    Interaction.GRAVITY: "gravity",
    Interaction.NORMAL: "normal",
    Interaction.FRICTION: "friction",
    Interaction.ROLLING: "rolling",
    Interaction.TENSION: "tension",
    Interaction.CONTACT: "carries",
    Interaction.AXLE: "support",
}


def _rows(context: Context, force: Force, kind: Interaction) -> Iterator[tuple[Text, ...]]:
    setting = context.setting
    several = [f for f in setting.forces_on(force.on) if f.interaction is kind]
    for each in several:
        if each.partner in setting.carried:
            continue
        word = kind_of(each) if kind is not Interaction.CONTACT else "contact"
        yield (word,), (f"{the(each.partner)} and {the(each.on)}",), _what(context, each)


def _what(context: Context, force: Force) -> Text:
    kind = force.interaction
    key = f"objects.{_ROWS[kind]}"
    parts: dict[str, Part] = {"the_object": the(force.on)}
    for role in ("the_partner", "the_surface", "the_string"):
        parts[role] = the(force.partner)
    if kind is Interaction.FRICTION:
        if not force.size:
            return say("objects.friction-none")
        key += f"-{context.setting.bodies[force.on].kind}"
        if not context.setting.slides(force.on):
            key = "objects.friction-static"
    if not force.size:
        return say("objects.no-force")
    if kind is Interaction.TENSION:
        parts["sense"] = say_direction(context, force)
    return say(key, force=context.motion.size(force), **parts)


def say_direction(context: Context, force: Force) -> str:
    """A direction in a word or two, for the middle of a sentence."""
    return sentence(f"directions.short.{direction(context, force)}")
