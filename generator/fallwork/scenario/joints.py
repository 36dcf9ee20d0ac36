"""Checks how a set-up is joined: which names stand for what, and who holds whom.

Takes a draft; gives faults.
"""

from collections.abc import Iterator, Mapping
from itertools import pairwise

from fallwork.scenario.faults import Fault
from fallwork.scenario.layout import Draft
from fallwork.scenario.model import Anchor, Hanging, Object, Pulley, Slider, String
from fallwork.scenario.nouns import BENCH, EARTH
from fallwork.scenario.report import all_known, closest, listed, meant, shown
from fallwork.scenario.tree import Keys


def joint_faults(draft: Draft) -> Iterator[Fault]:
    """Everything about names and joints that can't be."""
    for check in (
        _surfaces_known,
        _carriers_known,
        _strings_possible,
        _held,
        _in_use,
        _run_object_moves,
        _members_known,
        _nouns_differ,
    ):
        yield from check(draft)


def _what(draft: Draft, name: str) -> str:
    """What a name stands for, with its article; "" for nothing."""
    if name in draft.objects:
        return _WHAT.get(type(draft.objects[name]), "an object")
    if name in draft.surfaces:
        return "a surface"
    if name in draft.strings:
        return "a string"
    return {EARTH: "the planet", BENCH: "everything fixed in the room"}.get(name, "")


_WHAT: Mapping[type, str] = {
    Slider: "an object on a surface",
    Hanging: "a hanging mass",
    Pulley: "a pulley",
    Anchor: "an anchor",
}


def _unknown(path: Keys, name: str, what: str, known: list[str]) -> Fault:
    return Fault(
        paths=(path,),
        found=f"unknown {what} {shown(name)}",
        expected=meant(name, known, all_known(what, known)),
        unknown_name=True,
    )


def _surfaces_known(draft: Draft) -> Iterator[Fault]:
    known = list(draft.surfaces)
    for name, thing in draft.objects.items():
        if not isinstance(thing, Slider) or thing.runs_on in ("", *known):
            continue
        what = _what(draft, thing.runs_on)
        if what:
            yield Fault(
                paths=((name, "runs_on"),),
                found=f"{thing.runs_on} is {what}",
                expected=f"{name} runs on a surface: {listed(known, 'or') or 'add one'}",
            )
        else:
            yield _unknown((name, "runs_on"), thing.runs_on, "surface", known)


def _carriers_known(draft: Draft) -> Iterator[Fault]:
    known = [
        name
        for name, thing in draft.objects.items()
        if thing is None or (isinstance(thing, Pulley) and thing.moving)
    ]
    for name, thing in draft.objects.items():
        if not isinstance(thing, Hanging) or thing.hangs_from in (None, "", *known):
            continue
        carrier = str(thing.hangs_from)
        what = _what(draft, carrier)
        if what:
            yield Fault(
                paths=((name, "hangs_from"),),
                found=f"{carrier} is {'a fixed pulley' if what == 'a pulley' else what}",
                expected="hangs_from names a moving pulley; what a string holds stands in its list",
            )
        else:
            yield _unknown((name, "hangs_from"), carrier, "moving pulley", known)


def _strings_possible(draft: Draft) -> Iterator[Fault]:
    for string in draft.strings.values():
        if string is None:
            continue
        names = list(_path_faults(draft, string))
        yield from names or _route_faults(draft, string)


def _path_faults(draft: Draft, string: String) -> Iterator[Fault]:
    """Names in a path that stand for nothing, or for nothing that a string can touch."""
    seen: set[str] = set()
    for index, name in enumerate(string.path):
        path = (string.name, str(index))
        what = _what(draft, name)
        if name and not what:
            yield _unknown(path, name, "object", list(draft.objects))
        elif name and name not in draft.objects:
            yield Fault(
                paths=(path,),
                found=f"{name} is {what}",
                expected="a string passes pulleys and ends on objects or anchors",
            )
        elif name in seen:
            yield Fault(
                paths=(path,),
                found=f"the string {shown(string.name)} touches {name} a second time",
                expected="name each thing once, and give two pulleys two names",
            )
        seen.add(name)


def _route_faults(draft: Draft, string: String) -> Iterator[Fault]:
    """Things in a place of the path where they can't be."""
    things = [draft.objects.get(name) for name in string.path]
    if None in things:
        return
    last = len(things) - 1
    for index, (name, thing) in enumerate(zip(string.path, things, strict=True)):
        path = (string.name, str(index))
        if 0 < index < last and not isinstance(thing, Pulley):
            yield Fault(
                paths=(path,),
                found=f"the string {shown(string.name)} runs past {name}, {_what(draft, name)}",
                expected="only pulleys can stand between the ends; tie two strings to it",
            )
        if index in (0, last) and isinstance(thing, Pulley) and not thing.moving:
            yield from _wound(path, thing)
    if not any(_can_move(thing) for thing in things):
        yield Fault(
            paths=((string.name,),),
            at_key=True,
            found=f"nothing that the string {shown(string.name)} touches can move",
            expected="take the string out, or tie it to an object",
        )
    yield from _neighbour_faults(string, things)


def _wound(path: Keys, pulley: Pulley) -> Iterator[Fault]:
    heavy = pulley.inertia is not None or pulley.mass is not None
    if pulley.radius is None or not heavy:
        lacks = [] if heavy else ["no inertia"]
        lacks += [] if pulley.radius else ["no radius"]
        yield Fault(
            paths=(path,),
            found=f"the string is wound on {pulley.name}, which has {listed(lacks)}",
            expected=f"give {pulley.name} an inertia (or a mass) and a radius, or end on an anchor",
        )


def _can_move(thing: Object | None) -> bool:
    if isinstance(thing, Pulley):
        return thing.moving or thing.inertia is not None or thing.mass is not None
    return not isinstance(thing, Anchor)


def _neighbour_faults(string: String, things: list[Object | None]) -> Iterator[Fault]:
    for index, (one, other) in enumerate(pairwise(things)):
        kinds = (type(one), type(other))
        names = f"{string.path[index]} to {string.path[index + 1]}"
        if kinds in ((Slider, Hanging), (Hanging, Slider)):
            expected = "put the pulley over which it turns between them"
        elif kinds == (Hanging, Hanging):
            expected = "two hanging masses need a pulley between them"
        elif isinstance(one, Slider) and isinstance(other, Slider) and one.runs_on != other.runs_on:
            expected = "they run on different surfaces: put a pulley between them"
        elif Slider in kinds and any(isinstance(t, Pulley) and t.moving for t in (one, other)):
            expected = "a moving pulley goes up and down: put a fixed pulley between them"
        else:
            continue
        yield Fault(
            paths=((string.name, str(index + 1)),),
            found=f"the string {shown(string.name)} goes straight from {names}",
            expected=expected,
        )


def _touched(draft: Draft) -> list[str] | None:
    """The names in strings, misspelt ones put right; None where that can't be told."""
    if None in draft.strings.values():
        return None
    known = list(draft.objects)
    paths = [name for string in draft.strings.values() if string for name in string.path]
    names = [name if name in known else closest(name, known) for name in paths]
    return None if None in names else [name for name in names if name]


def _held(draft: Draft) -> Iterator[Fault]:
    """Hanging weights and moving pulleys that would fall freely."""
    touched = _touched(draft)
    for name, thing in draft.objects.items() if touched is not None else ():
        hangs = isinstance(thing, Hanging) and thing.hangs_from is None
        moving = isinstance(thing, Pulley) and thing.moving
        if (hangs or moving) and name not in (touched or ()):
            example = f"[cart, pulley, {name}]" if hangs else f"[cart, pulley, {name}, hook]"
            yield Fault(
                paths=((name,),),
                at_key=True,
                found=f"no string holds {name}",
                expected=f"let a string touch it, as in string: {example}",
            )


def _in_use(draft: Draft) -> Iterator[Fault]:
    """Fixed pulleys, anchors and surfaces that nothing touches."""
    touched = _touched(draft)
    for name, thing in draft.objects.items() if touched is not None else ():
        fixed = isinstance(thing, Anchor) or (isinstance(thing, Pulley) and not thing.moving)
        if fixed and name not in (touched or ()):
            yield _unused(name, f"no string touches {name}", "let a string touch it")
    sliders = [thing for thing in draft.objects.values() if isinstance(thing, Slider)]
    trodden = [slider.runs_on for slider in sliders]
    if None in draft.objects.values() or any(name not in draft.surfaces for name in trodden):
        return
    for name in draft.surfaces:
        if name not in trodden:
            yield _unused(name, f"nothing runs on {name}", "let an object run on it")


def _unused(name: str, found: str, use: str) -> Fault:
    return Fault(paths=((name,),), at_key=True, found=found, expected=f"take it out, or {use}")


def _run_object_moves(draft: Draft) -> Iterator[Fault]:
    name = draft.run.object if draft.run else ""
    moving = [name for name, thing in draft.objects.items() if thing is None or _travels(thing)]
    if not name or name in moving:
        return
    what = _what(draft, name)
    if not what:
        yield _unknown(("run", "object"), name, "object", list(draft.objects))
        return
    yield Fault(
        paths=(("run", "object"),),
        found=f"{name} is {'a fixed pulley' if what == 'a pulley' else what}",
        expected=f"the run is told by an object that travels: {listed(moving, 'or')}",
    )


def _travels(thing: Object) -> bool:
    return isinstance(thing, Slider | Hanging) or (isinstance(thing, Pulley) and thing.moving)


def _members_known(draft: Draft) -> Iterator[Fault]:
    anchors = [name for name, thing in draft.objects.items() if isinstance(thing, Anchor)]
    named = (*draft.objects, *draft.surfaces, *draft.strings, EARTH)
    known = [name for name in named if name not in anchors]
    choices: dict[tuple[str, ...], str] = {}
    for system in draft.systems.values():
        if system is None:
            continue
        base = ("systems", system.id, "members")
        for index, name in enumerate(system.members):
            path = (*base, str(index))
            if name in (BENCH, *anchors):
                yield Fault(
                    paths=(path,),
                    found=f"{name} belongs to what is fixed in the room",
                    expected="take it out: the bench is never a member of a system",
                )
            elif name in system.members[:index]:
                yield Fault(
                    paths=(path,),
                    found=f"the member {name} a second time",
                    expected="keep one of the two",
                )
            elif name and name not in known:
                yield _unknown(path, name, "member", known)
        choice = tuple(sorted(system.members))
        if choice and choice in choices:
            yield Fault(
                paths=(base,),
                found=f"the same members as {choices[choice]}",
                expected="take one of the two choices out",
            )
        choices.setdefault(choice, system.id)


def _nouns_differ(draft: Draft) -> Iterator[Fault]:
    """No two things that their author calls the same."""
    first: dict[str, str] = {}
    for name, thing in (*draft.objects.items(), *draft.surfaces.items()):
        noun = "" if thing is None else thing.noun
        other = first.setdefault(noun, name)
        if noun and other != name:
            yield Fault(
                paths=((name, "noun"),),
                found=f"{name} has the noun of {other}, {shown(noun)}",
                expected="readers tell them apart by it: give each its own",
                unknown_name=True,
            )
