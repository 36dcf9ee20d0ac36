"""Trees: arithmetic builds them, and their value is that of the formula."""

import math

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from fallwork.lesson.expression import (
    Function,
    Negative,
    Number,
    Root,
    Symbol,
    ValueMissingError,
    as_expression,
    evaluate,
    symbols_in,
)


def quantity(letter: str, value: float | None, unit: str = "") -> Symbol:
    return Symbol(id=letter, letter=letter, meaning=letter, unit=unit, value=value)


a, b, c = quantity("a", 6.0), quantity("b", 3.0), quantity("c", 2.0)


@pytest.mark.parametrize(
    ("tree", "value"),
    [
        (a - (b - c), 5.0),
        (a - b - c, 1.0),
        (a / (b * c), 1.0),
        (a / b * c, 4.0),
        (-(a - b) * c, -6.0),
        (2 * a - 1, 11.0),
        (1 - 2 / c, 0.0),
        ((a + b) ** 2, 81.0),
        (Root(body=a * b * 2), 6.0),
        (-Negative(body=a), 6.0),
    ],
)
def test_arithmetic_with_trees_gives_what_arithmetic_with_numbers_gives(tree, value):
    assert evaluate(tree) == value


def test_symbols_and_whole_numbers_stand_for_themselves():
    assert as_expression(a) == a
    assert as_expression(3) == Number(value=3)
    assert evaluate(a * as_expression(2)) == 12.0
    assert -a == Negative(body=a)


def test_an_angle_in_degrees_counts_in_radians():
    # sin 30° = 1/2; OpenStax University Physics Volume 1, example 6.5 and others use such angles.
    assert evaluate(Function(name="sin", argument=quantity("theta", 30.0, "°"))) == pytest.approx(
        0.5
    )
    assert evaluate(quantity("theta", 180.0, "°")) == math.pi
    assert evaluate(quantity("p", 12.0, "%")) == pytest.approx(0.12)


def test_what_cancels_to_the_noise_of_floats_is_zero():
    tenth, fifth, rest = quantity("x", 0.1), quantity("y", 0.2), quantity("z", 0.3)
    assert evaluate(tenth + fifth - rest) == 0.0
    assert evaluate(tenth + fifth - quantity("z", 0.3 - 1e-9)) == pytest.approx(1e-9)


def test_a_symbol_without_value_can_not_be_evaluated():
    with pytest.raises(ValueMissingError, match="w"):
        evaluate(a + quantity("w", None))


def test_symbols_come_in_the_order_of_printing():
    tree = (a - b) / (c * Root(body=a))
    assert [symbol.letter for symbol in symbols_in(tree)] == ["a", "b", "c", "a"]


numbers = st.floats(0.01, 100.0)


@given(numbers, numbers, numbers)
def test_a_formula_has_the_value_that_sympy_gives(m, w, g):
    cart, weight, fall = quantity("m", m), quantity("w", w), quantity("g", g)
    tree = weight * (fall - (weight * fall - cart) / (cart + weight)) ** 2 / Root(body=fall)
    x, y, z = sympy.symbols("m w g")
    expected = (y * (z - (y * z - x) / (x + y)) ** 2 / sympy.sqrt(z)).subs({x: m, y: w, z: g})
    assert evaluate(tree) == pytest.approx(float(expected), rel=1e-7, abs=1e-9)
