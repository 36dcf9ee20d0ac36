"""What the steps about strings ask: how each ties the motions, and where it pulls equally."""

from collections.abc import Mapping

from fallwork.lesson.expression import Expression
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import rates
from fallwork.lesson.trees import ZERO, signed, total


class Strings(Base):
    """The strings and the pulleys that they pass."""

    def on(self, string: str) -> Mapping[str, int]:
        """The movers on a string, and by how much it would lengthen per unit of motion of each."""
        return {name: k for name, k in self.constraint(string).items() if name in self.senses}

    def tie(self, string: str) -> str:
        """What a string does to their motions: ``same`` (equal and opposite), ``wound`` (on a
        pulley that turns), ``unequal`` (it passes pulleys that move), ``held``; ``part`` where
        only part of it pulls, "" where it ties nothing.
        """
        spans, movers = set(self.rigging.strings[string].spans), self.on(string)
        everything = len(self.constraint(string))
        if spans & self.taut_spans and not spans <= self.taut_spans:
            return "part"
        if len(movers) == 2 == everything and len(set(map(abs, movers.values()))) == 1:
            return "same"
        if len(movers) == 1 < everything and not set(self.path_of(string)[1:-1]) & set(self.lifts):
            return "wound"
        return "unequal" if len(movers) > 1 else "held" if movers else ""

    def seen_from(self, pulley: str, movers: Mapping[str, int]) -> tuple[Expression, ...]:
        """The accelerations of a string's two ends, if weights, relative to a moving pulley that it
        passes, each in its own sense; none of others.
        """
        ends = sorted((n for n in movers if n != pulley), key=lambda name: self.senses[name])
        if len(ends) != 2 or set(ends) - set(self.hanging) or any(map(self.rests, movers)):
            return ()
        own, drawn = self.acceleration_of, signed(self.senses[pulley], self.acceleration_of(pulley))
        return tuple(
            total([signed(way * self.senses[end], own(end)), signed(-way, drawn)])
            for end, way in zip(ends, (-1, 1), strict=True)
        )

    def kept_lengths(self, string: str) -> list[Expression]:
        """Sums of accelerations that vanish while each taut part of a string keeps its length."""
        conditions = (rates(self, tie) for tie in self.spans(string))
        return [condition for condition in conditions if condition != ZERO]

    def explained_before(self, string: str) -> bool:
        """Whether an earlier string over an ideal pulley has had the full explanation."""
        strings, ideal = list(self.apparatus.strings), set(self.pulleys) - set(self.rotors)
        return any(
            ideal & set(self.path_of(other)[1:-1]) and self.one_tension(other)
            for other in strings[: strings.index(string)]
            if other in self.taut
        )
