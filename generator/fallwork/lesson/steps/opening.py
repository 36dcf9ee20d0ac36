"""How a lesson opens: the set-up in words, and what will be found out."""

from collections.abc import Iterator, Sequence

from fallwork.lesson.context import Context
from fallwork.lesson.document import Text
from fallwork.lesson.setting import Ending
from fallwork.lesson.steps.rest import has_range
from fallwork.lesson.words import Part, join, listing, say, sentence
from fallwork.mechanics.layout import Role


def summary(context: Context) -> Text:
    """The set-up in a few sentences, read off the apparatus."""
    return join(*_set_up(context), _start(context), _plan(context))


def _set_up(context: Context) -> Iterator[Text]:
    setting = context.setting
    for surface in setting.apparatus.surfaces:
        riders = [name for name in setting.sliders if context.names.surface(name) == surface]
        yield _riders(context, surface, riders)
    for string in setting.apparatus.strings:
        yield _string(context, string)
    for pulley in dict.fromkeys(setting.carried.values()):
        loads = [name for name, carrier in setting.carried.items() if carrier == pulley]
        load = listing([context.the(name) for name in loads])
        yield say("summary.carried", the_load=load, the_pulley=context.the(pulley))


def _riders(context: Context, surface: str, riders: Sequence[str]) -> Text:
    slope = float(context.setting.apparatus.surfaces[surface].slope)
    parts: dict[str, Part] = {
        "the_slider": listing([context.the(name) for name in riders]),
        "the_surface": context.the(surface),
        "end": sentence("summary.end.up" if slope > 0 else "summary.end.down"),
    }
    number = "slider" if len(riders) == 1 else "sliders"
    if riders and context.setting.upright(riders[0]):
        return say("summary.upright", **parts)
    if not slope:
        return say(f"summary.{number}-level", **parts)
    return say(f"summary.{number}-slope", theta=context.names.slope(surface), **parts)


def _string(context: Context, name: str) -> Text:
    layout = context.setting.layout.strings[name]
    path, the = layout.path, context.the
    way = listing([_passed(context, name, at) for at in range(1, len(path) - 1)])
    if Role.DRUM in (layout.roles[0], layout.roles[-1]):
        drum, other = (path[0], path[-1])
        if layout.roles[0] is not Role.DRUM:
            drum, other = other, drum
        return say(
            "summary.wound",
            the_string=the(name),
            the_drum=the(drum),
            way=f" {way}" if way else "",
            the_object=the(other),
        )
    ends = {"the_string": the(name), "the_first": the(path[0]), "the_last": the(path[-1])}
    if len(path) == 2:
        return say("summary.coupling", **ends)
    return say("summary.string", way=f" {way}", **ends)


def _passed(context: Context, string: str, at: int) -> str:
    """Over a pulley, or round one that hangs in the string."""
    layout = context.setting.layout.strings[string]
    hangs = layout.roles[at] is Role.MOVING and layout.bight(at) > 0
    words = sentence("summary.round" if hangs else "summary.over")
    return words.replace("{pulley}", context.the(layout.path[at]))


def _start(context: Context) -> Text:
    setting, names = context.setting, context.names
    run = setting.scenario.run
    if run.speed is not None and run.speed.value:
        return join(_push(context), _pushed_up_to(context))
    if not setting.moves:
        return ()
    if setting.phase.ends is None:
        return say("summary.rest-open")
    ends = setting.end
    if setting.ends_by_distance:
        lands = setting.ending is Ending.LANDS
        return say(
            "summary.rest-distance" if lands else "summary.rest-covered",
            d=names.run_distance,
            the_object=context.the(run.object),
            ends=ends,
        )
    return say("summary.rest", ends=ends)


def _push(context: Context) -> Text:
    """The push, on what runs on a surface where that has the same speed."""
    setting, run = context.setting, context.setting.scenario.run
    riders = [name for name in setting.sliders if _as_fast(context, name)]
    pushed = run.object if run.object in setting.sliders else next(iter(riders), run.object)
    sense = 1 if setting.phase.start_velocities[pushed] > 0 else -1
    return say(
        "summary.push",
        the_object=context.the(pushed),
        sense=context.names.way(pushed, sense),
        v=context.names.given_start_speed,
    )


def _as_fast(context: Context, name: str) -> bool:
    setting, given = context.setting, context.setting.scenario.run.object
    return setting.tied and abs(setting.ratio(name)) == abs(setting.ratio(given))


def _pushed_up_to(context: Context) -> Text:
    """Where the run ends, as far as its distance settles that."""
    setting, names, given = context.setting, context.names, context.setting.scenario.run.object
    if setting.ends_by_distance:
        lands = setting.ending is Ending.LANDS
        return say(
            "summary.push-distance" if lands else "summary.push-covered",
            d=names.run_distance,
            the_object=context.the(given),
            ends=setting.end,
        )
    phases = range(len(setting.solution.phases))
    if any(setting.at(index).ending is Ending.COVERED for index in phases):
        return say("summary.push-turns", d=names.run_distance, the_object=context.the(given))
    return ()


def _plan(context: Context) -> Text:
    if not context.setting.moves:
        return say("summary.plan-rest")
    if context.setting.phase.ends is None:
        return say("summary.plan-open")
    return say(f"summary.plan{_sort(context)}")


def _sort(context: Context) -> str:
    """The ending of keys: one acceleration and one tension, no tension at all, or several."""
    if not context.names.stretches:
        return "-alone" if len(context.setting.movers) == 1 else "-apart"
    if _single(context):
        return ""
    return "-tied" if context.same_pace else "-several"


def _single(context: Context) -> bool:
    """Whether there is one acceleration and one tension to find."""
    return context.setting.tied and len(context.names.stretches) == 1


def _accelerations(context: Context) -> str:
    sort = _sort(context)
    if not sort and context.setting.open_forces:
        sort = "-several"
    return f"accelerations{sort}"


def _common(context: Context) -> dict[str, Part]:
    """The one acceleration and the one tension, as far as there are such."""
    names, parts = context.names, dict[str, Part]()
    if context.setting.tied:
        parts["a"] = context.reference_acceleration
    if len(names.stretches) == 1:
        parts["T"] = names.tension_of(names.stretches[0])
    return parts


def find(context: Context) -> tuple[Text, ...]:
    """What will be found out."""
    names, setting = context.names, context.setting
    if not setting.moves:
        return (say("find.rest"), *([say("find.range")] if has_range(context) else []))
    found = [say(f"find.{_accelerations(context)}", **_common(context))]
    if setting.phase.ends is None:
        return tuple(found)
    key = "motion"
    if setting.turns:
        key = "stops" if setting.rests_at_end else "turns"
    found.append(say(f"find.{key}", t=names.time, v=names.speed, d=names.distance))
    systems = setting.scenario.systems
    return (*found, *(say("find.system", title=choice.title) for choice in systems))
