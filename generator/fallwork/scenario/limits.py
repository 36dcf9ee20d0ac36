"""What can't be: names that stand for nothing, joints that hold nothing, numbers that clash.

Takes a scenario as it was read, in which None stands for what could not be; gives faults. Bounds
of a single number stand where its key is declared.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from fallwork.scenario.model import RECORDS, Anchor, Hanging, Pulley, Scenario, Slider, String
from fallwork.scenario.nouns import BENCH, EARTH
from fallwork.scenario.quantity import as_written
from fallwork.scenario.report import Refusal, closest, listed, shown, unknown
from fallwork.scenario.tree import Keys

Refusals = Iterator[Refusal]
_STRAIGHT = {  # why a string can't go straight from one kind of thing to another
    frozenset(("slider", "hanging")): "straight-over-an-edge",
    frozenset(("hanging",)): "straight-down",
    frozenset(("slider",)): "straight-across",  # unless both run on one surface
    frozenset(("slider", "moving pulley")): "straight-to-a-moving-pulley",
}


def faults_of(scenario: Scenario) -> tuple[Refusal, ...]:
    """Everything that can't be, of a scenario as it was read or after its numbers were changed."""
    strings = [*filter(None, scenario.strings.values())]
    each = (fault for rule in (_route, _order) for one in strings for fault in rule(scenario, one))
    first = *_names(scenario, strings), *each, *_loose(scenario)
    return (*first, *_systems(scenario), *_numbers(scenario), *_room(scenario, strings))


def _names(scenario: Scenario, strings: Sequence[String]) -> Refusals:
    """Names that stand for nothing, or for something that can't be there; nouns given twice."""
    objects, surfaces, first = scenario.objects, scenario.surfaces, dict[str, str]()

    def check(
        path: Keys, name: str, allowed: Sequence[str], what: str, reason: str, **words: str
    ) -> Refusals:
        if name and name not in allowed:
            if there := _what(scenario, name).replace("a pulley", "a fixed pulley"):
                yield Refusal(reason, path, name=name, what=there, **words)
            else:
                known = [*objects] if what == "object" else allowed
                yield Refusal("unknown", path, **unknown(what, name, known))

    for name, thing in objects.items():
        for key, field in RECORDS[thing.kind].keys.items() if thing is not None else ():
            if field.kinds:
                others = surfaces if "surface" in field.kinds else objects
                known = [each for each, t in others.items() if t is None or t.kind in field.kinds]
                wanted = listed((RECORDS[kind].what for kind in field.kinds), "or")
                more = (f": {listed(known, 'or')}" if known else "") + field.more
                words = {"key": key, "kinds": wanted, "more": more}
                told, what = getattr(thing, field.attribute) or "", field.kinds[0]
                yield from check((name, key), told, known, what, "named-wrongly", **words)
    for string in strings:
        for at, name in enumerate(string.path):
            there = (string.name, str(at))
            yield from check(there, name, [*objects], "object", "nothing-to-touch")
    if scenario.run:
        moving = [n for n, t in objects.items() if not t or not (t.outside or t.kind == "pulley")]
        path, words = ("run", "object"), {"moving": listed(moving, "or")}
        yield from check(path, scenario.run.object, moving, "object", "not-a-traveller", **words)
    for name, each in (*objects.items(), *surfaces.items()):
        noun = each.noun if each else ""
        if noun and (other := first.setdefault(noun, name)) != name:
            words = {"name": name, "other": other, "noun": shown(noun)}
            yield Refusal("noun-of-another", (name, "noun"), **words)


def _what(scenario: Scenario, name: str) -> str:
    """What a name stands for, with its article; "" for nothing."""
    if name in scenario.objects:
        thing = scenario.objects[name]
        return RECORDS[thing.kind].what if thing else "an object"
    named = {"a surface": scenario.surfaces, "a string": scenario.strings}
    fixed = {"the planet": [EARTH], "everything fixed in the room": [BENCH]}
    return next((what for what, names in {**named, **fixed}.items() if name in names), "")


def _route(scenario: Scenario, string: String) -> Refusals:
    """Things in a place of the path where they can't be; none where a name isn't right."""
    path, called = string.path, shown(string.name)
    things = [scenario.objects.get(name) for name in path]
    again = [at for at, n in enumerate(path) if n in scenario.objects and n in path[:at]]
    for at in again:
        yield Refusal("touched-twice", (string.name, str(at)), string=called, name=path[at])
    if again or None in things:
        return

    def turns(thing: Any) -> bool:  # so that a string can move with nothing but this pulley
        return thing.moving or thing.inertia is not None or thing.mass is not None

    for at, (name, thing) in enumerate(zip(path, things, strict=True)):
        there, is_end = (string.name, str(at)), at in (0, len(path) - 1)
        if not is_end and not isinstance(thing, Pulley):
            yield Refusal("runs-past", there, string=called, name=name, what=_what(scenario, name))
        if is_end and isinstance(thing, Pulley) and not thing.moving:
            lacks = [] if turns(thing) else ["no inertia"]
            lacks += [] if thing.radius else ["no radius"]
            if lacks:
                yield Refusal("wound-on-nothing", there, name=name, lacks=listed(lacks))
    if not any(turns(t) if isinstance(t, Pulley) else t and not t.outside for t in things):
        yield Refusal("nothing-moves", (string.name,), string=called)
    for at, both in enumerate(pairwise(things), start=1):
        kinds = ["slider" if isinstance(t, Slider) else t.kind for t in both if t]
        reason = _STRAIGHT.get(frozenset(kinds))
        together = len({t.runs_on for t in both if isinstance(t, Slider)}) == 1
        if reason and not (reason == "straight-across" and together):
            names = {"one": path[at - 1], "other": path[at]}
            yield Refusal(reason, (string.name, str(at)), string=called, **names)


def _order(scenario: Scenario, string: String) -> Refusals:
    """Of two objects coupled directly the first of the path stands behind the last."""
    ends = [scenario.objects.get(name) for name in string.path]
    starts = [each.starts_at.value for each in ends if isinstance(each, Slider) and each.starts_at]
    if len(ends) == len(starts) == 2 and starts[0] >= starts[1]:
        rear, front = string.path
        reason = "starts-level" if starts[0] == starts[1] else "starts-in-front"
        paths = (rear, "starts_at"), (front, "starts_at")
        yield Refusal(reason, *paths, rear=rear, front=front, string=string.name)


def _loose(scenario: Scenario) -> Refusals:
    """What would fall freely, and what nothing touches, as far as names can be told."""
    objects, known, strings = scenario.objects, [*scenario.objects], scenario.strings.values()
    named = {name for string in strings if string for name in string.path}
    touched = {name if name in known else closest(name, known) for name in named}
    unclear = None in touched or None in strings
    for name, thing in {} if unclear else objects.items():
        hangs = isinstance(thing, Hanging) and thing.hangs_from is None
        if name in touched:
            continue
        if hangs or (isinstance(thing, Pulley) and thing.moving):
            example = f"[cart, pulley, {name}]" if hangs else f"[cart, pulley, {name}, hook]"
            yield Refusal("no-string-holds", (name,), name=name, example=example)
        elif isinstance(thing, Anchor | Pulley):
            yield Refusal("no-string-touches", (name,), name=name)
    trodden = {thing.runs_on for thing in objects.values() if isinstance(thing, Slider)}
    if None not in objects.values() and trodden <= {*scenario.surfaces}:
        for name in scenario.surfaces:
            if name not in trodden:
                yield Refusal("nothing-runs-on", (name,), name=name)


def _systems(scenario: Scenario) -> Refusals:
    """Members that can't be, and two choices of the same members."""
    outside = {name: thing.outside for name, thing in scenario.objects.items() if thing}
    outside = {name: why for name, why in outside.items() if why} | {BENCH: Anchor.outside}
    named = (*scenario.objects, *scenario.surfaces, *scenario.strings, EARTH)
    known = [name for name in named if name not in outside]
    choices: dict[tuple[str, ...], str] = {}
    for system in filter(None, scenario.systems):
        base = ("systems", system.id, "members")
        for at, name in enumerate(system.members):
            path = (*base, str(at))
            if name in outside:
                yield Refusal("outside-as-a-member", path, name=name, why=outside[name])
            elif name in system.members[:at]:
                yield Refusal("member-twice", path, name=name)
            elif name and name not in known:
                yield Refusal("unknown", path, **unknown("member", name, known))
        choice = tuple(sorted(system.members))
        if choice and choices.setdefault(choice, system.id) != system.id:
            yield Refusal("same-members", base, other=choices[choice])


def _numbers(scenario: Scenario) -> Refusals:
    """The numbers of one thing, and of what it runs on."""
    for surface in filter(None, scenario.surfaces.values()):
        yield from _friction(surface, surface)
    for thing in scenario.objects.values():
        if isinstance(thing, Slider):
            yield from _slider(thing, scenario.surfaces.get(thing.runs_on))
        elif isinstance(thing, Pulley):
            name, mass = thing.name, None if thing.moving else thing.mass
            if thing.inertia and mass:
                yield Refusal("inertia-and-mass", (name, "inertia"), (name, "mass"), name=name)
            needs = {"inertia": thing.inertia, "bearing_torque": thing.bearing_torque, "mass": mass}
            key = next((key for key, quantity in needs.items() if quantity), "")
            if key and not thing.radius:
                yield Refusal("no-radius", (name, key), name=name, key=key)


def _friction(thing: Any, surface: Any) -> Refusals:
    """Where an object overrides one coefficient, against the other of its surface."""
    of_static, of_kinetic = (
        thing if getattr(thing, key) else surface for key in ("static_friction", "friction")
    )
    static, kinetic = of_static.static_friction, of_kinetic.friction
    if kinetic and static and static.value < kinetic.value:
        paths = (of_static.name, "static_friction"), (of_kinetic.name, "friction")
        words = {"static": as_written(static), "kinetic": as_written(kinetic)}
        ends = paths if of_static is thing else reversed(paths)
        yield Refusal("static-below-kinetic", *ends, **words)


def _slider(slider: Slider, surface: Any) -> Refusals:
    name, wheels, start = slider.name, slider.wheels, slider.starts_at
    if wheels is not None and wheels.count * wheels.mass.value >= slider.mass.value:
        names = {"count": wheels.count, "mass": as_written(wheels.mass), "name": name}
        paths = [(name, "wheels", "mass"), (name, "wheels", "count"), (name, "mass")]
        yield Refusal("heavy-wheels", *paths, whole=as_written(slider.mass), **names)
    if surface and (slider.friction or slider.static_friction):
        yield from _friction(slider, surface)
    if surface and start and surface.length and start.value > surface.length.value:
        ends = (name, "starts_at"), (surface.name, "length")
        words = {"start": as_written(start), "length": as_written(surface.length)}
        yield Refusal("starts-beyond-the-end", *ends, name=name, surface=surface.name, **words)


def _room(scenario: Scenario, strings: Sequence[String]) -> Refusals:
    """A start from rest goes one way; the object can't go further than its surface reaches."""
    run, objects = scenario.run, scenario.objects
    if run is None or run.distance is None or run.speed is not None:
        return
    tied, together = list[tuple[str, str]](), {run.object}
    for string in strings:  # over nothing but fixed pulleys: both ends move by the same amount
        first, *between, last = (objects.get(name) for name in string.path)
        over = all(isinstance(pulley, Pulley) and not pulley.moving for pulley in between)
        if over and isinstance(first, Slider | Hanging) and isinstance(last, Slider | Hanging):
            tied.append((first.name, last.name))
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
            yield Refusal("no-room", *paths, name=slider.name, room=f"{room:.4g}", **names)
