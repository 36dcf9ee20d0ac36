"""What an apparatus must satisfy beyond what the reader of a file sees before it is laid out.

Takes an apparatus and facts about its strings; gives nothing, or raises ImpossibleApparatus. Names
that stand for nothing, objects in the wrong place and numbers that make no sense are refused by the
scenario stage.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.faults import ImpossibleApparatus, Reason


def check_ends(apparatus: Apparatus) -> None:
    """A string between two anchors needs two moving pulleys, or nothing on it can move."""
    for string in apparatus.strings.values():
        ends = (string.path[0], string.path[-1])
        moving = [n for n in string.path[1:-1] if apparatus.pulleys[n].moving]
        if {*ends} <= {*apparatus.anchors} and len({*moving}) < 2:
            raise ImpossibleApparatus(Reason.BOTH_ENDS_FIXED, string.name, *ends)


def check_turning(apparatus: Apparatus) -> None:
    """A moving pulley that takes a torque to turn must be turned by a string."""
    passed = {name for string in apparatus.strings.values() for name in string.path[1:-1]}
    for pulley in apparatus.pulleys.values():
        takes_torque = np.any(pulley.inertia) or np.any(pulley.bearing_torque)
        if takes_torque and pulley.moving and pulley.name not in passed:
            raise ImpossibleApparatus(Reason.NOTHING_TURNS, pulley.name)


def check_held(apparatus: Apparatus, pulled_up: Mapping[str, bool]) -> None:
    """Whatever moves up and down must hang from something."""
    for body in apparatus.bodies.values():
        if body.surface is None and body.hangs_from is None and not pulled_up[body.name]:
            raise ImpossibleApparatus(Reason.UNHELD, body.name)
    for pulley in apparatus.pulleys.values():
        carried = [b.name for b in apparatus.bodies.values() if b.hangs_from == pulley.name]
        if pulley.moving and not any(pulled_up[name] for name in (pulley.name, *carried)):
            raise ImpossibleApparatus(Reason.UNHELD_PULLEY, pulley.name)


def check_order(order: Sequence[tuple[str, str, str]]) -> None:
    """Strings straight between bodies must not go round in a circle."""
    ahead: dict[str, list[tuple[str, str]]] = {}
    for string, behind, front in order:
        ahead.setdefault(behind, []).append((string, front))
    for start in ahead:
        loop = _way_back(ahead, start)
        if loop:
            raise ImpossibleApparatus(Reason.LOOP, *loop)


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
