"""What an apparatus must satisfy beyond what the reader of a file sees before it is laid out.

Takes an apparatus and facts about its strings; gives nothing, or raises ImpossibleApparatus. Names
that stand for nothing, objects in the wrong place and numbers that make no sense are refused by the
scenario stage.
"""

from collections.abc import Collection, Mapping
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

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


def check_held(apparatus: Apparatus, pulled_up: Collection[str]) -> None:
    """Whatever moves up and down must hang from something."""
    for body in apparatus.bodies.values():
        if body.surface is None and body.hangs_from is None and body.name not in pulled_up:
            raise ImpossibleApparatus(Reason.UNHELD, body.name)
    for pulley in apparatus.pulleys.values():
        carried = {b.name for b in apparatus.bodies.values() if b.hangs_from == pulley.name}
        if pulley.moving and {pulley.name, *carried}.isdisjoint(pulled_up):
            raise ImpossibleApparatus(Reason.UNHELD_PULLEY, pulley.name)


def check_order(strings: Mapping[tuple[str, ...], str]) -> None:
    """Strings straight between two bodies must not go round in a circle; ``strings`` by the names
    of what is behind or above, and in front or below.
    """
    behind: dict[str, list[str]] = {}
    for rear, front in strings:
        behind.setdefault(front, []).append(rear)
    try:
        TopologicalSorter(behind).prepare()
    except CycleError as error:
        loop = (strings[pair] for pair in pairwise(error.args[1]))
        raise ImpossibleApparatus(Reason.LOOP, *sorted(loop)) from None
