"""Rounding on the way: what an acceleration that is rounded too early does to the tension.

Takes the set-up; gives a step, with numbers where results may be shown.
"""

from collections.abc import Iterator
from dataclasses import replace

from fallwork.lesson.document import Block, Step
from fallwork.lesson.expression import Symbol, as_expression
from fallwork.lesson.measured.context import Measuring, working
from fallwork.lesson.measured.words import title
from fallwork.lesson.rounding import rounded
from fallwork.lesson.trees import product

TOO_FEW = 1  # figures


def rounding_step(measuring: Measuring) -> Step:
    """The rule, and an example where the set-up has the plain formula for it."""
    return measuring.step("rounding", _rounding(measuring))


def _rounding(measuring: Measuring) -> Iterator[Block]:
    context = measuring.context
    yield measuring.paragraph("rounding.rule")
    if not falls(measuring):
        return
    names = context.names
    early, tension = early_acceleration(measuring), names.tension(context.string, context.weight)
    wrong = replace(
        tension,
        id="tension.early",
        subscript="early",
        meaning=title("meanings.tension-rounded"),
        value=_value(measuring, early),
        aside=True,
    )
    tree = product(names.mass(context.weight), as_expression(names.gravity) - early)
    yield measuring.paragraph("rounding.example")
    yield working(measuring.result(wrong, tree, numbers=context.numbers))
    if tension.value is None:
        yield measuring.paragraph("rounding.shift-symbols", T=tension)
    else:
        yield measuring.paragraph("rounding.shift", T=context.amount(tension.value, "N"))


def falls(measuring: Measuring) -> bool:
    """Whether the tension is the weight's mass times g less the acceleration."""
    context = measuring.context
    return context.is_plain and context.speeds_up and context.setting.senses[context.weight] > 0


def early_acceleration(measuring: Measuring) -> Symbol:
    """The acceleration, rounded before it is used."""
    acceleration = measuring.context.names.acceleration
    digits = ""
    if acceleration.value is not None:
        digits = str(rounded(acceleration.value, TOO_FEW).decimal)
    return replace(
        acceleration,
        id="acceleration.early",
        subscript="early",
        meaning=title("meanings.rounded"),
        value=float(digits) if digits else None,
        written=digits,
    )


def _value(measuring: Measuring, early: Symbol) -> float | None:
    if early.value is None:
        return None
    context = measuring.context
    return context.setting.mass(context.weight) * (
        float(context.setting.apparatus.gravity) - early.value
    )
