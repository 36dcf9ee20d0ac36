"""What limiting cases are made of: a case as data, with what quantities tend to in it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fallwork.lesson.document import Relation
from fallwork.lesson.expression import (
    Expression,
    Negative,
    Number,
    Operand,
    Power,
    Quotient,
    Symbol,
    as_expression,
    children,
)
from fallwork.lesson.lab.solving import parted
from fallwork.lesson.trees import product, total

if TYPE_CHECKING:
    from fallwork.lesson.lab.base import Base

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


def counts(tree: Expression) -> bool:
    """Whether numbers stand in a formula that need working out."""
    return isinstance(tree, Number | Power) or any(map(counts, children(tree)))


def sides_of(lab: "Base") -> tuple[Expression, Expression]:
    """What drives and what holds back, as masses: the net driving force over g, in two parts."""
    return parted(total([*lab.split.masses, *(_over(f, lab.gravity) for f in lab.split.beside)]))


def _over(tree: Expression, divisor: Operand) -> Expression:
    """A tree divided, in one fraction where it is one already."""
    if isinstance(tree, Negative):
        return -_over(tree.body, divisor)
    if isinstance(tree, Quotient):
        return tree.top / product(tree.bottom, divisor)
    return tree / divisor
