"""How a set-up is joined: which names stand for what, and who holds whom.

Takes a scenario as it was read, in which None stands for what could not be; gives faults.
"""

from collections.abc import Iterator
from itertools import pairwise

from fallwork.scenario.impossible import Fault, fault
from fallwork.scenario.model import (
    OBJECT_KINDS,
    SURFACE,
    Anchor,
    Hanging,
    Object,
    Pulley,
    Scenario,
    Slider,
    String,
)
from fallwork.scenario.nouns import BENCH, EARTH
from fallwork.scenario.report import all_known, closest, listed, meant, shown
from fallwork.scenario.shapes import NameOf
from fallwork.scenario.tree import Keys


def joint_faults(scenario: Scenario) -> Iterator[Fault]:
    """Everything about names and joints that can't be."""
    for check in (
        _named_rightly,
        _strings_possible,
        _held,
        _in_use,
        _run_object_moves,
        _members_known,
        _nouns_differ,
    ):
        yield from check(scenario)


def _what(scenario: Scenario, name: str) -> str:
    """What a name stands for, with its article; "" for nothing."""
    if name in scenario.objects:
        thing = scenario.objects[name]
        return "an object" if thing is None else OBJECT_KINDS[thing.kind].what
    if name in scenario.surfaces:
        return "a surface"
    if name in scenario.strings:
        return "a string"
    return {EARTH: "the planet", BENCH: "everything fixed in the room"}.get(name, "")


def _misnamed(
    reason: str, path: Keys, name: str, what: str, known: list[str], scenario: Scenario, **more: str
) -> Fault:
    """A name that stands for nothing, or for something that can't be there."""
    there = _what(scenario, name)
    if not there:
        expected = meant(name, known, all_known(what, known))
        return fault("unknown-name", path, what=what, name=shown(name), expected=expected)
    if there == "a pulley":
        there = "a fixed pulley"
    return fault(reason, path, name=name, what=there, **more)


def _named_rightly(scenario: Scenario) -> Iterator[Fault]:
    """Keys that name another thing of the file, which must be of the right kind."""
    for name, thing in scenario.objects.items():
        for key, field in OBJECT_KINDS[thing.kind].keys.items() if thing is not None else ():
            if isinstance(field.shape, NameOf):
                other = getattr(thing, field.attribute)
                yield from _named(scenario, (name, key), other or "", field.shape)


def _named(scenario: Scenario, path: Keys, name: str, wanted: NameOf) -> Iterator[Fault]:
    things = scenario.surfaces if "surface" in wanted.kinds else scenario.objects
    known = [each for each, thing in things.items() if thing is None or thing.kind in wanted.kinds]
    if name and name not in known:
        records = (SURFACE if kind == "surface" else OBJECT_KINDS[kind] for kind in wanted.kinds)
        kinds = listed((record.what for record in records), "or")
        more = (f": {listed(known, 'or')}" if known else "") + wanted.more
        words = {"key": path[-1], "kinds": kinds, "more": more}
        yield _misnamed("named-wrongly", path, name, wanted.kinds[0], known, scenario, **words)


def _strings_possible(scenario: Scenario) -> Iterator[Fault]:
    for string in scenario.strings.values():
        if string is not None:
            names = list(_path_faults(scenario, string))
            yield from names or _route_faults(scenario, string)


def _path_faults(scenario: Scenario, string: String) -> Iterator[Fault]:
    """Names in a path that stand for nothing, or for nothing that a string can touch."""
    for index, name in enumerate(string.path):
        path = (string.name, str(index))
        if name and name not in scenario.objects:
            known = list(scenario.objects)
            yield _misnamed("nothing-to-touch", path, name, "object", known, scenario)
        elif name and name in string.path[:index]:
            yield fault("touched-twice", path, string=shown(string.name), name=name)


def _route_faults(scenario: Scenario, string: String) -> Iterator[Fault]:
    """Things in a place of the path where they can't be."""
    things = [scenario.objects.get(name) for name in string.path]
    if None in things:
        return
    last, called = len(things) - 1, shown(string.name)
    for index, (name, thing) in enumerate(zip(string.path, things, strict=True)):
        path = (string.name, str(index))
        if 0 < index < last and not isinstance(thing, Pulley):
            yield fault("runs-past", path, string=called, name=name, what=_what(scenario, name))
        if index in (0, last) and isinstance(thing, Pulley) and not thing.moving:
            heavy = thing.inertia is not None or thing.mass is not None
            lacks = [] if heavy else ["no inertia"]
            lacks += [] if thing.radius else ["no radius"]
            if lacks:
                yield fault("wound-on-nothing", path, name=name, lacks=listed(lacks))
    if not any(_can_move(thing) for thing in things):
        yield fault("nothing-moves", (string.name,), string=called)
    for index, (one, other) in enumerate(pairwise(things), start=1):
        reason = _why_not_straight(one, other)
        if reason:
            names = {"one": string.path[index - 1], "other": string.path[index]}
            yield fault(reason, (string.name, str(index)), string=called, **names)


def _is_pulley(thing: Object | None, *, moving: bool) -> bool:
    return isinstance(thing, Pulley) and thing.moving == moving


def _can_move(thing: Object | None) -> bool:
    if isinstance(thing, Pulley):
        return thing.moving or thing.inertia is not None or thing.mass is not None
    return thing is None or not thing.outside


def _why_not_straight(one: Object | None, other: Object | None) -> str:
    """Why a string can't go straight from one thing to another; "" where it can."""
    kinds = {type(one), type(other)}
    if kinds == {Slider, Hanging}:
        return "straight-over-an-edge"
    if kinds == {Hanging}:
        return "straight-down"
    if isinstance(one, Slider) and isinstance(other, Slider) and one.runs_on != other.runs_on:
        return "straight-across"
    if Slider in kinds and any(_is_pulley(thing, moving=True) for thing in (one, other)):
        return "straight-to-a-moving-pulley"
    return ""


def _untouched(scenario: Scenario) -> dict[str, Object]:
    """Objects that no string touches, misspelt names put right; none where that can't be told."""
    if None in scenario.strings.values():
        return {}
    known = list(scenario.objects)
    paths = [name for string in scenario.strings.values() for name in string.path]
    names = [name if name in known else closest(name, known) for name in paths]
    objects = scenario.objects.items()
    return {} if None in names else {name: thing for name, thing in objects if name not in names}


def _held(scenario: Scenario) -> Iterator[Fault]:
    """Hanging weights and moving pulleys that would fall freely."""
    for name, thing in _untouched(scenario).items():
        hangs = isinstance(thing, Hanging) and thing.hangs_from is None
        if hangs or _is_pulley(thing, moving=True):
            example = f"[cart, pulley, {name}]" if hangs else f"[cart, pulley, {name}, hook]"
            yield fault("no-string-holds", (name,), name=name, example=example)


def _in_use(scenario: Scenario) -> Iterator[Fault]:
    """Fixed pulleys, anchors and surfaces that nothing touches."""
    for name, thing in _untouched(scenario).items():
        if isinstance(thing, Anchor) or _is_pulley(thing, moving=False):
            yield fault("no-string-touches", (name,), name=name)
    objects = scenario.objects.values()
    trodden = {thing.runs_on for thing in objects if isinstance(thing, Slider)}
    if None not in objects and trodden <= {*scenario.surfaces}:
        for name in scenario.surfaces:
            if name not in trodden:
                yield fault("nothing-runs-on", (name,), name=name)


def _run_object_moves(scenario: Scenario) -> Iterator[Fault]:
    name = scenario.run.object if scenario.run else ""
    moving = [
        key
        for key, thing in scenario.objects.items()
        if not (thing is not None and thing.outside) and not _is_pulley(thing, moving=False)
    ]
    if name and name not in moving:
        known, more = list(scenario.objects), {"moving": listed(moving, "or")}
        path = ("run", "object")
        yield _misnamed("not-a-traveller", path, name, "object", known, scenario, **more)


def _members_known(scenario: Scenario) -> Iterator[Fault]:
    objects = scenario.objects.items()
    outside = {n: why for n, thing in objects if thing is not None and (why := thing.outside)}
    named = (*scenario.objects, *scenario.surfaces, *scenario.strings, EARTH)
    known = [name for name in named if name not in outside]
    choices: dict[tuple[str, ...], str] = {}
    for system in filter(None, scenario.systems):
        base = ("systems", system.id, "members")
        for index, name in enumerate(system.members):
            path = (*base, str(index))
            if name == BENCH or name in outside:
                why = outside.get(name, Anchor.outside)
                yield fault("outside-as-a-member", path, name=name, why=why)
            elif name in system.members[:index]:
                yield fault("member-twice", path, name=name)
            elif name and name not in known:
                yield _misnamed("unknown-name", path, name, "member", known, scenario)
        choice = tuple(sorted(system.members))
        if choice and choice in choices:
            yield fault("same-members", base, other=choices[choice])
        choices.setdefault(choice, system.id)


def _nouns_differ(scenario: Scenario) -> Iterator[Fault]:
    """No two things that their author calls the same."""
    first: dict[str, str] = {}
    for name, thing in (*scenario.objects.items(), *scenario.surfaces.items()):
        noun = "" if thing is None else thing.noun
        other = first.setdefault(noun, name)
        if noun and other != name:
            yield fault("noun-of-another", (name, "noun"), name=name, other=other, noun=shown(noun))
