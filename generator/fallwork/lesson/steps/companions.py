"""Speeds and paths of what doesn't share the reference mover's, and the turning of pulleys.

Takes a context; gives the sentences and equations that follow the reference mover's.
"""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, Paragraph, Working
from fallwork.lesson.steps.pace import angle_after, path_after, speed_after, spin_after
from fallwork.lesson.trees import scaled
from fallwork.lesson.words import listing, say


def others(context: Context) -> Iterator[Block]:
    """The speeds and paths of movers that don't share the reference mover's."""
    setting = context.setting
    if setting.tied:
        yield from _tied_others(context)
        return
    apart = [n for n in setting.movers if n != setting.reference and not setting.rests(n)]
    equations: list[Equation] = []
    names = context.names
    for name in apart:
        if setting.phase.displacements[name] is None:
            continue
        path = path_after(context, name, names.time)
        speed = speed_after(context, name, names.time)
        if not names.distance_of(name).given:
            equations.append(context.result(names.distance_of(name), path, "m"))
        equations.append(context.result(names.speed_of(name), speed, "m/s"))
    if equations:
        yield Paragraph(text=say("time-and-speed.others"))
        yield Working(equations=tuple(equations))
    yield from _turns_of_pulleys(context)


def _turns_of_pulleys(context: Context) -> Iterator[Block]:
    """Angle and final angular velocity of each pulley that takes a torque and turns."""
    names = context.names
    for pulley in context.setting.spinning:
        yield Paragraph(text=say("time-and-speed.turning", the_pulley=context.the(pulley)))
        angle, spin = (after(context, pulley, names.time) for after in (angle_after, spin_after))
        yield Working(
            equations=(
                context.result(names.angle(pulley), angle, "rad"),
                context.result(names.spin(pulley), spin, "rad/s"),
            )
        )


def _tied_others(context: Context) -> Iterator[Block]:
    """Those that move farther: their final speeds in proportion."""
    setting, names = context.setting, context.names
    faster = [name for name in setting.movers if setting.ratio(name) != 1]
    if not faster or setting.turns:
        return
    yield Paragraph(
        text=say("time-and-speed.others-tied", the_others=listing([context.the(n) for n in faster]))
    )
    equations = [
        context.result(names.speed_of(name), scaled(setting.ratio(name), names.speed), "m/s")
        for name in faster
    ]
    yield Working(equations=tuple(equations))
