"""The stretches of a string that have one tension each.

A pulley that takes a torque to turn ends a stretch; an ideal one doesn't. Takes a setting, gives
the stretches in the order of the strings and along them.
"""

from dataclasses import dataclass
from itertools import pairwise

from fallwork.lesson.setting import Setting
from fallwork.mechanics.solution import Interaction


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Part of a string. ``objects`` are those that it meets, both ends included."""

    string: str
    objects: tuple[str, ...]
    tension: float  # N
    key: str  # lasting name, e.g. "tension.string" or "tension.string.cart"


def stretches(setting: Setting) -> tuple[Stretch, ...]:
    """All stretches of all strings."""
    return tuple(
        stretch for string in setting.apparatus.strings for stretch in _of_string(setting, string)
    )


def _of_string(setting: Setting, string: str) -> list[Stretch]:
    path = setting.apparatus.strings[string].path
    cuts = [i for i, name in enumerate(path[1:-1], start=1) if name in setting.rotors]
    bounds = [0, *cuts, len(path) - 1]
    found: list[Stretch] = []
    tension = _at_first_end(setting, string)
    for start, end in pairwise(bounds):
        if start in cuts:
            tension += _step(setting, string, path[start])
        objects = path[start : end + 1]
        key = f"tension.{string}" if not cuts else f"tension.{string}.{len(found) + 1}"
        found.append(Stretch(string=string, objects=objects, tension=tension, key=key))
    return found


def _at_first_end(setting: Setting, string: str) -> float:
    """The tension at the first end, or where the string is tied to the bench at the next one."""
    path = setting.apparatus.strings[string].path
    pulls = setting.phase.tensions[string]
    return pulls.get(path[0]) or 0.0


def _step(setting: Setting, string: str, pulley: str) -> float:
    """By how much the tension grows from before to after a pulley that takes a torque."""
    radius = setting.pulleys[pulley].radius
    for force in setting.phase.forces:
        here = force.on == pulley and force.partner == string
        if here and force.interaction is Interaction.CONTACT and force.torque is not None:
            return force.torque / float(radius or 1.0)
    return 0.0
