"""What can't be though each of its parts can: the errors that mechanics raises, and what must hold
before a set-up is laid out.

Takes an apparatus and facts about its strings. Names that stand for nothing, objects in the wrong
place and numbers that make no sense are refused by the scenario stage, which has the words of all
its rules; ``course`` adds the place in the file.
"""

from collections.abc import Collection, Mapping
from enum import Enum
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

import numpy as np

from fallwork.errors import FallworkError
from fallwork.mechanics.apparatus import Apparatus
from fallwork.scenario.report import refusal


class Reason(Enum):
    """Why a set-up can't be; the value is the key of the words."""

    BOTH_ENDS_FIXED = "both-ends-fixed"
    NOTHING_TURNS = "nothing-turns"
    UNHELD = "unheld"
    UNHELD_PULLEY = "unheld-pulley"
    LOOP = "loop"
    OVER_AND_UNDER = "over-and-under"
    HELD_START = "held-start"
    NO_MOTION_FOUND = "no-motion-found"

    @property
    def words(self) -> tuple[str, str]:
        """What is wrong, and what would be right."""
        return refusal(self.value)


class ImpossibleApparatus(FallworkError):
    """Objects that can't stand together as described.

    ``objects`` are the names concerned; ``number`` is the path of the number at fault, if any.
    """

    def __init__(self, reason: Reason, *objects: str, number: str = "") -> None:
        super().__init__(reason, *objects)
        self.reason, self.objects, self.number = reason, objects, number

    def __str__(self) -> str:
        return f"{', '.join(self.objects)}: {'; '.join(self.reason.words)}"


class NoModeFound(FallworkError):
    """No mode fulfils its conditions: beyond what the solver can do."""

    reason = Reason.NO_MOTION_FOUND

    def __str__(self) -> str:
        return "; ".join(self.reason.words)


def check_strings(apparatus: Apparatus) -> None:
    """A string between two anchors needs two moving pulleys, or nothing on it can move; a moving
    pulley that takes a torque to turn must be turned by a string.
    """
    passed: set[str] = set()
    for string in apparatus.strings.values():
        first, *between, last = string.path
        passed |= {*between}
        moving = {name for name in between if apparatus.pulleys[name].moving}
        if {first, last} <= {*apparatus.anchors} and len(moving) < 2:
            raise ImpossibleApparatus(Reason.BOTH_ENDS_FIXED, string.name, first, last)
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
