"""The first stretch: what acts on what, a free-body diagram of each object, Newton's second law."""

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
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import join, listing, noun, say, sentence, the
from fallwork.mechanics.solution import Force, Interaction


def objects_step(context: Context) -> Step:
    """Objects and interactions, the model, and the positive senses."""
    setting = context.setting
    surfaces = [noun(name) for name in setting.apparatus.surfaces]
    fixed = listing([f"the {name}" for name in surfaces])
    senses = [f"{the(name)} {context.names.sense(name)}" for name in setting.movers]
    return Step(
        id="objects",
        topic="objects",
        title=sentence("objects.title"),
        idea=say("objects.idea"),
        blocks=(
            FigureSlot(kind="sketch"),
            Table(
                caption=sentence("objects.caption"),
                head=_head("objects", "interaction", "between", "what"),
                rows=_interaction_rows(context),
            ),
            Paragraph(text=say("objects.model", the_fixed=fixed)),
            Paragraph(
                text=say("objects.senses", list=listing(senses))
                if len(senses) > 1
                else say("objects.sense", the_object=the(setting.movers[0]), sense=senses[0])
            ),
        ),
    )


def diagram_step(context: Context, name: str) -> Step:
    """The free-body diagram of one object."""
    setting = context.setting
    rows = tuple(
        (
            (KINDS.get(force.interaction, force.interaction.value),),
            (the(force.partner),),
            say(f"directions.{direction(context, force)}"),
            (force_symbol(context, force),),
        )
        for force in setting.forces_on(name)
        if force.size
    )
    others = [other for other in setting.movers if other != name]
    closing: list[Block] = []
    if others:
        kind = "slider" if name in setting.sliders else "hanging"
        closing.append(
            Paragraph(text=say(f"diagram.{kind}", the_object=the(name), the_other=the(others[0])))
        )
    mass, acceleration = context.names.mass(name), context.names.acceleration_of(name)
    closing.append(Paragraph(text=say("diagram.no-ma", ma=product(mass, acceleration))))
    return Step(
        id=f"diagram-{name}",
        topic="diagram.slider" if name in setting.sliders else "diagram.hanging",
        title=str(say("diagram.title", the_object=the(name))[0]),
        idea=say("diagram.idea", the_object=the(name)),
        blocks=(
            FigureSlot(kind="diagram", subject=name),
            Table(
                caption=str(say("diagram.caption", the_object=the(name))[0]),
                head=_head("diagram", "force", "by", "direction", "symbol"),
                rows=rows,
            ),
            *closing,
        ),
    )


def newton_step(context: Context, name: str) -> Step:
    """Newton's second law for one object."""
    setting, names, motion = context.setting, context.names, context.motion
    slides = name in setting.sliders
    along = Equation(
        left=motion.resultant(name),
        right=product(names.mass(name), names.acceleration_of(name)),
        unit="N",
        name=f"Newton's second law for {the(name)}",
    )
    kind = "slider" if slides else "hanging"
    place = {"the_surface": the(names.surface(name))} if slides else {}
    blocks: list[Block] = [
        Paragraph(
            text=say(
                "newton.along" if slides else "newton.vertical", sense=names.sense(name), **place
            )
        ),
        Working(equations=(along,)),
    ]
    if slides:
        blocks += _perpendicular(context, name)
    return Step(
        id=f"newton-{name}",
        topic=f"newton.{kind}",
        title=str(say("newton.title", the_object=the(name))[0]),
        idea=say(f"newton.idea-{kind}", the_object=the(name), **place),
        blocks=tuple(blocks),
    )


def _perpendicular(context: Context, name: str) -> list[Block]:
    names, motion = context.names, context.motion
    normal, weight = names.normal(name), motion.gravity_on(name)
    blocks: list[Block] = [
        Paragraph(text=say("newton.perpendicular", the_surface=the(names.surface(name)))),
        Working(
            equations=(
                Equation(left=total([normal, -weight]), right=Number(value=0), unit="N"),
                Equation(
                    left=as_expression(normal), right=weight, unit="N", numbers=context.numbers
                ),
            )
        ),
    ]
    if name in motion.frictions and context.setting.slides(name):
        blocks += [
            Paragraph(text=say("newton.friction")),
            Working(
                equations=(
                    Equation(
                        left=motion.frictions[name],
                        right=product(names.coefficient(name), normal),
                        unit="N",
                        numbers=context.numbers,
                    ),
                )
            ),
        ]
    blocks.append(
        Paragraph(
            text=say(
                "newton.no-gravity", the_object=the(name), the_surface=the(names.surface(name))
            )
        )
    )
    return blocks


def force_symbol(context: Context, force: Force) -> Expression:
    """The tree that stands for the size of a force in diagrams and tables."""
    names, motion = context.names, context.motion
    match force.interaction:
        case Interaction.GRAVITY:
            return motion.gravity_on(force.on)
        case Interaction.NORMAL:
            return as_expression(names.normal(force.on))
        case Interaction.FRICTION:
            return as_expression(names.friction(force.on))
        case Interaction.TENSION:
            return as_expression(names.tension(force.partner, force.on))
    raise ValueError(force.name)


def direction(context: Context, force: Force) -> str:
    """A key of the directions' words for a force on a mover."""
    if force.vector is None:
        raise ValueError(force.name)
    if force.interaction is Interaction.NORMAL:
        return "away" if abs(force.vector[0]) > 1e-12 * abs(force.vector[1]) else "up"
    if force.on in context.setting.hanging or force.interaction is Interaction.GRAVITY:
        return "up" if force.vector[1] > 0 else "down"
    return "forward" if force.vector[0] > 0 else "back"


def _head(step: str, *columns: str) -> tuple[Text, ...]:
    return tuple((sentence(f"{step}.head.{column}"),) for column in columns)


def _interaction_rows(context: Context) -> tuple[tuple[Text, ...], ...]:
    """One row for each pair of objects that act on each other."""
    setting = context.setting
    rows: list[tuple[Text, ...]] = []
    for interaction in Interaction:
        for name in setting.movers:
            force = setting.force(interaction, name)
            if force is not None and interaction in _ROWS:
                rows.append(_row(context, force))
    for string in setting.apparatus.strings.values():
        for pulley in (name for name in string.path if name in setting.apparatus.pulleys):
            rows.append(
                (
                    ("contact",),
                    (f"{the(pulley)} and {the(string.name)}",),
                    say("objects.contact", the_pulley=the(pulley), the_string=the(string.name)),
                )
            )
            rows.append(
                (
                    ("axle",),
                    (f"the bench and {the(pulley)}",),
                    say("objects.axle", the_pulley=the(pulley)),
                )
            )
    return tuple(rows)


KINDS = {Interaction.NORMAL: "normal force"}  # where the trade's word isn't the short one

_ROWS = {
    Interaction.GRAVITY: "gravity",
    Interaction.NORMAL: "normal",
    Interaction.FRICTION: "friction",
    Interaction.TENSION: "tension",
}


def _row(context: Context, force: Force) -> tuple[Text, ...]:
    kind = force.interaction
    key = f"objects.{_ROWS[kind]}"
    parts = {"the_object": the(force.on), "the_partner": the(force.partner)}
    if kind is Interaction.FRICTION:
        key += f"-{context.setting.bodies[force.on].kind}" if force.size else "-none"
    if kind in (Interaction.NORMAL, Interaction.FRICTION):
        parts["the_surface"] = the(force.partner)
    if kind is Interaction.TENSION:
        parts["the_string"] = the(force.partner)
        word = direction(context, force)
        parts["sense"] = {"down": "downward", "up": "up"}.get(word, word)
    what = say(key, force=force_symbol(context, force), **parts)
    return (
        (KINDS.get(kind, kind.value),),
        (f"{the(force.partner)} and {the(force.on)}",),
        join(what),
    )
