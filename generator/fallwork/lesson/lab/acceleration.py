"""What the step about the acceleration asks: the sum of the equations, or their common solution."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from fallwork.lesson.algebra import unit_of
from fallwork.lesson.document import Equation, Relation
from fallwork.lesson.expression import Expression, Negative, Quotient, Sum, Symbol, as_expression
from fallwork.lesson.lab.acting import Push, push_on
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import Solved
from fallwork.lesson.lab.together import conditions
from fallwork.lesson.trees import product, scaled, total


@dataclass(frozen=True, kw_only=True)
class Bend:
    """Where the strings bend, so that something pushes on them from outside.

    ``hard``: at a pulley that takes a torque to turn; ``push``: the two directions of its push on
    the string, for a cart on a level track and a weight.
    """

    pulleys: tuple[str, ...]
    hard: bool
    string: str  # at the first of them
    strings: tuple[str, ...]  # at any of them
    anchors: tuple[str, ...]  # that hold an end of it
    push: Push | None


class Acceleration(Base):
    """The accelerations and what they follow from."""

    @property
    def farther(self) -> list[str]:
        """What moves farther than the reference mover."""
        return [name for name in self.movers if self.ratio(name) != 1]

    @property
    def friction_written_out(self) -> Relation:
        """f = μ m g of the one object on which friction acts."""
        ((name, friction),) = self.frictions.items()
        full = self.friction_in_full(name)
        return Relation(sides=(friction, full), signs=("=",))

    @property
    def bend(self) -> Bend | None:
        """Where the strings bend at pulleys that stay in their places; None where they don't."""
        pulleys = tuple(name for name in self.pulleys if name not in self.movers)
        if not pulleys:
            return None
        strings = self.apparatus.strings.values()
        bent = tuple(s.name for s in strings if set(pulleys).intersection(s.path))
        string, path = next((s.name, s.path) for s in strings if pulleys[0] in s.path)
        level = self.is_plain and self.speeds_up and not self.slope_rad(self.slider)
        return Bend(
            pulleys=pulleys,
            hard=pulleys[0] in self.rotors,
            string=string,
            strings=bent,
            anchors=tuple(end for end in (path[0], path[-1]) if end in self.apparatus.anchors),
            push=push_on(self, self.string, self.pulley) if level else None,
        )

    # ---- out and back

    @property
    def friction_alone(self) -> Equation | None:
        """The difference of the accelerations out and back, in which only friction is left."""
        first = self.at(self.driven[0])
        if not self.later or self.part != 2 or self.common_inertia != first.common_inertia:
            return None
        rubbing = [
            scaled(self.ratio(name), self.friction_in_full(name)) for name in self.kinetic_frictions
        ]
        braking = total([*rubbing, *(-drag for drag in self.drags())])
        twice = product(2, braking) if isinstance(braking, Sum) else scaled(2, braking)
        difference = first.acceleration - self.acceleration
        return self.result(difference, twice / self.common_inertia, "m/s²")

    # ---- several motions, solved together

    @property
    def left_for_tensions(self) -> list[tuple[Expression, Expression]]:
        """What is left for the tensions alone, before they are solved."""
        return list(conditions(self, self.solved_together))

    @property
    def checked_constraints(self) -> list[tuple[Expression, Expression]]:
        """The two sides of what each string imposes on what moves."""
        ties = map(self.constraint, self.taut)
        return [
            self.sides(tie)
            for tie in ties
            if set(tie) <= set(self.senses) and len(set(tie) & set(self.moving)) > 1
        ]

    @property
    def known_forces(self) -> list[Symbol]:
        """The inner forces that have values."""
        return [symbol for symbol in self.solved_together.unknown if symbol.value is not None]

    @cached_property
    def shared_denominator(self) -> Symbol | None:
        """A letter for the denominator that all inner forces share, so that rows stay short."""
        solved = self.solved_together
        if solved.denominator is None or len(solved.forces) < 2:
            return None
        bottom = solved.denominator
        return replace(self.symbol("denominator", "", bottom), unit=unit_of(bottom))

    @property
    def forces_together(self) -> Iterator[Solved]:
        """The inner forces, by that letter where there is one."""
        symbol = self.shared_denominator
        for item in self.solved_together.forces:
            tree = item.tree
            body = tree.body if isinstance(tree, Negative) else tree
            if symbol is not None and isinstance(body, Quotient):
                short = body.top / as_expression(symbol)
                tree = -short if isinstance(tree, Negative) else short
            yield replace(item, tree=tree)
