"""Where the distance of a part of the run comes from, when it isn't given itself.

Takes a context; gives the sentences and equations, or the room on a surface as a tree.
"""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Block, Paragraph, Working
from fallwork.lesson.expression import Expression, as_expression
from fallwork.lesson.trees import scaled, total
from fallwork.lesson.words import say, times_word
from fallwork.mechanics.solution import Ending


def ends(context: Context) -> str:
    """What ends the part, as a clause."""
    return context.setting.end


def distance_of_part(context: Context) -> Iterator[Block]:
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
    word = times_word(factor)
    given: Expression = as_expression(names.run_distance)
    parts = {"the_object": context.the(run.object), "the_reference": context.the(setting.reference)}
    if setting.index:
        key = "distance-back-covered" if setting.ending is Ending.COVERED else "distance-back"
        clause = {"ends": ends(context), "the_object": parts["the_object"]}
        yield Paragraph(text=say(f"time-and-speed.{key}", d=names.run_distance, **clause))
        far = scaled(1 / factor, total([*_ways_before(context, run.object), given]))
        yield Working(equations=(context.result(names.distance, far, "m"),))
        return
    yield Paragraph(text=say("time-and-speed.distance-share", factor=word, **parts))
    yield Working(equations=(context.result(names.distance, scaled(1 / factor, given), "m"),))


def _ways_before(context: Context, name: str) -> Iterator[Expression]:
    """The path in each earlier part: to be made good where it led away from the end of this one."""
    setting = context.setting
    now = setting.phase.displacements[name] or 0.0
    for earlier in (context.at(index) for index in setting.driven if index < setting.index):
        then = earlier.setting.phase.displacements[name] or 0.0
        path = earlier.motion.distance_tree(name)
        yield path if now * then < 0 else -path


def room_of(context: Context) -> Expression | None:
    """How far the object that ends the part could move on its surface, from the givens."""
    setting, names, name = context.setting, context.names, context.setting.ender
    if name not in setting.sliders or names.slider(name).starts_at is None:
        return None
    place, surface = as_expression(names.start_place(name)), names.surface(name)
    before = _ways_before(context, name)
    if (setting.phase.displacements[name] or 0.0) < 0:
        return total([place, *before])
    if setting.scenario.surfaces[surface].length is None:
        return None
    return total([names.length(surface), -place, *before])


def _from_room(context: Context) -> Iterator[Block]:
    setting, names = context.setting, context.names
    room = room_of(context)
    assert room is not None
    factor = setting.ratio(setting.ender)
    ender = context.the(setting.ender)
    key = "distance-room-back" if setting.index else "distance-room"
    yield Paragraph(text=say(f"time-and-speed.{key}", ends=ends(context), the_object=ender))
    distance = room if factor == 1 else scaled(1 / factor, room)
    yield Working(equations=(context.result(names.distance, distance, "m"),))


def _by_value(context: Context) -> Iterator[Block]:
    """Where no short formula gives it: the value alone."""
    distance = context.names.distance
    the = context.the(context.setting.reference)
    text = say("time-and-speed.distance-value", ends=ends(context), the_object=the, d=distance)
    yield Paragraph(text=text)
    if distance.value is not None:
        yield Working(equations=(context.result(distance, distance, "m"),))
