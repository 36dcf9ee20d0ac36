"""What scripts of the site calculate and print, held to Python's values and digits."""

import json
import math
import random
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Page

from cases import cases
from fallwork.lesson.expression import Expression, Function, Root, Symbol, evaluate
from fallwork.lesson.rounding import as_written, guarded, rounded
from fallwork.lesson.trees import as_data, half, total

TYPED = cases(__file__, "typed")
SYMBOLS = [Symbol(id=f"{each}.x", letter=each, meaning="", unit="") for each in "abcd"]


def _tree(chance: random.Random, depth: int) -> Expression:
    if not depth or chance.random() < 0.15:
        return chance.choice(SYMBOLS)
    one, other = _tree(chance, depth - 1), _tree(chance, depth - 1)
    made: list[Any] = [
        lambda: one + other,
        lambda: one - other,
        lambda: total([one, -other, one, 3]),
        lambda: one * other,
        lambda: -(one / other),
        lambda: half(one, other**2),
        lambda: Root(body=one**2 + other**2),
        lambda: Function(name=chance.choice(("sin", "cos", "tan")), argument=one),
        lambda: one - one,
    ]
    return chance.choice(made)()


def _value(tree: Expression, values: dict[str, float]) -> float | None:
    try:
        found = evaluate(tree, values)
    except (ArithmeticError, ValueError):
        return None
    return found if math.isfinite(found) else None


def test_trees_have_the_values_that_they_have_in_python(scripts: Page, thorough: bool) -> None:
    chance = random.Random(1)
    cases = []
    for _ in range(5000 if thorough else 500):
        tree = _tree(chance, 4)
        values = {each.id: chance.uniform(-2, 2) for each in SYMBOLS}
        cases.append((as_data(tree), values, _value(tree, values)))
    found = scripts.evaluate("cases => cases.map(([t, v]) => fallwork.value(t, v))", cases)
    assert sum(expected is not None for _, _, expected in cases) > 0.8 * len(cases)
    for (tree, values, expected), got in zip(cases, found, strict=True):
        if expected is None:
            assert math.isnan(got), tree
        else:
            off = abs(got - expected)
            assert off <= 1e-9 * max(1, abs(expected)), (json.dumps(tree), values, expected, got)


def _numbers(chance: random.Random, count: int) -> Iterator[float]:
    yield from (0.0, -0.0, 2.665, 0.1 + 0.2, 0.9995, 9.9995, 99999.5, 1e-3, 0.001496, 0.00149999, 5)
    for _ in range(count):
        size = 10.0 ** chance.randint(-8, 8) * chance.choice((-1, 1))
        yield chance.uniform(1, 10) * size
        yield chance.randint(100, 2000) / 2000 * size  # ties


def test_values_are_printed_with_the_digits_that_pages_have(scripts: Page, thorough: bool) -> None:
    chance = random.Random(2)
    cases = [
        (value, figures)
        for value in _numbers(chance, 2000 if thorough else 300)
        for figures in (1, 2, 3, 4, 6)
    ]
    asked = """cases => cases.map(([v, n]) => [fallwork.rounded(v, n), fallwork.guarded(v, n)]
      .map(each => [each.mantissa, each.exponent ?? null, each.marked ?? false]))"""
    for (value, figures), got in zip(cases, scripts.evaluate(asked, cases), strict=True):
        expected = [rounded(value, figures), guarded(value, figures)]
        assert got == [[each.mantissa, each.exponent, each.marked] for each in expected], (
            value,
            figures,
        )


@pytest.mark.parametrize(("typed", "value", "half", "unit"), TYPED["numbers"])
def test_a_number_is_read_as_people_type_it(scripts, typed, value, half, unit):
    asked = """typed => { const { decimal, unit } = fallwork.read(typed)
                 return [fallwork.valueOf(decimal), fallwork.half(decimal), unit] }"""
    got = scripts.evaluate(asked, typed)
    assert got == [pytest.approx(value, rel=1e-15), pytest.approx(half, rel=1e-12), unit]


@pytest.mark.parametrize("typed", TYPED["none"])
def test_what_is_no_number_is_none(scripts, typed):
    assert scripts.evaluate("typed => fallwork.read(typed)", typed) is None


@pytest.mark.parametrize("digits", TYPED["digits"])
def test_what_was_typed_keeps_its_digits(scripts, digits):
    got = scripts.evaluate("typed => fallwork.asTyped(fallwork.read(typed))", digits)
    expected = as_written(digits)
    assert (got["mantissa"], got.get("exponent")) == (expected.mantissa, expected.exponent)
