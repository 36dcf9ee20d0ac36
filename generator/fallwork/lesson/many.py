"""What the formulas of one lesson give for many sets of numbers at once.

Takes a set-up; gives what evaluates the trees of its lesson on arrays, right results and mistakes.
"""

from collections.abc import Callable
from typing import Any

import numpy as np

from fallwork.lesson.answers import equations_of, slips
from fallwork.lesson.build import build_lesson
from fallwork.lesson.expression import (
    SCALE,
    Expression,
    Function,
    Number,
    Symbol,
    children,
    symbols_in,
    worked_out,
)
from fallwork.lesson.known import pairs_of
from fallwork.lesson.lab import Lab
from fallwork.mechanics import apparatus_of, solve
from fallwork.planning.conditions import Answers, Values
from fallwork.scenario import Scenario
from fallwork.scenario.numbers import quantities_of


def values_in(scenario: Scenario) -> dict[str, Any]:
    """Its own numbers, as arrays of one."""
    return {path: np.array([each.value]) for path, each in quantities_of(scenario)}


def answers_of(scenario: Scenario, gravity: float, figures: int) -> Callable[[Values], Answers]:
    """What the formulas of a set-up's lesson give for many sets of numbers of its kind of run at
    once, right and with each mistake; ``gravity`` in m/s².

    An equation of something that no equation before it gives is passed over, and so is a mistake
    that takes the digits of one given for another unit.
    """
    apparatus = apparatus_of(scenario, gravity)
    solution = solve(apparatus)
    lesson = build_lesson(scenario, apparatus, solution, figures=figures, numbers=True)
    lab = Lab(scenario, apparatus, solution, figures, numbers=True)
    paths = {id(quantity): path for path, quantity in quantities_of(scenario)}
    symbols = {symbol.id: paths[id(quantity)] for symbol, quantity in pairs_of(lab)}
    equations = [(left, equation.last) for _, left, equation in equations_of(lesson)]
    wrong = [
        (each.slip.id, each.of.id, each.slip.formula)
        for each in slips(lesson)
        if each.slip and not _of_digits(each.slip.formula)
    ]

    def answers(numbers: Values) -> Answers:
        values = {id_: np.abs(numbers[p]) for id_, p in symbols.items() if p in numbers}

        def leaf(part: Symbol | Number) -> Any:
            if isinstance(part, Number):
                return float(part.value)
            return values.get(part.id, (part.value or 0.0) * SCALE.get(part.unit, 1.0))

        def known(tree: Expression) -> bool:
            return all(each.given or each.id in values for each in symbols_in(tree))

        rights: dict[str, Any] = {}
        with np.errstate(all="ignore"):
            for left, tree in equations:
                if not left.given and left.id not in values and known(tree):
                    values[left.id] = worked_out(tree, leaf, np)
                    rights |= {} if left.aside else {left.id: values[left.id]}
            wrongs = [
                (slip, of, worked_out(tree, leaf, np))
                for slip, of, tree in wrong
                if of in rights and known(tree)
            ]
        return Answers(rights, wrongs)

    return answers


def _of_digits(tree: Expression) -> bool:
    """Whether it holds a function of a number instead of a symbol."""
    if isinstance(tree, Function):
        return not any(symbols_in(tree))
    return any(map(_of_digits, children(tree)))
