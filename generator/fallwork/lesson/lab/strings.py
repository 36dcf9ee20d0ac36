"""What the steps about strings ask: how each ties the motions, and where it pulls equally."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fallwork.lesson.expression import Expression
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.together import rates
from fallwork.lesson.trees import ZERO, signed, total
from fallwork.mechanics.rigging import Element


@dataclass(frozen=True, kw_only=True)
class Tie:
    """What a string does to the motions of the objects on it.

    ``kind``: ``same`` (equal and opposite), ``wound`` (on a pulley that turns), ``unequal`` (it
    passes pulleys that move), ``held``, or "" where it ties nothing.
    """

    kind: str
    movers: Mapping[str, int]  # by how much it would lengthen per unit of motion of each
    inside: tuple[str, ...]  # the moving pulleys that it passes
    round: bool  # one, from below
    drums: tuple[str, ...]
    seen: tuple[Expression, ...]  # the accelerations of its ends seen from the one moving pulley


class Strings(Base):
    """The strings and the pulleys that they pass."""

    def beside(self, string: str, pulley: str) -> tuple[str, str]:
        """What comes before and after a pulley along a string."""
        path = self.apparatus.strings[string].path
        at = path.index(pulley)
        return path[at - 1], path[at + 1]

    def meets_pulley(self, string: str) -> bool:
        """Whether a string passes or ends on any pulley."""
        return bool(set(self.apparatus.strings[string].path) & set(self.pulleys))

    def tie(self, string: str) -> Tie:
        """How a string ties the motions."""
        line = self.rigging.strings[string]
        elements = list(zip(line.path, line.elements, strict=True))
        inside = tuple(name for name, element in elements if element is Element.MOVING)
        constraint = self.constraint(string)
        movers = {name: k for name, k in constraint.items() if name in self.senses}
        kind = "held" if movers else ""
        if len(movers) == 2 == len(constraint) and len(set(map(abs, movers.values()))) == 1:
            kind = "same"
        elif len(constraint) > 1 and len(movers) == 1 and not inside:
            kind = "wound"
        elif len(movers) > 1:
            kind = "unequal"
        below = len(inside) == 1 and line.bight(line.path.index(inside[0])) > 0
        return Tie(
            kind=kind,
            movers=movers,
            inside=inside,
            round=below,
            drums=tuple(name for name, element in elements if element is Element.DRUM),
            seen=self._seen(inside[0], movers) if len(inside) == 1 and not below else (),
        )

    def _seen(self, pulley: str, movers: Mapping[str, int]) -> tuple[Expression, ...]:
        """The accelerations of the two ends relative to the pulley, each in its own sense."""
        ends = sorted((n for n in movers if n != pulley), key=lambda name: self.senses[name])
        if len(ends) != 2 or set(ends) - set(self.hanging) or any(map(self.rests, movers)):
            return ()
        return tuple(
            total(
                [
                    signed(way * self.senses[end], self.acceleration_of(end)),
                    signed(-way * self.senses[pulley], self.acceleration_of(pulley)),
                ]
            )
            for end, way in zip(ends, (-1, 1), strict=True)
        )

    def kept_lengths(self, string: str) -> list[Expression]:
        """Sums of accelerations that vanish while each taut part of a string keeps its length."""
        conditions = (rates(self, tie) for tie in self.spans(string))
        return [condition for condition in conditions if condition != ZERO]

    def loads_of(self, movers: Iterable[str]) -> list[str]:
        """What hangs rigidly from any of them."""
        carried = self.carried
        return [name for name, pulley in carried.items() if pulley in movers]

    def passed_pulleys(self, string: str) -> tuple[list[str], list[str]]:
        """The pulleys that a string passes: those that take no torque to turn, and the others."""
        inner = dict.fromkeys(self.apparatus.strings[string].path[1:-1])
        passed = [name for name in inner if name in self.pulleys]
        heavy = [name for name in passed if name in self.rotors]
        return [name for name in passed if name not in heavy], heavy

    def explained_before(self, string: str) -> bool:
        """Whether an earlier string over an ideal pulley has had the full explanation."""
        strings = list(self.apparatus.strings)
        return any(
            self.passed_pulleys(other)[0]
            and other not in self.phase.slack
            and self.one_tension(other)
            for other in strings[: strings.index(string)]
        )
