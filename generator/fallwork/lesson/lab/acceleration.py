"""What the step about the acceleration asks: the sum of the equations, or their common solution."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from fallwork.lesson.document import Equation, Relation
from fallwork.lesson.elimination import Solved
from fallwork.lesson.expression import Expression, Negative, Quotient, Sum, Symbol, as_expression
from fallwork.lesson.free import FreeSolution, conditions, rates, solve_free
from fallwork.lesson.lab.acting import Push, push_on
from fallwork.lesson.lab.strings import Strings
from fallwork.lesson.trees import ZERO, product, scaled, total
from fallwork.lesson.units import unit_of


@dataclass(frozen=True, kw_only=True)
class Bend:
    """Where the strings bend, so that something pushes on them from outside.

    ``hard``: at a pulley that takes a torque to turn; ``push``: the two directions of its push on
    the string, for a cart on a level track and a weight.
    """

    pulleys: tuple[str, ...]
    hard: bool
    string: str  # at the first of them
    anchors: tuple[str, ...]  # that hold an end of it
    push: Push | None


class Acceleration(Strings):
    """The accelerations and what they follow from."""

    @property
    def moving(self) -> tuple[str, ...]:
        """What translates and doesn't rest."""
        return tuple(name for name in self.setting.movers if not self.setting.rests(name))

    @property
    def farther(self) -> list[str]:
        """What moves farther than the reference mover."""
        return [name for name in self.setting.movers if self.setting.ratio(name) != 1]

    @property
    def net_force(self) -> Symbol:
        """A letter for what drives and brakes."""
        driving = self.context.value(self.motion.driving)
        return self.names.driving_force(driving)

    @property
    def effective_mass(self) -> Symbol:
        """A letter for what has to be accelerated; of one object alone its mass."""
        if self.motion.alone:
            return self.names.mass(self.setting.movers[0])
        return self.names.moving_mass(self.context.value(self.motion.inertia))

    @property
    def friction_written_out(self) -> Relation:
        """f = μ m g of the one object on which friction acts."""
        ((name, friction),) = self.motion.frictions.items()
        full = self.motion.friction_in_full(name)
        return Relation(sides=(friction, full), signs=("=",))

    @property
    def slows_down(self) -> bool:
        """Whether the reference mover starts with a speed and gets slower."""
        setting = self.setting
        gain = setting.phase.accelerations[setting.reference] * setting.senses[setting.reference]
        return setting.starts_moving and gain < 0

    @property
    def bend(self) -> Bend | None:
        """Where the strings bend at pulleys that stay in their places; None where they don't."""
        context, setting = self.context, self.setting
        pulleys = tuple(name for name in setting.pulleys if name not in setting.movers)
        if not pulleys:
            return None
        strings = setting.apparatus.strings.values()
        string = next(s.name for s in strings if pulleys[0] in s.path)
        level = context.is_plain and context.speeds_up and not setting.slope(context.slider)
        return Bend(
            pulleys=pulleys,
            hard=pulleys[0] in setting.rotors,
            string=string,
            anchors=tuple(end for end in self.ends(string) if end in setting.apparatus.anchors),
            push=push_on(context, context.string, context.pulley) if level else None,
        )

    # ---- out and back

    @property
    def friction_alone(self) -> Equation | None:
        """The difference of the accelerations out and back, in which only friction is left."""
        first = self.context.at(self.setting.driven[0])
        if not self.later or self.setting.part != 2 or self.motion.inertia != first.motion.inertia:
            return None
        rubbing = [
            scaled(self.setting.ratio(name), self.motion.friction_in_full(name))
            for name in self.motion.kinetic_frictions
        ]
        braking = total([*rubbing, *(-drag for drag in self.motion.drags())])
        twice = product(2, braking) if isinstance(braking, Sum) else scaled(2, braking)
        difference = first.names.acceleration - self.context.names.acceleration
        return self.context.result(difference, twice / self.motion.inertia, "m/s²")

    # ---- several motions, solved together

    @cached_property
    def solved_together(self) -> FreeSolution:
        """Inner forces and accelerations."""
        return solve_free(self.context)

    @property
    def left_for_tensions(self) -> list[tuple[Expression, Expression]]:
        """What is left for the tensions alone, before they are solved."""
        return list(conditions(self.context, self.solved_together))

    @property
    def constraints(self) -> Iterator[Expression]:
        """What vanishes while each taut part of a string keeps its length."""
        ties = self.setting.ties
        spans = (tie for string in self.setting.taut for tie in ties.spans(string))
        return (tree for tie in spans if (tree := rates(self.context, tie)) != ZERO)

    @property
    def checked_constraints(self) -> list[tuple[Expression, Expression]]:
        """The two sides of what each string imposes on what moves."""
        ties = map(self.setting.ties.constraint, self.setting.taut)
        return [
            self.sides(tie)
            for tie in ties
            if set(tie) <= set(self.setting.senses) and len(set(tie) & set(self.moving)) > 1
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
        return self.names.denominator(unit_of(bottom), self.context.value(bottom))

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
