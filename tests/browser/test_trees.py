"""What scripts of the site calculate and print, held to Python's values and digits."""

import random
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page

from cases import cases
from fallwork.lesson.rounding import as_written, guarded, rounded

TYPED = cases(__file__, "typed")


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
