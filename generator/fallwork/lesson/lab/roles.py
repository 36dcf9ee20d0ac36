"""Roles: what the conditions, the words and the letters that files use stand for in a set-up.

Takes a lab; gives them by name, as the expressions of ``texts/roles.yaml`` have them: m1 for the
mass of the first object on a surface, and so on. What the set-up hasn't got is missing.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, StrictUndefined, Undefined

from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Quotient,
    Symbol,
    as_expression,
    children,
)
from fallwork.lesson.trees import total
from fallwork.lesson.words import texts

if TYPE_CHECKING:
    from fallwork.lesson.lab.base import Base


@dataclass(frozen=True)
class Absent(Expression):
    """A letter for what the set-up hasn't got; a formula with it is left out."""


class _Language(Environment):
    """The language of step files, in which what is asked of nothing is nothing."""

    def getattr(self, obj: Any, attribute: str) -> Any:
        return None if obj is None else super().getattr(obj, attribute)


_LANGUAGE = _Language(undefined=StrictUndefined)
_LANGUAGE.globals.update(total=total)


@cache
def _compiled(source: str) -> Any:
    return _LANGUAGE.compile_expression(source, undefined_to_none=False)


def names_of(kind: str, file: str = "roles") -> frozenset[str]:
    """Every name of a kind, ``words`` or ``letters``, in whatever set-ups."""
    return frozenset(name for group in texts(file)[kind].values() for name in group)


def conditions_of(lab: "Base") -> Mapping[str, bool]:
    """Every condition that the files ask for, with whether it holds."""
    found: dict[str, Any] = {"lab": lab}
    for name, source in texts(lab.roles)["conditions"].items():
        found[name] = bool(_compiled(source)(found))
    del found["lab"]
    return found


def words_of(lab: "Base") -> dict[str, str | Symbol]:
    """Objects with their articles, and two letters."""
    return _under_conditions("words", lab)


def letters_of(lab: "Base") -> Mapping[str, Expression]:
    """The trees for the letters of formulas."""
    trees = _under_conditions("letters", lab)
    return {letter: as_expression(tree) for letter, tree in trees.items()}


def _under_conditions(kind: str, lab: "Base") -> dict[str, Any]:
    context, found = {"lab": lab, **lab.conditions}, dict[str, Any]()
    for when, group in texts(lab.roles)[kind].items():
        if _compiled(when)(context):
            found |= {name: _compiled(source)(context) for name, source in group.items()}
    return {n: v for n, v in found.items() if v is not None and not isinstance(v, Undefined)}


# ---- what stands in the formulas of common mistakes


def absent(tree: Expression) -> bool:
    """Whether a formula names what the set-up has not got."""
    return isinstance(tree, Absent) or any(map(absent, children(tree)))


def sine_in_radians(angle: Expression) -> Expression:
    """The sine of the number of degrees, as a calculator set to radians takes it."""
    if not isinstance(angle, Symbol) or not angle.written:
        return Absent()
    whole, _, part = angle.written.partition(".")
    digits: Expression = Number(value=int(whole))
    if part.strip("0"):
        digits = Quotient(top=Number(value=int(whole + part)), bottom=Number(value=10 ** len(part)))
    return Function(name="sin", argument=digits)
