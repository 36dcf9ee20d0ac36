"""What an apparatus must satisfy before it can be solved.

Takes an apparatus and facts about its strings; gives nothing, or raises ImpossibleApparatus.
Whether single numbers make sense (a negative mass) is the reader's business, not checked here.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from fallwork.mechanics.apparatus import Apparatus, String
from fallwork.mechanics.arrays import given
from fallwork.mechanics.faults import ImpossibleApparatus


def check_apparatus(apparatus: Apparatus) -> None:
    """Everything that can be said object by object."""
    for string in apparatus.strings.values():
        _check_path(apparatus, string)
    _check_pulleys(apparatus)
    _check_bodies(apparatus)
    _check_run(apparatus)


def check_held(apparatus: Apparatus, pulled_up: Mapping[str, bool]) -> None:
    """Whatever moves up and down must hang from something."""
    for body in apparatus.bodies.values():
        if body.surface is None and body.hangs_from is None and not pulled_up[body.name]:
            raise ImpossibleApparatus(
                (body.name,),
                found="nothing holds it up",
                expected="let a string hold it from above",
            )
    for pulley in apparatus.pulleys.values():
        carried = [b.name for b in apparatus.bodies.values() if b.hangs_from == pulley.name]
        if pulley.moving and not any(pulled_up[name] for name in (pulley.name, *carried)):
            raise ImpossibleApparatus(
                (pulley.name,),
                found="nothing holds the moving pulley up",
                expected="let a string run under it, or end on it from above",
            )


def check_order(order: Sequence[tuple[str, str, str]]) -> None:
    """Strings straight between bodies must not go round in a circle."""
    ahead: dict[str, list[tuple[str, str]]] = {}
    for string, behind, front in order:
        ahead.setdefault(behind, []).append((string, front))
    for start in ahead:
        loop = _way_back(ahead, start)
        if loop:
            raise ImpossibleApparatus(
                loop,
                found="the strings form a loop",
                expected="let each string go from the object behind to the one in front of it",
            )


def _way_back(ahead: Mapping[str, list[tuple[str, str]]], start: str) -> tuple[str, ...]:
    """The strings of a way from ``start`` back to itself; empty if there is none."""
    ways: list[tuple[str, tuple[str, ...]]] = [(start, ())]
    seen: set[str] = set()
    while ways:
        at, strings = ways.pop(0)
        for string, front in ahead.get(at, []):
            if front == start:
                return (*strings, string)
            if front not in seen:
                seen.add(front)
                ways.append((front, (*strings, string)))
    return ()


def _check_path(apparatus: Apparatus, string: String) -> None:
    path = string.path
    known = {*apparatus.bodies, *apparatus.pulleys, *apparatus.anchors}
    for name in path:
        if name not in known:
            raise ImpossibleApparatus(
                (string.name, name),
                found="the string leads to something that is not there",
                expected="name objects, pulleys and anchors only",
            )
    if len(path) < 2:
        raise ImpossibleApparatus(
            (string.name,), found="the string has one end only", expected="give it two ends"
        )
    _check_middle(apparatus, string)
    _check_repetition(apparatus, string)
    _check_ends(apparatus, string)


def _check_middle(apparatus: Apparatus, string: String) -> None:
    for name in string.path[1:-1]:
        if name not in apparatus.pulleys:
            raise ImpossibleApparatus(
                (string.name, name),
                found="the string passes something that is no pulley",
                expected="tie a string of its own on either side",
            )


def _check_repetition(apparatus: Apparatus, string: String) -> None:
    """Only an ideal pulley may be passed twice: each time over a sheave of its own."""
    for name in dict.fromkeys(string.path):
        if string.path.count(name) == 1:
            continue
        ends = name in (string.path[0], string.path[-1])
        pulley = apparatus.pulleys.get(name)
        turns = pulley is not None and (given(pulley.inertia) or given(pulley.bearing_torque))
        if ends or turns:
            raise ImpossibleApparatus(
                (string.name, name),
                found="the string comes back to an object that it has left",
                expected="give it two ends, and lead it once round a pulley with inertia",
            )


def _check_ends(apparatus: Apparatus, string: String) -> None:
    if not {string.path[0], string.path[-1]} <= set(apparatus.anchors):
        return
    moving = [n for n in string.path[1:-1] if apparatus.pulleys[n].moving]
    if len(set(moving)) < 2:
        raise ImpossibleApparatus(
            (string.name, string.path[0], string.path[-1]),
            found="both ends of the string are fixed, so nothing on it can move",
            expected="tie at least one end to something that moves",
        )


def _check_pulleys(apparatus: Apparatus) -> None:
    for pulley in apparatus.pulleys.values():
        needs = given(pulley.inertia) or given(pulley.bearing_torque)
        if needs and pulley.radius is None:
            raise ImpossibleApparatus(
                (pulley.name,),
                found="a pulley with inertia or bearing torque has no radius",
                expected="give its radius",
            )
        passed = any(pulley.name in string.path[1:-1] for string in apparatus.strings.values())
        if needs and pulley.moving and not passed:
            raise ImpossibleApparatus(
                (pulley.name,),
                found="no string turns a moving pulley that has inertia or bearing torque",
                expected="let a string pass it, or take inertia and bearing torque out",
            )


def _check_bodies(apparatus: Apparatus) -> None:
    for body in apparatus.bodies.values():
        holder = body.hangs_from
        if holder is not None and not (
            holder in apparatus.pulleys and apparatus.pulleys[holder].moving
        ):
            raise ImpossibleApparatus(
                (body.name, holder),
                found="it hangs from no moving pulley",
                expected="let it hang from a moving pulley",
            )
        if (body.surface is None) != (body.kind == "hanging"):
            raise ImpossibleApparatus(
                (body.name,),
                found="its kind doesn't agree with where it is",
                expected="put carts and blocks on a surface, and nothing that hangs",
            )
        if body.surface is not None and body.surface not in apparatus.surfaces:
            raise ImpossibleApparatus(
                (body.name, body.surface),
                found="it runs on no known surface",
                expected="name a surface",
            )
        if body.static_friction is not None and np.any(
            np.asarray(body.static_friction) < np.asarray(body.friction)
        ):
            raise ImpossibleApparatus(
                (body.name,),
                found="static friction is less than kinetic friction",
                expected="give a coefficient of static friction at least as large",
            )


def _check_run(apparatus: Apparatus) -> None:
    moved = apparatus.run.object
    moving = {name for name, pulley in apparatus.pulleys.items() if pulley.moving}
    if moved not in apparatus.bodies and moved not in moving:
        raise ImpossibleApparatus(
            (moved,),
            found="the run follows something that can't move",
            expected="name a cart, a block, what hangs or a moving pulley",
        )
    masses = [body.mass for body in apparatus.bodies.values()]
    if not any(given(mass) for mass in masses):
        raise ImpossibleApparatus(
            (moved,),
            found="nothing has mass, so nothing determines the motion",
            expected="give it a mass",
        )
