"""The last steps: what the formulas take for granted at the bench."""

import math
from collections.abc import Iterator

from fallwork.lesson.context import Context
from fallwork.lesson.document import Items, Step, Text
from fallwork.lesson.words import join, listing, say, sentence, title


def bench_step(context: Context) -> Step:
    """What to see to at the bench, so that the set-up is like the model."""
    return Step(
        id="bench",
        topic="bench",
        title=title("bench.title"),
        idea=say("bench.idea"),
        blocks=(Items(items=tuple(_precautions(context))),),
    )


def _precautions(context: Context) -> Iterator[Text]:
    setting = context.setting
    run = setting.apparatus.run
    if setting.sliders:
        key = "masses" if len(setting.sliders) == 1 else "masses-several"
        objects = listing(list(map(context.the, setting.sliders)))
        yield say(f"bench.{key}", the_object=objects)
    else:
        objects = listing(list(map(context.the, setting.hanging)), "or")
        yield say("bench.masses-hanging", the_object=objects)
    light = [name for name in setting.lifts if not setting.mass(name)]
    if light:
        yield say("bench.light-pulley", the_pulley=listing(list(map(context.the, light))))
    for surface in setting.apparatus.surfaces:
        sloping = bool(setting.apparatus.surfaces[surface].slope)
        if sloping:
            yield say("bench.slope", the_surface=context.the(surface))
        else:
            yield from _level(context, surface)
    pulled = [n for n in setting.sliders if _leads_to_pulley(context, n)]
    if pulled:
        yield say(
            "bench.parallel",
            the_slider=context.the(pulled[0]),
            the_surface=context.the(context.surface),
        )
    if setting.hanging:
        yield say("bench.upright")
    if run.distance is not None and setting.moves:
        yield say("bench.distance", the_object=context.the(run.object))


TILT = math.radians(0.1)  # what a spirit level hardly shows


def _level(context: Context, surface: str) -> Iterator[Text]:
    """What a small tilt does, beside what drives and friction, and how to find it."""
    setting = context.setting
    on_it = [name for name in setting.sliders if setting.bodies[name].surface == surface]
    pull = math.sin(TILT) * sum(_weight(context, name) for name in on_it)
    drive = abs(sum(setting.senses[name] * _weight(context, name) for name in setting.hanging))
    rubs = sum(float(setting.bodies[name].friction) * _weight(context, name) for name in on_it)
    key = "" if not drive else "-driven" if rubs else "-free"
    parts = {
        "the_surface": context.the(surface),
        "the_slider": context.the(on_it[0]),
        "the_riders": listing([context.the(name) for name in on_it]),
        "share": _percent(pull, rubs),
        "driven": _percent(pull, drive),
        "brakes": sentence("bench.brakes") if rubs else "",
    }
    tilt = f"bench.tilt{key if context.numbers else '-symbols'}"
    test = "bench.test" if rubs else "bench.test-free"
    yield join(
        say("bench.level"),
        *((say(tilt, **parts),) if drive or rubs else ()),
        say(test, g=context.names.gravity, **parts),
    )


def _weight(context: Context, name: str) -> float:
    """A mass as it counts along the strings, kg; its own where they leave motions free."""
    setting = context.setting
    ratio = setting.ratio(name) if setting.tied and setting.moves else 1
    return float(ratio) * setting.mass(name)


def _percent(part: float, whole: float) -> str:
    """Two figures."""
    if not whole:
        return ""
    percent = 100 * part / whole
    return f"{percent:.0f}\u00a0%" if percent >= 10 else f"{percent:.1f}\u00a0%"


def _leads_to_pulley(context: Context, name: str) -> bool:
    """Whether a string leads from an object on a surface to a pulley."""
    setting = context.setting
    paths = [setting.apparatus.strings[string].path for string in setting.strings_at(name)]
    return any(path[1] in setting.pulleys or path[-2] in setting.pulleys for path in paths)
