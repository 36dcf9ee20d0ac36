"""What can't be: names that stand for nothing, joints that hold nothing, numbers that clash.

Takes a scenario as it was read, in which None stands for what could not be; gives faults. Bounds
of a single number stand where its key is declared.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from fallwork.scenario.model import RECORDS, Anchor, Hanging, Pulley, Scenario, Slider, String
from fallwork.scenario.nouns import BENCH, EARTH
from fallwork.scenario.quantity import Given, as_written
from fallwork.scenario.report import Fault, closest, listed, shown, unknown
from fallwork.scenario.tree import Keys


def faults_of(scenario: Scenario) -> tuple[Fault, ...]:
    """Everything that can't be, of a scenario as it was read or after its numbers were changed."""
    strings = [*filter(None, scenario.strings.values())]
    return (
        *_names(scenario, strings),
        *(fault for string in strings for fault in _route(scenario, string)),
        *_loose(scenario),
        *_systems(scenario),
        *_nouns_differ(scenario),
        *_numbers(scenario),
        *_order_on_track(scenario, strings),
        *_room(scenario, strings),
    )


# ---- names


def _names(scenario: Scenario, strings: Sequence[String]) -> Iterator[Fault]:
    """Names that stand for nothing, or for something that can't be there."""

    def check(
        path: Keys, name: str, allowed: Sequence[str], what: str, reason: str, **words: str
    ) -> Iterator[Fault]:
        if name and name not in allowed:
            if there := _what(scenario, name).replace("a pulley", "a fixed pulley"):
                yield Fault(reason, path, name=name, what=there, **words)
            else:
                known = objects if what == "object" else allowed
                yield Fault("unknown", path, **unknown(what, name, known))

    objects = list(scenario.objects)
    for name, thing in scenario.objects.items():
        for key, field in RECORDS[thing.kind].keys.items() if thing is not None else ():
            if not field.kinds:
                continue
            others = scenario.surfaces if "surface" in field.kinds else scenario.objects
            known = [each for each, t in others.items() if t is None or t.kind in field.kinds]
            wanted = listed((RECORDS[kind].what for kind in field.kinds), "or")
            more = (f": {listed(known, 'or')}" if known else "") + field.more
            words = {"key": key, "kinds": wanted, "more": more}
            told, what = getattr(thing, field.attribute) or "", field.kinds[0]
            yield from check((name, key), told, known, what, "named-wrongly", **words)
    for string in strings:
        for at, name in enumerate(string.path):
            path = (string.name, str(at))
            yield from check(path, name, objects, "object", "nothing-to-touch")
    if scenario.run:
        moving = [
            name
            for name, thing in scenario.objects.items()
            if thing is None or not (thing.outside or thing.kind == "pulley")
        ]
        path, told = ("run", "object"), scenario.run.object
        words = {"moving": listed(moving, "or")}
        yield from check(path, told, moving, "object", "not-a-traveller", **words)


def _what(scenario: Scenario, name: str) -> str:
    """What a name stands for, with its article; "" for nothing."""
    if name in scenario.objects:
        thing = scenario.objects[name]
        return "an object" if thing is None else RECORDS[thing.kind].what
    named = {"a surface": scenario.surfaces, "a string": scenario.strings}
    fixed = {"the planet": [EARTH], "everything fixed in the room": [BENCH]}
    return next((what for what, names in {**named, **fixed}.items() if name in names), "")


def _nouns_differ(scenario: Scenario) -> Iterator[Fault]:
    """No two things that their author calls the same."""
    first: dict[str, str] = {}
    for name, thing in (*scenario.objects.items(), *scenario.surfaces.items()):
        noun = "" if thing is None else thing.noun
        other = first.setdefault(noun, name)
        if noun and other != name:
            yield Fault("noun-of-another", (name, "noun"), name=name, other=other, noun=shown(noun))


# ---- joints


def _route(scenario: Scenario, string: String) -> Iterator[Fault]:
    """Things in a place of the path where they can't be; none where a name isn't right."""
    path, called = string.path, shown(string.name)
    things = [scenario.objects.get(name) for name in path]
    again = [at for at, n in enumerate(path) if n in scenario.objects and n in path[:at]]
    for at in again:
        yield Fault("touched-twice", (string.name, str(at)), string=called, name=path[at])
    if again or None in things:
        return
    for at, (name, thing) in enumerate(zip(path, things, strict=True)):
        there, is_end = (string.name, str(at)), at in (0, len(path) - 1)
        if not is_end and not isinstance(thing, Pulley):
            yield Fault("runs-past", there, string=called, name=name, what=_what(scenario, name))
        if is_end and isinstance(thing, Pulley) and not thing.moving:
            lacks = [] if _turns(thing) else ["no inertia"]
            lacks += [] if thing.radius else ["no radius"]
            if lacks:
                yield Fault("wound-on-nothing", there, name=name, lacks=listed(lacks))
    if not any(_turns(t) if isinstance(t, Pulley) else not (t and t.outside) for t in things):
        yield Fault("nothing-moves", (string.name,), string=called)
    for at, (one, other) in enumerate(pairwise(things), start=1):
        if reason := _why_not_straight(one, other):
            names = {"one": path[at - 1], "other": path[at]}
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
    if kinds == {Slider}:
        return "straight-across" if one.runs_on != other.runs_on else ""
    lifts = any(isinstance(thing, Pulley) and thing.moving for thing in (one, other))
    return "straight-to-a-moving-pulley" if Slider in kinds and lifts else ""


def _loose(scenario: Scenario) -> Iterator[Fault]:
    """What would fall freely, and what nothing touches, as far as names can be told."""
    objects, known = scenario.objects, list(scenario.objects)
    touched: set[str | None] = {None}
    if None not in scenario.strings.values():
        names = {name for string in scenario.strings.values() for name in string.path}
        touched = {name if name in known else closest(name, known) for name in names}
    for name, thing in objects.items() if None not in touched else ():
        hangs = isinstance(thing, Hanging) and thing.hangs_from is None
        if name in touched:
            continue
        if hangs or (isinstance(thing, Pulley) and thing.moving):
            example = f"[cart, pulley, {name}]" if hangs else f"[cart, pulley, {name}, hook]"
            yield Fault("no-string-holds", (name,), name=name, example=example)
        elif isinstance(thing, Anchor | Pulley):
            yield Fault("no-string-touches", (name,), name=name)
    trodden = {thing.runs_on for thing in objects.values() if isinstance(thing, Slider)}
    if None not in objects.values() and trodden <= {*scenario.surfaces}:
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


# ---- numbers


def _numbers(scenario: Scenario) -> Iterator[Fault]:
    """The numbers of one thing, and of what it runs on."""
    for name, surface in scenario.surfaces.items():
        if surface is not None:
            paths = ((name, "static_friction"), (name, "friction"))
            yield from _friction(surface.friction, surface.static_friction, *paths)
    for thing in scenario.objects.values():
        if isinstance(thing, Slider):
            yield from _slider(thing, scenario.surfaces.get(thing.runs_on))
        elif isinstance(thing, Pulley):
            name, mass = thing.name, None if thing.moving else thing.mass
            if thing.inertia and mass:
                yield Fault("inertia-and-mass", (name, "inertia"), (name, "mass"), name=name)
            needs = {"inertia": thing.inertia, "bearing_torque": thing.bearing_torque, "mass": mass}
            key = next((key for key, quantity in needs.items() if quantity), "")
            if key and not thing.radius:
                yield Fault("no-radius", (name, key), name=name, key=key)


def _friction(kinetic: Given, static: Given, *paths: Keys) -> Iterator[Fault]:
    if kinetic and static and static.value < kinetic.value:
        words = {"static": as_written(static), "kinetic": as_written(kinetic)}
        yield Fault("static-below-kinetic", *paths, **words)


def _slider(slider: Slider, surface: Any) -> Iterator[Fault]:
    name, wheels, start = slider.name, slider.wheels, slider.starts_at
    if wheels is not None and wheels.count * wheels.mass.value >= slider.mass.value:
        whole, mass = as_written(slider.mass), as_written(wheels.mass)
        names = {"count": str(wheels.count), "mass": mass, "name": name, "whole": whole}
        paths = [(name, "wheels", "mass"), (name, "wheels", "count"), (name, "mass")]
        yield Fault("heavy-wheels", *paths, **names)
    if surface is None:
        return
    if slider.friction or slider.static_friction:
        # Where an object overrides one coefficient, against the other of its surface.
        one = (name if slider.static_friction else surface.name, "static_friction")
        other = (name if slider.friction else surface.name, "friction")
        ends = (one, other) if one[0] == name else (other, one)
        static = slider.static_friction or surface.static_friction
        yield from _friction(slider.friction or surface.friction, static, *ends)
    if start and surface.length and start.value > surface.length.value:
        ends = (name, "starts_at"), (surface.name, "length")
        names = {"start": as_written(start), "length": as_written(surface.length)}
        yield Fault("starts-beyond-the-end", *ends, name=name, surface=surface.name, **names)


def _order_on_track(scenario: Scenario, strings: Sequence[String]) -> Iterator[Fault]:
    """Two objects coupled directly: the first of the path stands behind the last."""
    for string in strings:
        rear, *between, front = (scenario.objects.get(name) for name in string.path)
        if between or not (isinstance(rear, Slider) and isinstance(front, Slider)):
            continue
        if rear.starts_at and front.starts_at and rear.starts_at.value >= front.starts_at.value:
            level = rear.starts_at.value == front.starts_at.value
            paths = ((rear.name, "starts_at"), (front.name, "starts_at"))
            names = {"rear": rear.name, "front": front.name, "string": string.name}
            yield Fault("starts-level" if level else "starts-in-front", *paths, **names)


def _room(scenario: Scenario, strings: Sequence[String]) -> Iterator[Fault]:
    """A start from rest goes one way; the object can't go further than its surface reaches."""
    run, objects = scenario.run, scenario.objects
    if run is None or run.distance is None or run.speed is not None:
        return
    tied = [
        string.path[:: len(string.path) - 1] for string in strings if _is_plain(scenario, string)
    ]
    together = {run.object}
    for _ in tied:  # as often as it can take to reach all
        together |= {end for ends in tied if together & {*ends} for end in ends}
    sliders = [t for n, t in objects.items() if n in together and isinstance(t, Slider)]
    surfaces = [scenario.surfaces.get(slider.runs_on) for slider in sliders]
    level = all(surface is not None and surface.slope.value == 0 for surface in surfaces)
    pulls = {  # a weight at the last end pulls forward
        "forward" if isinstance(objects[ends[0]], Slider) else "back"
        for ends in tied
        if together & {*ends} and any(isinstance(objects[end], Hanging) for end in ends)
    }
    pushed = any(t is not None and t.outside and t.kind != Anchor.kind for t in objects.values())
    way = pulls.pop() if level and len(pulls) == 1 and not pushed else "either way"
    for slider, surface in zip(sliders, surfaces, strict=True):
        if slider.starts_at is None or surface is None or surface.length is None:
            continue
        start, length = slider.starts_at.value, surface.length.value
        room = {"back": start, "forward": length - start}.get(way, max(start, length - start))
        if 0 <= room < run.distance.value - 1e-12:
            paths = (("run", "distance"), (slider.name, "starts_at"), (surface.name, "length"))
            names = {"distance": as_written(run.distance), "surface": surface.name, "way": way}
            yield Fault("no-room", *paths, name=slider.name, room=f"{room:.4g}", **names)


def _is_plain(scenario: Scenario, string: String) -> bool:
    """Whether it runs over nothing but fixed pulleys: both ends move by the same amount."""
    first, *between, last = (scenario.objects.get(name) for name in string.path)
    over = all(isinstance(pulley, Pulley) and not pulley.moving for pulley in between)
    return over and all(isinstance(end, Slider | Hanging) for end in (first, last))
