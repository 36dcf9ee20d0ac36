"""How a lesson opens: the set-up in words, and what will be found out."""

from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Text
from fallwork.lesson.words import Part, join, listing, say, sentence, the


def summary(context: Context) -> Text:
    """The set-up in a few sentences, read off the apparatus."""
    return join(*_set_up(context), _start(context), _plan(context))


def _set_up(context: Context) -> Iterator[Text]:
    setting, names = context.setting, context.names
    for name in setting.sliders:
        surface = names.surface(name)
        parts: dict[str, Part] = {"the_slider": the(name), "the_surface": the(surface)}
        slope = setting.slope(name)
        if not slope:
            yield say("summary.slider-level", **parts)
        else:
            end = "up" if slope > 0 else "down"
            yield say("summary.slider-slope", theta=names.slope(surface), end=end, **parts)
    for string in setting.apparatus.strings.values():
        yield _string(string.name, string.path)
    for load, pulley in setting.carried.items():
        yield say("summary.carried", the_load=the(load), the_pulley=the(pulley))


def _string(name: str, path: tuple[str, ...]) -> Text:
    parts = {"the_string": the(name), "the_first": the(path[0]), "the_last": the(path[-1])}
    if len(path) == 2:
        return say("summary.coupling", **parts)
    middle = listing([the(each) for each in path[1:-1]])
    return say(
        "summary.string", over=sentence("summary.over").replace("{pulleys}", middle), **parts
    )


def _start(context: Context) -> Text:
    setting, names = context.setting, context.names
    run = setting.scenario.run
    if run.speed is not None and run.speed.value:
        start = setting.phase.start_velocities[run.object]
        way = names.sense(run.object) if setting.senses[run.object] * start > 0 else "back"
        return say("summary.push", the_object=the(run.object), sense=way)
    if not setting.moves:
        return ()
    return say("summary.rest", the_reference=the(setting.reference), d=names.distance)


def _plan(context: Context) -> Text:
    return say("summary.plan" if context.setting.moves else "summary.plan-rest")


def find(context: Context) -> tuple[Text, ...]:
    """What will be found out."""
    names, setting = context.names, context.setting
    if not setting.moves:
        return (say("find.rest"),)
    symbols = names.stretches
    one = setting.tied and len(symbols) == 1
    found = [say("find.several")]
    if one:
        tension = names.tension(symbols[0].string, symbols[0].objects[0])
        found = [say("find.acceleration", a=context.reference_acceleration, T=tension)]
    key = "find.turns" if context.turns else "find.motion"
    found.append(say(key, t=names.time, v=names.speed, d=names.distance))
    systems = setting.scenario.systems
    return (*found, *(say("find.system", title=choice.title) for choice in systems))
