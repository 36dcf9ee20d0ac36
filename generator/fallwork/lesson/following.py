"""What follows from a value that somebody has found, right or wrong: for marking what comes after.

Takes a lesson with numbers and values by the id of their symbol; gives every equation whose
outcome changes, with what it gives then.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from fallwork.lesson.answers import equations
from fallwork.lesson.document import Lesson, Step
from fallwork.lesson.expression import SCALE, Expression, Ref, Symbol, evaluate, symbols_in
from fallwork.lesson.trees import with_values


@dataclass(frozen=True, kw_only=True)
class Following:
    """An equation that gives something else from the values that were found."""

    of: Symbol
    value: float  # in the symbol's unit
    instead_of: float
    formula: Expression
    step: Step


def following(lesson: Lesson, given: Mapping[str, float]) -> tuple[Following, ...]:
    """Every equation that changes, in the order of the steps; ``given`` in the symbols' units.

    A quantity is carried on with what the first equation gives for it, a given one with its given
    value; where another equation gives something else, both are told. An equation that has no
    solution with these values (the root of a negative number) gives nothing to carry on.
    """
    return tuple(_following(lesson, given))


def _following(lesson: Lesson, given: Mapping[str, float]) -> Iterator[Following]:
    values = dict(given)
    settled = set(given)  # what is carried on as it is
    for step, equation in equations(lesson):
        if not isinstance(equation.left, Ref) or equation.left.symbol.value is None:
            continue
        left = equation.left.symbol
        last = (equation.right, *equation.forms)[-1]
        if any(symbol.id in values for symbol in symbols_in(last)) and left.id not in given:
            value = _value(last, values, left)
            if value is None:
                continue
            yield Following(
                of=left, value=value, instead_of=left.value or 0.0, formula=last, step=step
            )
            if left.id not in settled and not left.given:
                values[left.id] = value
        settled.add(left.id)


def _value(tree: Expression, values: Mapping[str, float], left: Symbol) -> float | None:
    try:
        return evaluate(with_values(tree, values)) / SCALE.get(left.unit, 1.0)
    except (ValueError, ZeroDivisionError, OverflowError):
        return None
