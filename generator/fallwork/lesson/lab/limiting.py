"""What limiting cases are made of: a case as data, and the formulas in the givens that it is about.

Each says which givens change, and to what each quantity then tends. With numbers the formulas are
evaluated there.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Self

from fallwork.lesson.document import Inline, Relation
from fallwork.lesson.expression import (
    Expression,
    Number,
    Operand,
    Power,
    Ref,
    Symbol,
    as_expression,
    children,
    evaluate,
)
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import inner_forces
from fallwork.lesson.trees import ZERO, rebuilt, scaled, with_values

EXTREME = 1000  # how many times heavier than all others one object is made to look at a limit
Claims = Sequence[tuple[Symbol, Expression]]


@dataclass(frozen=True, kw_only=True)
class Claim:
    """A quantity and what it tends to; both trees are in the givens."""

    symbol: Symbol
    limit: Expression
    formula: Expression
    letter: Symbol | None  # for the limit, where numbers stand in it that need working out

    @property
    def arrow(self) -> Relation:
        """a → 0."""
        return arrow(self.symbol, self.letter or self.limit)


@dataclass(frozen=True, kw_only=True)
class Limit:
    """One case. ``changes``: other values of givens by the ids of their symbols, in their units."""

    id: str  # also the mark of symbols in it
    of: Sequence[str]  # the things that it is about
    changes: Mapping[str, float]
    claims: tuple[Claim, ...] = ()
    made: Relation | None = None  # what is changed, as a formula
    outcome: str = ""  # what must come out, where no formula says it: a key
    load: tuple[Symbol, Expression] | None = None  # a mass that the case is about


def arrow(left: Operand, right: Operand) -> Relation:
    """What the left side tends to."""
    return Relation(sides=(as_expression(left), as_expression(right)), signs=("→",))


def value_at(tree: Expression, changes: Mapping[str, float]) -> float:
    """The value of a tree in the givens when some of them have other values."""
    return evaluate(with_values(tree, changes)) + 0.0


class Limiting(Base):
    """What the cases share."""

    factor_of_extremes = EXTREME

    @cached_property
    def _public(self) -> Self:
        """The same with values: what is given is public, so it may decide what is said."""
        return replace(self, numbers=True)

    @cached_property
    def _formulas(self) -> Mapping[str, Expression]:
        """Accelerations and inner forces by the ids of their symbols, in the givens."""
        found = {self.friction(n).id: self.friction_in_full(n) for n in self.kinetic_frictions}
        free = None if self.tied else self.solved_together
        solved = (*free.forces, *free.accelerations) if free else inner_forces(self)[0]
        if self.tied and self.moves:
            common = self.acceleration_in_full
            for name in self.movers:
                found[self.acceleration_of(name).id] = scaled(self.ratio(name), common)
            found[self.acceleration.id] = common
        for one in solved:
            found[one.symbol.id] = rebuilt(one.tree, found)
        return found

    def _limit(
        self,
        mark: str,
        of: Sequence[str],
        changes: Mapping[str, float],
        claims: Claims = (),
        *,
        made: Relation | None = None,
        outcome: str = "",
    ) -> Limit:
        formulas = self._formulas
        told = tuple(
            Claim(
                symbol=symbol,
                limit=tree,
                formula=formulas[symbol.id],
                letter=self._letter(symbol, mark, tree),
            )
            for symbol, tree in claims
            if symbol.id in formulas
        )
        return Limit(id=mark, of=of, changes=changes, claims=told, made=made, outcome=outcome)

    def _letter(self, symbol: Symbol, mark: str, limit: Expression) -> Symbol | None:
        if limit == ZERO or not _counts(limit):
            return None
        return self.limiting(symbol, mark, self.value(limit))

    def _without(self, mark: str, of: Sequence[str], gone: Sequence[Symbol]) -> Iterator[Limit]:
        """The case in which some givens are zero: the formula that is left.

        Not where the motion would turn round without them, and friction with it.
        """
        if not gone:
            return
        zeros: dict[str, Expression] = {symbol.id: ZERO for symbol in gone}
        left = rebuilt(self.acceleration_in_full, zeros)
        changes = dict.fromkeys(zeros, 0.0)
        turns = value_at(self._public.acceleration_in_full, changes) < 0.0
        if self.starts_moving or not turns:
            yield self._limit(mark, of, changes, [(self.acceleration, left)])

    def _tension_on(self, name: str) -> Symbol | None:
        """The tension of the one string that holds an object."""
        terms = self.inner(name)
        size = terms[0].size if len(terms) == 1 else None
        carried = name in self.carried
        return size.symbol if isinstance(size, Ref) and not carried else None

    def amount_in(self, limit: Limit, claim: Claim) -> Inline:
        """What the formula of a quantity gives in a case, as an amount."""
        return self.amount(value_at(claim.formula, limit.changes), claim.symbol.unit)


def _counts(tree: Expression) -> bool:
    return isinstance(tree, Number | Power) or any(map(_counts, children(tree)))
