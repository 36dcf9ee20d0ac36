"""What every file of a step may ask: conditions, letters and words; which mistakes matter."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Quotient,
    Ref,
    ValueMissingError,
    children,
    evaluate,
    symbols_in,
)
from fallwork.lesson.lab.equations import Equations
from fallwork.lesson.roles import facts_of, roles_of, words_of
from fallwork.lesson.textfiles import known
from fallwork.lesson.trees import rebuilt
from fallwork.lesson.words import listing, upper_first


@dataclass(frozen=True)
class Absent(Expression):
    """A letter for what the set-up hasn't got; a formula with it is left out."""


class Base(Equations):
    """A lab with the words of its files."""

    @property
    def later(self) -> bool:
        """Whether this is a later part of the run than the first."""
        return self.index > 0

    def The(self, name: str) -> str:  # noqa: N802 - as it begins a sentence
        """An object's name with its article, a capital first."""
        return upper_first(self.the(name))

    def listing(self, names: Iterable[str], joiner: str = "and") -> str:
        """Objects with their articles in a row."""
        return listing([self.the(name) for name in names], joiner)

    def Listing(self, names: Iterable[str], joiner: str = "and") -> str:  # noqa: N802
        """The same, a capital first."""
        return upper_first(self.listing(names, joiner))

    # ---- conditions, letters and words that need no ``lab.`` in front

    @cached_property
    def known(self) -> frozenset[str]:
        """Every condition, letter and word that a file may use, also of other set-ups."""
        return frozenset(self.vocabulary) | _capitals(_FIELDS) | _FIELDS

    @cached_property
    def vocabulary(self) -> Mapping[str, Any]:
        """The conditions, letters and words of this set-up."""
        facts = facts_of(self).items()
        conditions = {name.replace("-", "_"): bool(holds) for name, holds in facts}
        letters = {name: self.letters.get(name, Absent()) for name in known("worked", "letters")}
        words = words_of(self)
        said = {f"The{name[3:]}": upper_first(str(word)) for name, word in words.items()}
        capitals = {name: word for name, word in said.items() if name in _capitals(_FIELDS)}
        return {**conditions, **words, **capitals, **letters, **self._functions}

    @property
    def _functions(self) -> Mapping[str, Any]:
        return {"the": self.the, "The": self.The, "radsin": self._sine_in_radians}

    @cached_property
    def letters(self) -> Mapping[str, Expression]:
        """What the letters of formulas stand for, as far as the set-up has it."""
        return roles_of(self)

    @staticmethod
    def _sine_in_radians(angle: Expression) -> Expression:
        """The sine of the number of degrees, as a calculator set to radians takes it."""
        if not isinstance(angle, Ref) or not angle.symbol.written:
            return Absent()
        whole, _, part = angle.symbol.written.partition(".")
        digits: Expression = Number(value=int(whole))
        if part.strip("0"):
            digits = Quotient(
                top=Number(value=int(whole + part)), bottom=Number(value=10 ** len(part))
            )
        return Function(name="sin", argument=digits)

    # ---- common mistakes

    def wrong(self, of: Expression, formula: Expression) -> tuple[Expression, float | None] | None:
        """The formula, zeros cleared away, and its value where the lesson has values; None where
        it names what the set-up hasn't got or gives the right value.
        """
        formula = formula if absent(formula) else rebuilt(formula, {})
        if not isinstance(of, Ref) or absent(formula) or formula == of:
            return None
        try:
            value, wanted = evaluate(self._valued(formula)), evaluate(self._valued(of))
        except (ValueMissingError, ArithmeticError, ValueError):
            return None
        if math.isclose(value, wanted, rel_tol=1e-9, abs_tol=1e-12):
            return None
        return formula, value if self.numbers else None

    def _valued(self, tree: Expression) -> Expression:
        return rebuilt(tree, self._values)

    @cached_property
    def _values(self) -> Mapping[str, Expression]:
        """Each letter's symbols with their values, which tell whether a mistake matters."""
        trees = replace(self, numbers=True).letters.values()
        return {each.id: Ref(symbol=each) for tree in trees for each in symbols_in(tree)}


_FIELDS = known("worked", "fields")


def _capitals(words: frozenset[str]) -> frozenset[str]:
    return frozenset(f"The{word[3:]}" for word in words if word.startswith("the_"))


def absent(tree: Expression) -> bool:
    """Whether a formula names what the set-up has not got."""
    return isinstance(tree, Absent) or any(map(absent, children(tree)))
