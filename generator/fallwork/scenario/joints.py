"""How a set-up is joined: which names stand for what, and who holds whom.

Takes a scenario as it was read, in which None stands for what could not be; gives faults.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

from fallwork.scenario.model import RECORDS, Anchor, Hanging, Pulley, Scenario, Slider, String
from fallwork.scenario.nouns import BENCH, EARTH
from fallwork.scenario.report import Fault, closest, listed, shown, unknown
from fallwork.scenario.shapes import OneText
from fallwork.scenario.tree import Keys


def joint_faults(scenario: Scenario) -> Iterator[Fault]:
    """Everything about names and joints that can't be."""
    for each in _references(scenario):
        if each.name and each.name not in each.allowed:
            yield _misnamed(each, scenario)
    for string in filter(None, scenario.strings.values()):
        yield from _route_faults(scenario, string)
    yield from _loose(scenario)
    yield from _systems(scenario)
    yield from _nouns_differ(scenario)


class _Reference(NamedTuple):
    """A place where a name stands for something."""

    path: Keys
    name: str
    allowed: Sequence[str]
    reason: str  # for a name of something else
    what: str  # that is wanted
    known: Sequence[str]  # what may have been meant
    words: Mapping[str, str] = {}  # what else they are about


def _references(scenario: Scenario) -> Iterator[_Reference]:
    objects = list(scenario.objects)
    for name, thing in scenario.objects.items():
        for key, field in RECORDS[thing.kind].keys.items() if thing is not None else ():
            shape = field.shape
            if not isinstance(shape, OneText) or not shape.kinds:
                continue
            others = scenario.surfaces if "surface" in shape.kinds else scenario.objects
            known = [each for each, t in others.items() if t is None or t.kind in shape.kinds]
            wanted = listed((RECORDS[kind].what for kind in shape.kinds), "or")
            more = (f": {listed(known, 'or')}" if known else "") + shape.more
            words = {"key": key, "kinds": wanted, "more": more}
            path, there = (name, key), getattr(thing, field.attribute) or ""
            yield _Reference(path, there, known, "named-wrongly", shape.kinds[0], known, words)
    for string in filter(None, scenario.strings.values()):
        for at, name in enumerate(string.path):
            path = (string.name, str(at))
            yield _Reference(path, name, objects, "nothing-to-touch", "object", objects)
    if scenario.run:
        moving = [
            name
            for name, thing in scenario.objects.items()
            if thing is None or not (thing.outside or thing.kind == "pulley")
        ]
        words, path = {"moving": listed(moving, "or")}, ("run", "object")
        told = scenario.run.object
        yield _Reference(path, told, moving, "not-a-traveller", "object", objects, words)


def _what(scenario: Scenario, name: str) -> str:
    """What a name stands for, with its article; "" for nothing."""
    thing = scenario.objects.get(name)
    if name in scenario.objects:
        return "an object" if thing is None else RECORDS[thing.kind].what
    named = (("a surface", scenario.surfaces), ("a string", scenario.strings))
    fixed = (("the planet", [EARTH]), ("everything fixed in the room", [BENCH]))
    return next((what for what, names in (*named, *fixed) if name in names), "")


def _misnamed(each: _Reference, scenario: Scenario) -> Fault:
    """A name that stands for nothing, or for something that can't be there."""
    there = _what(scenario, each.name)
    if not there:
        return Fault("unknown", each.path, **unknown(each.what, each.name, each.known))
    there = there.replace("a pulley", "a fixed pulley")
    return Fault(each.reason, each.path, name=each.name, what=there, **each.words)


def _route_faults(scenario: Scenario, string: String) -> Iterator[Fault]:
    """Things in a place of the path where they can't be; none where a name isn't right."""
    called, twice = shown(string.name), False
    for at, name in enumerate(string.path):
        if name in scenario.objects and name in string.path[:at]:
            yield Fault("touched-twice", (string.name, str(at)), string=called, name=name)
            twice = True
    things = [scenario.objects.get(name) for name in string.path]
    if None in things or twice:
        return
    last = len(things) - 1
    for at, (name, thing) in enumerate(zip(string.path, things, strict=True)):
        path = (string.name, str(at))
        if 0 < at < last and not isinstance(thing, Pulley):
            what = _what(scenario, name)
            yield Fault("runs-past", path, string=called, name=name, what=what)
        if at in (0, last) and isinstance(thing, Pulley) and not thing.moving:
            lacks = [] if _turns(thing) else ["no inertia"]
            lacks += [] if thing.radius else ["no radius"]
            if lacks:
                yield Fault("wound-on-nothing", path, name=name, lacks=listed(lacks))
    if not any(_turns(t) if isinstance(t, Pulley) else not (t and t.outside) for t in things):
        yield Fault("nothing-moves", (string.name,), string=called)
    for at, (one, other) in enumerate(pairwise(things), start=1):
        if reason := _why_not_straight(one, other):
            names = {"one": string.path[at - 1], "other": string.path[at]}
            yield Fault(reason, (string.name, str(at)), string=called, **names)


def _turns(pulley: Pulley) -> bool:
    """Whether a string can move with nothing but this pulley."""
    return pulley.moving or pulley.inertia is not None or pulley.mass is not None


def _why_not_straight(one: Any, other: Any) -> str:
    """Why a string can't go straight from one thing to another; "" where it can."""
    kinds = {type(one), type(other)}
    if kinds == {Slider, Hanging}:
        return "straight-over-an-edge"
    if kinds == {Hanging}:
        return "straight-down"
    if isinstance(one, Slider) and isinstance(other, Slider) and one.runs_on != other.runs_on:
        return "straight-across"
    lifts = [isinstance(thing, Pulley) and thing.moving for thing in (one, other)]
    return "straight-to-a-moving-pulley" if Slider in kinds and any(lifts) else ""


def _untouched(scenario: Scenario) -> dict[str, Any]:
    """Objects that no string touches, misspelt names put right; none where that can't be told."""
    if None in scenario.strings.values():
        return {}
    known = list(scenario.objects)
    paths = [name for string in scenario.strings.values() for name in string.path]
    names = [name if name in known else closest(name, known) for name in paths]
    objects = scenario.objects.items()
    return {} if None in names else {name: thing for name, thing in objects if name not in names}


def _loose(scenario: Scenario) -> Iterator[Fault]:
    """What would fall freely, and what nothing touches."""
    for name, thing in _untouched(scenario).items():
        hangs = isinstance(thing, Hanging) and thing.hangs_from is None
        if hangs or (isinstance(thing, Pulley) and thing.moving):
            example = f"[cart, pulley, {name}]" if hangs else f"[cart, pulley, {name}, hook]"
            yield Fault("no-string-holds", (name,), name=name, example=example)
        elif isinstance(thing, Anchor | Pulley):
            yield Fault("no-string-touches", (name,), name=name)
    objects = scenario.objects.values()
    trodden = {thing.runs_on for thing in objects if isinstance(thing, Slider)}
    if None not in objects and trodden <= {*scenario.surfaces}:
        for name in scenario.surfaces:
            if name not in trodden:
                yield Fault("nothing-runs-on", (name,), name=name)


def _systems(scenario: Scenario) -> Iterator[Fault]:
    """Members that can't be, and two choices of the same members."""
    objects = scenario.objects.items()
    outside = {n: why for n, thing in objects if thing is not None and (why := thing.outside)}
    outside[BENCH] = Anchor.outside
    named = (*scenario.objects, *scenario.surfaces, *scenario.strings, EARTH)
    known = [name for name in named if name not in outside]
    choices: dict[tuple[str, ...], str] = {}
    for system in filter(None, scenario.systems):
        base = ("systems", system.id, "members")
        for at, name in enumerate(system.members):
            path = (*base, str(at))
            if name in outside:
                yield Fault("outside-as-a-member", path, name=name, why=outside[name])
            elif name in system.members[:at]:
                yield Fault("member-twice", path, name=name)
            elif name and name not in known:
                yield Fault("unknown", path, **unknown("member", name, known))
        choice = tuple(sorted(system.members))
        if choice and choice in choices:
            yield Fault("same-members", base, other=choices[choice])
        choices.setdefault(choice, system.id)


def _nouns_differ(scenario: Scenario) -> Iterator[Fault]:
    """No two things that their author calls the same."""
    first: dict[str, str] = {}
    for name, thing in (*scenario.objects.items(), *scenario.surfaces.items()):
        noun = "" if thing is None else thing.noun
        other = first.setdefault(noun, name)
        if noun and other != name:
            yield Fault("noun-of-another", (name, "noun"), name=name, other=other, noun=shown(noun))
