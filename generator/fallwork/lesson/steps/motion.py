"""The second stretch: what the strings impose, acceleration, tension, checks, time and speed."""

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
from fallwork.lesson.expression import Expression, Operand, Root, as_expression, evaluate
from fallwork.lesson.trees import half, product, total, with_values
from fallwork.lesson.words import join, say, sentence, the, with_articles

EXTREME = 1000  # how many times heavier one object is made to look at a limiting case


def string_step(context: Context, string: str) -> Step:
    """What one string imposes on the objects at its ends."""
    names, path = context.names, context.setting.apparatus.strings[string].path
    first, second = path[0], path[-1]
    equal = Equation(
        left=as_expression(names.acceleration_of(first)),
        right=as_expression(names.acceleration_of(second)),
        forms=(as_expression(names.acceleration),),
        unit="m/s²",
    )
    same = say(
        "string.same",
        the_first=the(first),
        the_second=the(second),
        sense_first=names.sense(first),
        sense_second=names.sense(second),
    )
    tension = say("string.tension", the_pulley=the(context.pulley), T=names.tension(string, first))
    return Step(
        id=f"string-{string}" if string != "string" else "string",
        topic="string",
        title=_line("string.title", the_string=the(string)),
        idea=say("string.idea"),
        blocks=(
            Paragraph(text=same),
            Working(equations=(equal,)),
            Paragraph(text=tension),
            Paragraph(text=say("string.unlike")),
        ),
    )


def acceleration_step(context: Context) -> Step:
    """The sum of the equations of motion and its solution."""
    names, motion = context.names, context.motion
    a = names.acceleration
    blocks: list[Block] = [
        Paragraph(text=say("acceleration.sum", a=a)),
        Working(
            equations=(Equation(left=motion.driving, right=product(motion.inertia, a), unit="N"),)
        ),
        Paragraph(text=say("acceleration.solved")),
        Working(
            equations=(
                Equation(
                    left=as_expression(a),
                    right=motion.acceleration,
                    unit="m/s²",
                    numbers=context.numbers,
                ),
            )
        ),
    ]
    if motion.frictions:
        slider = context.slider
        friction = Relation(
            sides=(motion.frictions[slider], motion.friction_in_full(slider)), signs=("=",)
        )
        blocks += [
            Paragraph(text=say("acceleration.textbook", friction=friction)),
            Working(
                equations=(
                    Equation(left=as_expression(a), right=motion.acceleration_in_full, unit="m/s²"),
                )
            ),
        ]
    blocks.append(Paragraph(text=_along_the_string(context)))
    return Step(
        id="acceleration",
        topic="acceleration",
        title=_line("acceleration.title"),
        idea=say("acceleration.idea"),
        blocks=tuple(blocks),
    )


def _along_the_string(context: Context) -> Text:
    return say(
        "acceleration.along-the-string",
        the_slider=the(context.slider),
        the_hanging=the(context.weight),
        the_pulley=the(context.pulley),
        T=context.names.tension(context.string, context.slider),
    )


def tension_step(context: Context) -> Step:
    """The tension from one object's equation, checked by the other's."""
    names, motion = context.names, context.motion
    slider, weight, a = context.slider, context.weight, names.acceleration
    tension = as_expression(names.tension(context.string, weight))
    gravity = motion.gravity_on(weight)
    from_weight = product(names.mass(weight), names.gravity - as_expression(a))
    from_slider = total([product(names.mass(slider), a), *motion.frictions.values()])
    less: list[Text] = [
        say(
            "tension.less",
            the_hanging=the(weight),
            relation=Relation(sides=(tension, gravity), signs=("<",)),
        )
    ]
    if context.numbers:
        less.append(
            say(
                "tension.numbers",
                the_hanging=the(weight),
                tension=context.amount(evaluate(tension), "N"),
                gravity=context.amount(evaluate(gravity), "N"),
            )
        )
    return Step(
        id="tension",
        topic="tension",
        title=_line("tension.title"),
        idea=say("tension.idea"),
        blocks=(
            Paragraph(text=say("tension.from", the_object=the(weight))),
            Working(equations=(_result(context, tension, from_weight, "N"),)),
        ),
        check=(
            Paragraph(text=say("tension.check", the_object=the(slider))),
            Working(equations=(_result(context, tension, from_slider, "N"),)),
            Paragraph(text=join(*less)),
        ),
    )


def limits_step(context: Context) -> Step:
    """Units and limiting cases; with numbers the formulas are evaluated there."""
    light = _light_key(context)
    names, motion = context.names, context.motion
    slider, weight = names.mass(context.slider), names.mass(context.weight)
    static = light != "light-frictionless"
    threshold = (
        Relation(
            sides=(motion.gravity_on(context.weight), motion.largest_friction(context.slider)),
            signs=("≤",),
        )
        if static
        else Relation(sides=(as_expression(weight), as_expression(slider)), signs=("≪",))
    )
    common = {"the_slider": the(context.slider), "the_hanging": the(context.weight)}
    items = [
        say("limits.units", a=names.acceleration),
        join(
            say(
                f"limits.{light}",
                **common,
                a=names.acceleration,
                light=threshold,
                relation=threshold,
                weight=motion.gravity_on(context.weight),
            ),
            *_evaluated_light(context, static=static),
        ),
        join(
            say(
                "limits.heavy",
                **common,
                heavy=Relation(sides=(as_expression(weight), as_expression(slider)), signs=("≫",)),
                a_limit=Relation(
                    sides=(as_expression(names.acceleration), as_expression(names.gravity)),
                    signs=("→",),
                ),
                friction_too=sentence("limits.friction-too") if motion.frictions else "",
                and_friction=sentence("limits.and-friction") if motion.frictions else "",
                T_limit=Relation(
                    sides=(
                        as_expression(names.tension(context.string, context.weight)),
                        _heavy_tension(context),
                    ),
                    signs=("→",),
                ),
            ),
            *_evaluated_heavy(context),
        ),
    ]
    return Step(
        id="limits",
        topic="limits",
        title=_line("limits.title"),
        idea=say("limits.idea"),
        blocks=(Items(items=tuple(items)),),
    )


def _light_key(context: Context) -> str:
    if not context.motion.frictions:
        return "light-frictionless"
    own_static = context.setting.bodies[context.slider].static_friction is not None
    return "light-friction-static" if own_static else "light-friction"


def _heavy_tension(context: Context) -> Expression:
    """Slider's mass times g, with friction (1 + μ) times that."""
    gravity = context.motion.gravity_on(context.slider)
    if not context.motion.frictions:
        return gravity
    factor = as_expression(1) + context.names.coefficient(context.slider)
    return product(factor, context.names.mass(context.slider), context.names.gravity)


def _at_weight(context: Context, mass: float) -> tuple[float, float]:
    """Acceleration and tension by the printed formulas for another hanging mass."""
    names, motion = context.names, context.motion
    weight = names.mass(context.weight)
    values = {weight.id: mass}
    a = evaluate(with_values(motion.acceleration_in_full, values))
    return a, mass * (evaluate(as_expression(names.gravity)) - a)


def _evaluated_heavy(context: Context) -> tuple[Text, ...]:
    if not context.numbers:
        return ()
    mass = evaluate(as_expression(context.names.mass(context.slider))) * EXTREME
    a, tension = _at_weight(context, mass)
    text = say(
        "limits.evaluated",
        factor=EXTREME,
        the_slider=the(context.slider),
        a=context.amount(a, "m/s²"),
        T=context.amount(tension, "N"),
    )
    return (text,)


def _evaluated_light(context: Context, *, static: bool) -> tuple[Text, ...]:
    if not context.numbers or static:
        return ()
    mass = evaluate(as_expression(context.names.mass(context.slider))) / EXTREME
    a, tension = _at_weight(context, mass)
    share = tension / (mass * evaluate(as_expression(context.names.gravity)))
    text = say(
        "limits.evaluated-light",
        factor="one thousandth",
        the_slider=the(context.slider),
        a=context.amount(a, "m/s²"),
        share=context.amount(100 * share, "%"),
    )
    return (text,)


def time_step(context: Context) -> Step:
    """Final speed and time over the distance, from rest."""
    names = context.names
    a, d, v, t = names.acceleration, names.distance, names.speed, names.time
    blocks: list[Block] = [
        Paragraph(text=say("time-and-speed.speed", d=d)),
        Working(equations=(_result(context, v, Root(body=product(2, a, d)), "m/s"),)),
        Paragraph(text=say("time-and-speed.time")),
        Working(equations=(_result(context, t, product(v) / a, "s"),)),
    ]
    if context.numbers:
        blocks.append(FigureSlot(kind="motion"))
    return Step(
        id="time-and-speed",
        topic="time-and-speed",
        title=_line("time-and-speed.title"),
        idea=say("time-and-speed.idea"),
        blocks=tuple(blocks),
        check=(
            Paragraph(text=say("time-and-speed.check")),
            Working(equations=(_result(context, d, half(v, t), "m"),)),
        ),
    )


def after_landing_step(context: Context) -> Step:
    """What the slider does when the weight has landed."""
    motion, slider = context.motion, context.slider
    parts = {
        "the_slider": the(slider),
        "the_hanging": the(context.weight),
        "the_surface": the(context.surface),
    }
    rubs = bool(motion.frictions)
    blocks: list[Block] = [
        Paragraph(text=say("after-landing.landing", **parts)),
        *(_coasting(context) if rubs else ()),
        Paragraph(text=_where_it_ends(context)),
    ]
    return Step(
        id="after-landing",
        topic="after-landing",
        title=_line("after-landing.title"),
        idea=say("after-landing.idea" if rubs else "after-landing.idea-frictionless", **parts),
        blocks=tuple(blocks),
    )


def _coasting(context: Context) -> list[Block]:
    names, motion, slider = context.names, context.motion, context.slider
    coasting = names.coasting_acceleration
    stop = names.coasting_distance
    return [
        Paragraph(text=say("after-landing.coasting", the_slider=the(slider))),
        Working(
            equations=(
                Equation(
                    left=-motion.frictions[slider],
                    right=product(names.mass(slider), coasting),
                    unit="N",
                ),
                _result(
                    context,
                    coasting,
                    -product(names.coefficient(slider), names.gravity),
                    "m/s²",
                ),
            )
        ),
        Paragraph(text=say("after-landing.stop")),
        Working(
            equations=(
                _result(
                    context,
                    stop,
                    as_expression(names.speed) ** 2
                    / product(2, names.coefficient(slider), names.gravity),
                    "m",
                ),
            )
        ),
    ]


def _where_it_ends(context: Context) -> Text:
    last = context.setting.solution.phases[-1]
    if last.ends is None or not context.numbers:
        return say("after-landing.end-open")
    ends = with_articles(
        last.ends, (*context.setting.scenario.objects, *context.setting.apparatus.surfaces)
    )
    speed = abs(last.end_velocities[context.slider] or 0.0)
    if not context.rubs or not speed:
        return say("after-landing.end", ends=ends)
    return say(
        "after-landing.short",
        ends=ends,
        speed=context.amount(speed, "m/s"),
        the_surface=the(context.surface),
        the_slider=the(context.slider),
    )


def _result(context: Context, left: Operand, right: Expression, unit: str) -> Equation:
    return Equation(
        left=as_expression(left),
        right=right,
        unit=unit,
        numbers=context.numbers,
    )


def _line(key: str, **parts: str) -> str:
    """A title: a sentence without formulas."""
    return "".join(str(piece) for piece in say(key, **parts))
