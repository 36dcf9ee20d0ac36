"""Time, speed and path of a part of the run, whatever ends it; parts after a turning point."""

from collections.abc import Iterator
from dataclasses import replace

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Equation, FigureSlot, Paragraph, Step, Working
from fallwork.lesson.expression import Expression, Root, Symbol, as_expression
from fallwork.lesson.setting import Ending
from fallwork.lesson.steps.acceleration import acceleration_step
from fallwork.lesson.steps.newton import newton_equation, rotor_equation
from fallwork.lesson.steps.pieces import times_word
from fallwork.lesson.steps.tension import tension_step
from fallwork.lesson.trees import half, product, scaled, signed, total
from fallwork.lesson.words import listing, say, sentence, title


def time_step(context: Context) -> Step:
    """Final speed and time, from what settles them."""
    case = _case(context)
    blocks = [*_CASES[case](context)]
    if case != "open":
        blocks += _others(context)
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
        return "turns" if setting.ending is Ending.TURNS else "rests"
    if setting.ending is Ending.TIME:
        return "time"
    if not setting.tied and setting.ending in (Ending.TURNS, Ending.RESTS):
        return "stopped"
    return "constant" if setting.constant else "distance"


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


# The symbols in the equations.


def _start(context: Context, name: str) -> Symbol | None:
    """The speed at the start of a mover; None where that is zero."""
    if not context.setting.first_speed(name):
        return None
    return context.names.start_speed_of(name)


def _signed_start(context: Context, name: str) -> Expression | None:
    """The velocity at the start in the lesson's sense: minus the speed if it leads back."""
    start = _start(context, name)
    if start is None:
        return None
    return -as_expression(start) if context.setting.starts_back(name) else as_expression(start)


def _acceleration(context: Context, name: str) -> Symbol:
    if context.setting.tied and context.setting.ratio(name) == 1:
        return context.names.acceleration
    return context.names.acceleration_of(name)


def _speed_after(context: Context, name: str, time: Symbol) -> Expression:
    """v₀ + a t."""
    start, grown = _signed_start(context, name), product(_acceleration(context, name), time)
    return grown if start is None else total([start, grown])


def _path_after(context: Context, name: str, time: Symbol) -> Expression:
    """v₀ t + ½ a t²."""
    start = _start(context, name)
    grown = half(_acceleration(context, name), as_expression(time) ** 2)
    if start is None:
        return grown
    sign = -1 if context.setting.starts_back(name) else 1
    way = signed(sign, product(start, time))
    return way if context.setting.phase.accelerations[name] == 0 else total([way, grown])


# The cases.


def _open(context: Context) -> Iterator[Block]:
    """Nothing ends the motion: formulas for any time."""
    names, reference = context.names, context.setting.reference
    yield Paragraph(text=say("time-and-speed.open", t=names.time))
    speed = _speed_after(context, reference, names.time)
    path = _path_after(context, reference, names.time)
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
    rests = context.setting.ending is Ending.RESTS
    yield Paragraph(text=say("time-and-speed.rests" if rests else "time-and-speed.turns"))
    far = -(start**2) / product(2, a)
    yield Working(equations=(context.result(names.distance, far, "m"),))
    yield Paragraph(text=say("time-and-speed.time-turns"))
    yield Working(equations=(context.result(names.time, -start / a, "s"),))
    if rests:
        yield Paragraph(text=say("time-and-speed.stays"))


def _after_time(context: Context) -> Iterator[Block]:
    """The time is given."""
    names, reference = context.names, context.setting.reference
    yield Paragraph(text=say("time-and-speed.after-time", t=names.time))
    yield Working(
        equations=(
            context.result(names.speed, _speed_after(context, reference, names.time), "m/s"),
            context.result(names.distance, _path_after(context, reference, names.time), "m"),
        )
    )


def _stopped(context: Context) -> Iterator[Block]:
    """One of several free objects stops: its speed settles the time."""
    setting, names, name = context.setting, context.names, context.setting.ender
    start = as_expression(names.start_speed_of(name))
    yield Paragraph(text=say("time-and-speed.ended-by", ends=_ends(context)))
    yield Working(
        equations=(context.result(names.time, -start / _acceleration(context, name), "s"),)
    )
    if name != setting.reference:
        reference = setting.reference
        yield Working(
            equations=(
                context.result(names.distance, _path_after(context, reference, names.time), "m"),
                context.result(names.speed, _speed_after(context, reference, names.time), "m/s"),
            )
        )


def _constant(context: Context) -> Iterator[Block]:
    """Nothing changes the speed."""
    names = context.names
    yield from _distance_of_part(context)
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
    start = _start(context, context.setting.reference)
    yield from _distance_of_part(context)
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


# Where the distance comes from.


def _ends(context: Context) -> str:
    return context.setting.with_articles(context.setting.phase.ends or "")


def _distance_of_part(context: Context) -> Iterator[Block]:
    """How far the reference mover goes in this part, where that isn't given itself."""
    if context.names.distance_is_given:
        return
    setting = context.setting
    if setting.ending in (Ending.LANDS, Ending.COVERED) and setting.tied:
        yield from _from_run_distance(context)
    elif setting.ending is Ending.REACHES and setting.tied and room_of(context) is not None:
        yield from _from_room(context)
    else:
        yield from _by_value(context)


def _from_run_distance(context: Context) -> Iterator[Block]:
    """From the distance of the run's object, which moves farther or turned round before."""
    setting, names = context.setting, context.names
    run = setting.apparatus.run
    factor = setting.ratio(run.object)
    given: Expression = as_expression(names.run_distance)
    parts = {"the_object": context.the(run.object), "the_reference": context.the(setting.reference)}
    if setting.index:
        before = [context.at(index) for index in setting.driven if index < setting.index]
        back = [_way_before(context, earlier) for earlier in before]
        yield Paragraph(text=say("time-and-speed.distance-back", ends=_ends(context)))
        far = scaled(1 / factor, total([given, *back]))
        yield Working(equations=(context.result(names.distance, far, "m"),))
        return
    word = times_word(factor)
    yield Paragraph(text=say("time-and-speed.distance-share", factor=word, **parts))
    yield Working(equations=(context.result(names.distance, scaled(1 / factor, given), "m"),))


def _way_before(context: Context, earlier: Context) -> Expression:
    """The path of an earlier part: to be made good if it led away from the end of this one."""
    run = context.setting.apparatus.run
    now = context.setting.phase.displacements[run.object] or 0.0
    then = earlier.setting.phase.displacements[run.object] or 0.0
    path = earlier.motion.distance_tree(run.object)
    return path if now * then < 0 else -path


def room_of(context: Context) -> Expression | None:
    """How far the object that ends the part could move on its surface, from the givens."""
    setting, names, name = context.setting, context.names, context.setting.ender
    if name not in setting.sliders or setting.index or names.slider(name).starts_at is None:
        return None
    place = as_expression(names.start_place(name))
    if (setting.phase.displacements[name] or 0.0) < 0:
        return place
    surface = names.surface(name)
    if setting.scenario.surfaces[surface].length is None:
        return None
    return as_expression(names.length(surface)) - place


def _from_room(context: Context) -> Iterator[Block]:
    setting, names = context.setting, context.names
    room = room_of(context)
    assert room is not None
    factor = setting.ratio(setting.ender)
    ender = context.the(setting.ender)
    yield Paragraph(text=say("time-and-speed.distance-room", ends=_ends(context), the_object=ender))
    distance = room if factor == 1 else scaled(1 / factor, room)
    yield Working(equations=(context.result(names.distance, distance, "m"),))


def _by_value(context: Context) -> Iterator[Block]:
    """Where no short formula gives it: the value alone."""
    distance = context.names.distance
    the = context.the(context.setting.reference)
    yield Paragraph(text=say("time-and-speed.distance-value", ends=_ends(context), the_object=the))
    if distance.value is not None:
        yield Working(equations=(context.result(distance, distance, "m"),))


# The others, and the check.


def _others(context: Context) -> Iterator[Block]:
    """The speeds and paths of movers that don't share the reference mover's."""
    setting = context.setting
    if setting.tied:
        yield from _tied_others(context)
        return
    others = [n for n in setting.movers if n != setting.reference and not setting.rests(n)]
    equations: list[Equation] = []
    names = context.names
    for name in others:
        if setting.phase.displacements[name] is None:
            continue
        path = _path_after(context, name, names.time)
        speed = _speed_after(context, name, names.time)
        if not names.distance_of(name).given:
            equations.append(context.result(names.distance_of(name), path, "m"))
        equations.append(context.result(names.speed_of(name), speed, "m/s"))
    if equations:
        yield Paragraph(text=say("time-and-speed.others"))
        yield Working(equations=tuple(equations))


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


def _check(context: Context, case: str) -> tuple[Block, ...]:
    """The distance from the mean speed."""
    if case not in ("distance", "turns", "rests", "time"):
        return ()
    names = context.names
    start = _start(context, context.setting.reference)
    key, speeds = "check", as_expression(names.speed)
    if case in ("turns", "rests"):
        key, speeds = "check-turns", as_expression(names.start_speed)
    elif start is not None:
        key = "check-back" if context.setting.turns_within else "check-push"
        first = _signed_start(context, context.setting.reference)
        speeds = total([names.speed, first or 0])
    mean = half(speeds, names.time)
    return (
        Paragraph(text=say(f"time-and-speed.{key}")),
        Working(equations=(context.result(names.distance, mean, "m"),)),
    )


def later_steps(context: Context) -> Iterator[Step]:
    """A part of the run after a turning point: other friction, other acceleration."""
    setting = context.setting
    if not setting.tied:
        return
    for step in (acceleration_step(context), tension_step(context), time_step(context)):
        if step is not None:
            blocks = step.blocks
            if step.topic == "acceleration":
                blocks = (*_new_equations(context), *blocks)
            heading = f"{step.title}{sentence('later.title')}"
            stem = step.topic.split(".")[0]
            idea = say(f"later.{stem}")
            yield replace(step, title=heading, topic=f"{stem}.later", idea=idea, blocks=blocks)


def _new_equations(context: Context) -> Iterator[Block]:
    """Newton's second law for each object with the new signs."""
    setting = context.setting
    key = "later.lead" if context.rubs else "later.lead-frictionless"
    yield Paragraph(
        text=say(
            key,
            the_object=context.the(setting.reference),
            sense=context.names.sense(setting.reference),
            part=setting.part,
        )
    )
    yield Paragraph(text=say("later.newton"))
    moving = [name for name in setting.movers if not setting.rests(name)]
    equations = [newton_equation(context, name) for name in moving]
    equations += [rotor_equation(context, pulley) for pulley in setting.rotors]
    yield Working(equations=tuple(equations))
