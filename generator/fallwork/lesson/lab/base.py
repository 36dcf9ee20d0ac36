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
from fallwork.lesson.lab.energy_symbols import EnergySymbols
from fallwork.lesson.lab.equations import Equations
from fallwork.lesson.lab.roles import conditions_of, letters_of, words_of
from fallwork.lesson.lab.together import FreeSolution, solve_free
from fallwork.lesson.textfiles import known
from fallwork.lesson.trees import rebuilt
from fallwork.lesson.words import listing, upper_first


@dataclass(frozen=True)
class Absent(Expression):
    """A letter for what the set-up hasn't got; a formula with it is left out."""


class Base(Equations, EnergySymbols):
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
        words = known("worked", "fields")
        capitals = {f"The{word[3:]}" for word in words if word.startswith("the_")}
        return frozenset(self.vocabulary) | words | capitals

    @cached_property
    def vocabulary(self) -> Mapping[str, Any]:
        """The conditions, letters and words of this set-up."""
        conditions = {name: bool(holds) for name, holds in conditions_of(self).items()}
        letters = {name: self.letters.get(name, Absent()) for name in known("worked", "letters")}
        words = words_of(self)
        said = {f"The{w[3:]}": upper_first(str(words[w])) for w in words if w.startswith("the_")}
        return {**conditions, **words, **said, **letters, **self._functions}

    @property
    def _functions(self) -> Mapping[str, Any]:
        return {"the": self.the, "The": self.The, "radsin": self._sine_in_radians}

    @cached_property
    def letters(self) -> Mapping[str, Expression]:
        """What the letters of formulas stand for, as far as the set-up has it."""
        return letters_of(self)

    @staticmethod
    def _sine_in_radians(angle: Expression) -> Expression:
        """The sine of the number of degrees, as a calculator set to radians takes it."""
        if not isinstance(angle, Ref) or not angle.symbol.written:
            return Absent()
        whole, _, part = angle.symbol.written.partition(".")
        digits: Expression = Number(value=int(whole))
        if part.strip("0"):
            top, bottom = Number(value=int(whole + part)), Number(value=10 ** len(part))
            digits = Quotient(top=top, bottom=bottom)
        return Function(name="sin", argument=digits)

    @cached_property
    def solved_together(self) -> FreeSolution:
        """Inner forces and accelerations."""
        return solve_free(self)

    # ---- common mistakes

    def wrong(self, of: Expression, formula: Expression) -> tuple[Expression, float | None] | None:
        """The formula, zeros cleared away, and its value where the lesson has values; None where
        it names what the set-up hasn't got or gives the right value.
        """
        formula = formula if absent(formula) else rebuilt(formula, {})
        if not isinstance(of, Ref) or absent(formula) or formula == of:
            return None
        try:
            value, wanted = (evaluate(rebuilt(tree, self._values)) for tree in (formula, of))
        except (ValueMissingError, ArithmeticError, ValueError):
            return None
        if math.isclose(value, wanted, rel_tol=1e-9, abs_tol=1e-12):
            return None
        return formula, value if self.numbers else None

    @cached_property
    def _values(self) -> Mapping[str, Expression]:
        """Each letter's symbols with their values, which tell whether a mistake matters."""
        trees = replace(self, numbers=True).letters.values()
        return {each.id: Ref(symbol=each) for tree in trees for each in symbols_in(tree)}


def absent(tree: Expression) -> bool:
    """Whether a formula names what the set-up has not got."""
    return isinstance(tree, Absent) or any(map(absent, children(tree)))
