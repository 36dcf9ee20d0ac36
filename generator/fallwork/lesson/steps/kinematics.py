"""Time, speed and path of a part of the run, whatever ends it; parts after a turning point."""

from collections.abc import Iterator
from dataclasses import replace

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, FigureSlot, Paragraph, Step, Working
from fallwork.lesson.expression import Expression, Root, Symbol, as_expression
from fallwork.lesson.lab import Lab
from fallwork.lesson.stepfiles import step_from
from fallwork.lesson.steps.companions import others
from fallwork.lesson.steps.distances import distance_of_part, ends
from fallwork.lesson.steps.pace import (
    acceleration_in,
    path_after,
    signed_start,
    speed_after,
    start_of,
)
from fallwork.lesson.trees import half, product, total
from fallwork.lesson.words import say, sentence, title
from fallwork.mechanics.solution import Ending


def time_step(context: Context) -> Step:
    """Final speed and time, from what settles them."""
    case = _case(context)
    blocks = [*_CASES[case](context)]
    if case != "open":
        blocks += others(context)
        if context.numbers and context.setting.index == 0:
            blocks.append(FigureSlot(kind="motion"))
    turned = case if case in ("turns", "rests") else ""
    return Step(
        id=context.suffixed("time-and-speed"),
        topic=_topic(context, case),
        title=title(f"time-and-speed.title-{turned}" if turned else "time-and-speed.title"),
        idea=say(f"time-and-speed.{_IDEAS[case]}", t=context.names.time),
        blocks=tuple(blocks),
        check=_check(context, case),
    )


def _case(context: Context) -> str:
    setting = context.setting
    if setting.phase.ends is None:
        return "open"
    if setting.turns:
        return "rests" if setting.rests_at_end else "turns"
    if setting.ending is Ending.TIME:
        return "time"
    if not setting.tied and setting.ending in _STOPS:
        return "stopped"
    return "constant" if setting.constant else "distance"


_STOPS = (Ending.TURNS, Ending.RESTS, Ending.SPIN_TURNS, Ending.SPIN_STOPS)
_IDEAS = {
    "open": "idea-open",
    "turns": "idea-turns",
    "rests": "idea-rests",
    "time": "idea-time",
    "stopped": "idea-stopped",
    "constant": "idea-constant",
    "distance": "idea",
}


def _topic(context: Context, case: str) -> str:
    if context.setting.index:
        return "time-and-speed.later"
    if case == "distance":
        return "time-and-speed.push" if context.setting.starts_moving else "time-and-speed"
    return f"time-and-speed.{case}"


# The cases.


def _open(context: Context) -> Iterator[Block]:
    """Nothing ends the motion: formulas for any time."""
    names, reference = context.names, context.setting.reference
    yield Paragraph(text=say("time-and-speed.open", t=names.time))
    speed = speed_after(context, reference, names.time)
    path = path_after(context, reference, names.time)
    yield Working(
        equations=(
            Equation(left=as_expression(names.speed), right=speed, unit="m/s"),
            Equation(left=as_expression(names.distance), right=path, unit="m"),
        )
    )


def _turns(context: Context) -> Iterator[Block]:
    """The motion comes to a stop."""
    names = context.names
    a, start = context.reference_acceleration, as_expression(names.start_speed)
    rests = context.setting.rests_at_end
    back = context.setting.starts_back(context.setting.reference)
    key = "rests" if rests else "turns-back" if back else "turns"
    yield Paragraph(text=say(f"time-and-speed.{key}", v_0=names.start_speed))
    far = start**2 / product(2, a) if back else -(start**2) / product(2, a)
    yield Working(equations=(context.result(names.distance, far, "m"),))
    yield Paragraph(text=say("time-and-speed.time-turns"))
    yield Working(equations=(context.result(names.time, start / a if back else -start / a, "s"),))
    if rests:
        yield Paragraph(text=say("time-and-speed.stays"))


def _after_time(context: Context) -> Iterator[Block]:
    """The time is given."""
    names, reference = context.names, context.setting.reference
    yield Paragraph(text=say("time-and-speed.after-time", t=names.time))
    yield Working(
        equations=(
            context.result(names.speed, speed_after(context, reference, names.time), "m/s"),
            context.result(names.distance, path_after(context, reference, names.time), "m"),
        )
    )


def _stopped(context: Context) -> Iterator[Block]:
    """One of several free objects stops: its speed settles the time."""
    setting, names = context.setting, context.names
    yield Paragraph(text=say("time-and-speed.ended-by", ends=ends(context)))
    yield Working(equations=(context.result(names.time, _time_to_stop(context), "s"),))
    reference = setting.reference
    if setting.ender != reference:
        yield Working(
            equations=(
                context.result(names.distance, path_after(context, reference, names.time), "m"),
                context.result(names.speed, speed_after(context, reference, names.time), "m/s"),
            )
        )


def _time_to_stop(context: Context) -> Expression:
    """Speed at the start over how fast it is lost, for a pulley angular velocity likewise."""
    names, name = context.names, context.setting.ender
    if name in context.setting.rotors:
        return -as_expression(names.start_spin(name)) / names.angular_acceleration(name)
    return -as_expression(names.start_speed_of(name)) / acceleration_in(context, name)


def _constant(context: Context) -> Iterator[Block]:
    """Nothing changes the speed."""
    names = context.names
    yield from distance_of_part(context)
    yield Paragraph(text=say("time-and-speed.time-constant"))
    speed = as_expression(names.start_speed)
    yield Working(
        equations=(
            context.result(names.speed, speed, "m/s"),
            context.result(names.time, as_expression(names.distance) / names.speed, "s"),
        )
    )


def _distance(context: Context) -> Iterator[Block]:
    """The distance is known: speed, then time."""
    names, a = context.names, context.reference_acceleration
    start = start_of(context, context.setting.reference)
    yield from distance_of_part(context)
    square = product(2, a, names.distance)
    change: Expression = as_expression(names.speed)
    case = "" if start is None else "-push"
    parts = {"d": names.distance, "v_0": names.start_speed}
    if start is not None:
        square = as_expression(start) ** 2 + square
        back = context.setting.turns_within
        change = change + start if back else change - start
        if back:
            yield from _way_back(context, start)
    yield Paragraph(text=say(f"time-and-speed.speed{case}", **parts))
    yield Working(equations=(context.result(names.speed, Root(body=square), "m/s"),))
    yield Paragraph(text=say(f"time-and-speed.time{case}"))
    yield Working(equations=(context.result(names.time, change / a, "s"),))


def _way_back(context: Context, start: Symbol) -> Iterator[Block]:
    """The motion first goes the other way and turns round under the same forces."""
    names, reference = context.names, context.setting.reference
    far = as_expression(start) ** 2 / product(2, context.reference_acceleration)
    back = names.way_back(context.value(far))
    sense = names.way(reference, -context.setting.senses[reference])
    the = context.the(reference)
    yield Paragraph(text=say("time-and-speed.way-back", the_object=the, sense=sense))
    yield Working(equations=(context.result(back, far, "m"),))
    yield Paragraph(text=say("time-and-speed.then"))


_CASES = {
    "open": _open,
    "turns": _turns,
    "rests": _turns,
    "time": _after_time,
    "stopped": _stopped,
    "constant": _constant,
    "distance": _distance,
}


# The check.


def _check(context: Context, case: str) -> tuple[Block, ...]:
    """The distance from the mean speed."""
    if case not in ("distance", "turns", "rests", "time"):
        return ()
    names = context.names
    start = start_of(context, context.setting.reference)
    key, speeds = "check", as_expression(names.speed)
    if case in ("turns", "rests"):
        key, speeds = "check-turns", as_expression(names.start_speed)
    elif start is not None:
        key = "check-back" if context.setting.turns_within else "check-push"
        first = signed_start(context, context.setting.reference)
        speeds = total([names.speed, first or 0])
    mean = half(speeds, names.time)
    return (
        Paragraph(text=say(f"time-and-speed.{key}")),
        Working(equations=(context.result(names.distance, mean, "m"),)),
    )


def later_steps(lab: Lab) -> Iterator[Step]:
    """A part of the run after a turning point: other friction, other acceleration."""
    context, setting = lab.context, lab.context.setting
    if not setting.tied:
        return
    for step in (step_from("acceleration", lab), step_from("tension", lab)):
        if step is not None:
            yield step
    step = time_step(context)
    heading = f"{step.title}{sentence('later.title')}"
    idea = say("later.time-and-speed")
    yield replace(step, title=heading, topic="time-and-speed.later", idea=idea)
