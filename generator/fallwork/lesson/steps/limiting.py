"""What limiting cases are made of: a case as data, and the formulas in the givens that it is about.

Takes a context; gives cases whose formulas are evaluated where some givens have other values.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fallwork.lesson.context import Context
from fallwork.lesson.document import Relation, Text
from fallwork.lesson.elimination import inner_forces
from fallwork.lesson.expression import Expression, Operand, Symbol, as_expression, evaluate
from fallwork.lesson.free import solve_free
from fallwork.lesson.trees import ZERO, rebuilt, scaled, with_values
from fallwork.lesson.words import Part, say

EXTREME = 1000  # how many times heavier than all others one object is made to look at a limit


@dataclass(frozen=True, kw_only=True)
class Claim:
    """A quantity and what it tends to; both trees are in the givens."""

    symbol: Symbol
    limit: Expression
    formula: Expression


@dataclass(frozen=True, kw_only=True)
class Limit:
    """One case. ``changes``: other values of givens by the ids of their symbols, in their units."""

    id: str
    case: Text
    claims: tuple[Claim, ...] = ()
    changes: Mapping[str, float]
    words: Text = ()  # what must come out, where no formula says it
    load: tuple[Symbol, Expression] | None = None  # a mass that the case is about


def value_at(tree: Expression, changes: Mapping[str, float]) -> float:
    """The value of a tree in the givens when some of them have other values."""
    return evaluate(with_values(tree, changes)) + 0.0


@dataclass(frozen=True)
class Cases:
    """A context with what the cases share: formulas in the givens, and values to decide by."""

    context: Context

    @cached_property
    def known(self) -> Context:
        """The same with values: what is given is public, so it may decide what is said."""
        return Context(replace(self.context.setting, numbers=True))

    @cached_property
    def formulas(self) -> Mapping[str, Expression]:
        """Accelerations and inner forces by the ids of their symbols, in the givens."""
        context = self.context
        motion, names = context.motion, context.names
        found = {names.friction(n).id: motion.friction_in_full(n) for n in motion.kinetic_frictions}
        if not context.setting.tied:
            solved = solve_free(context)
            for one in (*solved.forces, *solved.accelerations):
                found[one.symbol.id] = rebuilt(one.tree, found)
            return found
        if context.setting.moves:
            common = motion.acceleration_in_full
            for name in context.setting.movers:
                own = scaled(context.setting.ratio(name), common)
                found[names.acceleration_of(name).id] = own
            found[names.acceleration.id] = common
        for one in inner_forces(context)[0]:
            found[one.symbol.id] = rebuilt(one.tree, found)
        return found

    def limit(
        self,
        mark: str,
        changes: Mapping[str, float],
        claims: Sequence[tuple[Symbol, Expression]] = (),
        words: Text = (),
        /,
        **parts: Part,
    ) -> Limit:
        """A case with its sentence."""
        return Limit(
            id=mark,
            case=say(f"limits.cases.{mark}", **parts),
            claims=tuple(
                Claim(symbol=symbol, limit=tree, formula=self.formulas[symbol.id])
                for symbol, tree in claims
                if symbol.id in self.formulas
            ),
            changes=changes,
            words=words,
        )

    def without(self, mark: str, gone: Sequence[Symbol], **parts: Part) -> Iterator[Limit]:
        """The case in which some givens are zero: the formula that is left.

        Not where the motion would turn round without them, and friction with it.
        """
        zeros: dict[str, Expression] = {symbol.id: ZERO for symbol in gone}
        left = rebuilt(self.context.motion.acceleration_in_full, zeros)
        changes = {symbol.id: 0.0 for symbol in gone}
        turns = value_at(self.known.motion.acceleration_in_full, changes) < 0.0
        if self.context.setting.starts_moving or not turns:
            yield self.limit(mark, changes, [(self.context.names.acceleration, left)], **parts)


def arrow(left: Operand, right: Operand) -> Relation:
    """What the left side tends to."""
    return Relation(sides=(as_expression(left), as_expression(right)), signs=("→",))
