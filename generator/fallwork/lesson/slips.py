"""Slips as trees: a formula text from the slips file becomes a tree over the lesson's symbols.

Takes the slips file and a context; gives the slips of each topic. The formula language is
Python's arithmetic, read with ``ast``; its letters are the ``roles`` of the set-up.
"""

import ast
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from fallwork.lesson.catalogues import Entry, Facts, Vocabulary, entries, known, raised
from fallwork.lesson.context import Context
from fallwork.lesson.document import Slip
from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Operand,
    Quotient,
    Ref,
    Root,
    ValueMissingError,
    as_expression,
    evaluate,
)
from fallwork.lesson.roles import Roles, facts_of, roles_of, words_of
from fallwork.lesson.trees import rebuilt
from fallwork.lesson.words import Part, fill


@dataclass(frozen=True)
class Slips:
    """The slips of one lesson."""

    context: Context

    @cached_property
    def _facts(self) -> Facts:
        return facts_of(self.context)

    @cached_property
    def _entries(self) -> tuple[Entry, ...]:
        vocabulary = Vocabulary(
            keys=("id", "topic", "of", "formula", "done"),
            topics=known("worked", "topics"),
            needs=self._facts.known,
            letters=known("worked", "letters"),
            fields=known("worked", "fields"),
        )
        return entries("slips", vocabulary)

    @cached_property
    def _roles(self) -> Roles:
        return roles_of(self.context)

    @cached_property
    def _measures(self) -> "Slips":
        """The same with numbers, which tell whether a slip goes wrong at all."""
        setting = self.context.setting
        if setting.numbers:
            return self
        return Slips(Context(replace(setting, numbers=True)))

    def at(self, topic: str) -> tuple[Slip, ...]:
        """The slips of one topic whose formulas this set-up can form and which go wrong in it."""
        found = [self.slip(entry) for entry in raised(self._entries, topic, self._facts)]
        return tuple(slip for slip in found if slip is not None)

    def slip(self, entry: Entry) -> Slip | None:
        """One entry of the file; None where it makes no sense or gives the right value."""
        right = self._roles.get(entry["of"])
        formula = self._formula(entry["formula"])
        if not isinstance(right, Ref) or formula is None or formula == right:
            return None
        wrong = self._measures.wrong_value(entry)
        if wrong is None:
            return None
        return Slip(
            id=entry["id"],
            of=right.symbol,
            done=fill(entry["done"], **self._parts),
            formula=formula,
            unit=right.symbol.unit,
            value=wrong if self.context.numbers else None,
        )

    def wrong_value(self, entry: Entry) -> float | None:
        """What the formula gives; None where that is the right value, or can't be told."""
        right, formula = self._roles.get(entry["of"]), self._formula(entry["formula"])
        if right is None or formula is None:
            return None
        try:
            value, wanted = evaluate(formula), evaluate(right)
        except (ValueMissingError, ArithmeticError, ValueError):
            return None
        return None if math.isclose(value, wanted, rel_tol=1e-9, abs_tol=1e-12) else value

    def _formula(self, text: str) -> Expression | None:
        """The tree of a formula text; None where it names what the set-up hasn't got."""
        return parse(text, self._roles)

    @cached_property
    def _parts(self) -> dict[str, Part]:
        return words_of(self.context)


def parse(formula: str, roles: Mapping[str, Operand]) -> Expression | None:
    """The tree of a formula text, zeros cleared away; None where it names an unknown role."""
    try:
        return rebuilt(_tree(ast.parse(formula, mode="eval").body, roles), {})
    except KeyError:
        return None


def _tree(node: ast.expr, roles: Mapping[str, Operand]) -> Expression:
    match node:
        case ast.Name(id=name):
            return as_expression(roles[name])
        case ast.Constant(value=int(value)):
            return Number(value=value)
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_tree(operand, roles)
        case ast.Call(func=ast.Name(id="sqrt"), args=[argument]):
            return Root(body=_tree(argument, roles))
        case ast.Call(func=ast.Name(id="radsin"), args=[ast.Name(id=name)]):
            return Function(name="sin", argument=_digits(as_expression(roles[name])))
        case ast.Call(func=ast.Name(id=("sin" | "cos") as name), args=[argument]):
            return Function(name=name, argument=_tree(argument, roles))
        case ast.BinOp(left=left, op=ast.Pow(), right=ast.Constant(value=int(exponent))):
            return _tree(left, roles) ** exponent
        case ast.BinOp(left=left, op=operator, right=right):
            return _OPERATORS[type(operator)](_tree(left, roles), _tree(right, roles))
    raise SyntaxError(ast.dump(node))


def _digits(angle: Expression) -> Expression:
    """The number of degrees without its unit, as a calculator set to radians takes it."""
    if not isinstance(angle, Ref) or not angle.symbol.written:
        raise KeyError("an angle with digits")
    whole, _, part = angle.symbol.written.partition(".")
    if not part.strip("0"):
        return Number(value=int(whole))
    return Quotient(top=Number(value=int(whole + part)), bottom=Number(value=10 ** len(part)))


_OPERATORS: Mapping[type[ast.operator], Callable[[Expression, Expression], Expression]] = {
    ast.Add: lambda left, right: left + right,
    ast.Sub: lambda left, right: left - right,
    ast.Mult: lambda left, right: left * right,
    ast.Div: lambda left, right: left / right,
}
