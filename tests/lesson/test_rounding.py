"""The rounding rule against published examples, the decimal module and another library."""

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from cases import cases
from fallwork.lesson.measured.words import amount, figures_for, interval, size, to_place_of
from fallwork.lesson.rounding import (
    as_written,
    guarded,
    rounded,
    to_figures,
    to_places,
    with_uncertainty,
)
from fallwork.measurement.model import Estimate

CASES = cases(__file__, "rounding", as_text=True)
values = st.floats(min_value=1e-9, max_value=1e9) | st.floats(min_value=-1e9, max_value=-1e-9)
figures = st.integers(min_value=1, max_value=9)


def rows(name):
    return [(*map(eval, numbers), text) for *numbers, text in CASES[name]]


@pytest.mark.parametrize(("value", "places", "printed"), rows("figures"))
def test_a_value_is_rounded_to_the_nearest_and_a_tie_away_from_zero(value, places, printed):
    assert to_figures(value, places) == printed


@pytest.mark.parametrize(("value", "places", "printed"), rows("places"))
def test_a_moment_is_rounded_to_its_places_by_the_same_rule(value, places, printed):
    assert to_places(value, places) == printed


@given(values, figures)
def test_digits_and_their_number_are_those_of_the_decimal_module(value, places):
    number = Decimal(repr(value))
    unit = Decimal(1).scaleb(number.adjusted() - places + 1)
    expected = number.quantize(unit, rounding=ROUND_HALF_UP)
    printed = rounded(value, places)
    assert printed.decimal == expected
    digits = printed.mantissa.replace("-", "").replace(".", "").lstrip("0")
    assert len(digits) == places
    mantissa, _, exponent = printed.text.replace("−", "-").partition(" × 10")
    power = exponent.translate(str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")) or "0"
    assert Decimal(mantissa).scaleb(int(power)) == expected


def test_guard_digits_are_left_out_where_figures_say_all_and_a_given_keeps_its_own():
    assert guarded(0.6, 3) == rounded(0.6, 3)
    assert guarded(1.503163312, 3) == replace(rounded(1.503163312, 5), marked=True)
    assert guarded(3.12496, 3).text == "3.12496"  # 3.1250 would round to 3.13
    assert guarded(0.001496, 1).text == "0.001496"  # 0.00150 would round to 0.002
    assert not guarded(0.1 + 0.2, 3).marked
    assert guarded(0.30001, 3).marked
    assert {digits: as_written(digits).text for digits in CASES["written"]} == CASES["written"]


def test_what_is_no_number_and_no_uncertainty_are_refused():
    for value in (float("nan"), float("inf")):
        with pytest.raises(ValueError, match="can't be printed"):
            to_figures(value, 3)
    with pytest.raises(ValueError, match="a standard uncertainty is positive, not 0"):
        with_uncertainty(1.0, 0)


@pytest.mark.parametrize(("value", "u", "printed"), rows("uncertain"))
def test_a_value_is_given_to_the_place_of_its_uncertainty(value, u, printed):
    assert with_uncertainty(value, u).plus_minus("ohm") == printed


# The library rounds the binary number, so ties are left out; and it never drops a second figure 0.
@given(
    st.integers(-(10**9), 10**9).filter(lambda n: n % 1000 != 500).map(lambda n: n / 1e6),
    st.integers(101, 994).filter(lambda n: n % 10 != 5 and n % 100).map(lambda n: n / 1e4),
)
def test_value_and_uncertainty_agree_with_a_library(value, u):
    ours = with_uncertainty(value, u)
    theirs = f"{ufloat(value, u):.2uf}".split("+/-")
    assert (Decimal(ours.mantissa), Decimal(ours.u)) == (Decimal(theirs[0]), Decimal(theirs[1]))


@pytest.mark.parametrize(("value", "u", "text"), rows("measured"))
def test_a_measured_value_ends_where_its_uncertainty_does(value, u, text):
    shown = amount(Estimate(value=value, u=u), "m/s²", 3)
    assert " " not in shown
    assert shown.replace("\u00a0", " ") == text


def test_a_value_alone_an_interval_and_an_uncertainty_end_there_too():
    assert to_place_of(0.6093, 0.0021, "N", 3) == "0.6093\u00a0N"
    assert interval((1.12641, 1.13376), 0.0016, "m/s²", 3) == "1.1264 to 1.1338\u00a0m/s²"
    for u, text in CASES["size of an uncertainty"].items():
        assert size(float(u), "N").replace("\u00a0", " ") == text
    for value, u, places in CASES["figures of a symbol"]:
        assert figures_for(float(value), float(u), 3) == int(places)
