"""What the opening and the steps about the forces on each object and about strings ask."""

from collections.abc import Iterable, Iterator, Mapping

from fallwork.lesson.expression import Expression
from fallwork.lesson.lab.acting import Acting
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import rates
from fallwork.lesson.labels import segments_at
from fallwork.lesson.trees import ZERO, signed, total
from fallwork.mechanics.solution import Interaction


class Forces(Base):
    """The forces on each object, and what strings do to motions."""

    @property
    def interactions(self) -> Iterable[Acting]:
        """The forces on everything that translates, kind by kind, each pair of objects once."""
        forces = [f for name in self.movers for f in self.forces_on(name)]
        kinds = [kind for kind in Interaction if kind is not Interaction.LANDING]
        told = [f for kind in kinds for f in forces if f.interaction is kind]
        return (Acting(self, force) for force in told if force.partner not in self.carried)

    @property
    def called_strings(self) -> bool:
        """Whether whatever joins the objects is called a string, none a coupling or the like."""
        nouns = (self.scenario.nouns.noun(name) for name in self.apparatus.strings)
        return all("string" in noun.split(" ") for noun in nouns)

    @property
    def gliders(self) -> list[str]:
        """What rides on a cushion of air."""
        return [name for name in self.sliders if self.bodies[name].kind == "glider"]

    @property
    def pushed(self) -> str:
        """What the hand pushes: where it has the speed that is given, what runs on a surface."""
        run = self.apparatus.run.object
        riders = [name for name in self.sliders if name in self.as_far_as(run)]
        return run if run in riders or not riders else riders[0]

    @property
    def runs_down(self) -> list[str]:
        """What static friction alone can't hold on its slope."""
        return [name for name in self.sliders if not self.clings(name)]

    # ---- free-body diagrams

    def drawn(self, name: str) -> Iterator[Acting]:
        """The forces in the diagram of an object; a string round a pulley pulls on two sides."""
        for force in filter(self.acts, self.forces_on(name)):
            if force.interaction is not Interaction.CONTACT:
                yield Acting(self, force)
                continue
            pieces = segments_at(self.path_of(force.partner), name)
            for at, side in zip(pieces, ("one", "other"), strict=False):
                yield Acting(self, force, self.tension_at(force.partner, at), side)

    # ---- strings

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
