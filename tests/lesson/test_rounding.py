"""The rounding rule against published examples, the decimal module and another library; measured
values as readers see them: one rule for a value and its uncertainty.
"""

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

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

values = st.floats(min_value=1e-9, max_value=1e9) | st.floats(min_value=-1e9, max_value=-1e-9)
figures = st.integers(min_value=1, max_value=9)


@pytest.mark.parametrize(
    ("value", "places", "printed"),
    [
        # A five goes up, as schools teach it (common practice, no source), and away from zero.
        (3.125e-5, 3, "3.13 × 10⁻⁵"),
        (1.625, 3, "1.63"),
        (3.965, 3, "3.97"),
        (126.5, 3, "127"),
        (-0.2445, 3, "−0.245"),
        # OpenStax University Physics Volume 1, section 1.6: pi times 1.2 squared, to two figures.
        (4.523893421169302, 2, "4.5"),
        # The same, section 6.1, examples 6.5 and 6.8: printed answers of accelerations and speeds.
        (3.2666666666666666, 3, "3.27"),
        (26.133333333333333, 3, "26.1"),
        (3.5142857142857142, 3, "3.51"),
        # Made for this test: the shortest decimal counts, not the binary number just below it.
        (2.665, 3, "2.67"),
        (1.005, 3, "1.01"),
        (0.1 + 0.025, 2, "0.13"),
        # Every printed digit is significant.
        (0.42, 4, "0.4200"),
        (9.996, 3, "10.0"),
        (0.0, 3, "0"),
        (-0.0, 3, "0"),
        (-0.0197702, 3, "−0.0198"),
        (0.00099996, 3, "0.00100"),
        (0.00012345, 3, "1.23 × 10⁻⁴"),
        (1234.0, 3, "1.23 × 10³"),
        (1234.0, 5, "1234.0"),
        (99999.6, 5, "1.0000 × 10⁵"),
        (-2.5e-7, 2, "−2.5 × 10⁻⁷"),
    ],
)
def test_a_value_is_rounded_to_the_nearest_and_a_tie_away_from_zero(value, places, printed):
    assert to_figures(value, places) == printed


def test_latex_has_an_ascii_minus_and_a_raised_exponent():
    assert rounded(-0.0197702, 3).latex == "-0.0198"
    assert rounded(2.25e-5, 3).latex == r"2.25 \times 10^{-5}"


@pytest.mark.parametrize(
    ("value", "places", "printed"),
    [(0.5125, 3, "0.513"), (-1.005, 2, "−1.01"), (2.0, 3, "2.000"), (-0.0004, 3, "0.000")],
)
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


def test_guard_digits_are_left_out_where_the_figures_say_all():
    assert guarded(0.6, 3) == rounded(0.6, 3)
    assert guarded(1.503163312, 3) == replace(rounded(1.503163312, 5), marked=True)
    assert guarded(3.12496, 3).text == "3.12496"  # 3.1250 would round to 3.13
    assert guarded(0.001496, 1).text == "0.001496"  # 0.00150 would round to 0.002
    assert not guarded(0.1 + 0.2, 3).marked
    assert guarded(0.30001, 3).marked


@pytest.mark.parametrize(
    ("digits", "text"),
    [
        ("0.4200", "0.4200"),
        ("-3", "−3"),
        ("0", "0"),
        ("2.250e-5", "2.250 × 10⁻⁵"),
        ("−0.50", "−0.50"),
    ],
)
def test_a_given_keeps_the_digits_of_its_author(digits, text):
    assert as_written(digits).text == text


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_no_number_is_refused(value):
    with pytest.raises(ValueError, match="can't be printed"):
        to_figures(value, 3)


def test_no_significant_figures_are_refused():
    with pytest.raises(ValueError, match="0 significant figures"):
        to_figures(1.0, 0)


@pytest.mark.parametrize(
    ("value", "u", "printed"),
    [
        # JCGM 100:2008 (GUM), 7.2.6, as read: y = 10.057 62 ohm with u = 27 milliohm.
        (10.05762, 0.027, "10.058 ohm ± 0.027 ohm"),
        # The same clause, as read: 28.05 kHz becomes 28 kHz.
        (100.0, 28.05, "100 ohm ± 28 ohm"),
        # JCGM 100:2008, 7.2.2, from memory: 100.021 47 g with 0.35 mg.
        (100.02147, 0.00035, "100.02147 ohm ± 0.00035 ohm"),
        # Particle Data Group, Review of Particle Physics, rounding rule, as read: 12.214(32).
        (12.2135, 0.03215, "12.214 ohm ± 0.032 ohm"),
        # JCGM 100:2008, H.3.3 (thermometer calibration), as read: −0.1712(29), 0.00218(67) and
        # −0.1494(41).
        (-0.171203790131, 0.00287759783516, "−0.1712 ohm ± 0.0029 ohm"),
        (0.00218269773989, 0.000667938773228, "0.00218 ohm ± 0.00067 ohm"),
        (-0.149376812732, 0.00413859575285, "−0.1494 ohm ± 0.0041 ohm"),
        # Common practice where the uncertainty reaches beyond the decimal point.
        (123.4, 1.5, "123.4 ohm ± 1.5 ohm"),
        # One figure says all that is known.
        (0.42, 0.0001, "0.4200 ohm ± 0.0001 ohm"),
        (0.0, 0.001, "0.000 ohm ± 0.001 ohm"),
        (-0.012, 0.5, "0.0 ohm ± 0.5 ohm"),
        (1234.0, 123.0, "(1.23 ± 0.12) × 10³ ohm"),
        (1.2e-5, 2.1e-7, "(1.200 ± 0.021) × 10⁻⁵ ohm"),
    ],
)
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


def test_an_uncertainty_of_nothing_is_refused():
    with pytest.raises(ValueError, match="a standard uncertainty is positive, not 0"):
        with_uncertainty(1.0, 0)


@pytest.mark.parametrize(
    ("value", "u", "text"),
    [
        (10.05762, 0.027, "10.058 m/s² ± 0.027 m/s²"),  # GUM 7.2.6: 10.057 62 with 27 mΩ
        (1.130086, 0.0016239, "1.1301 m/s² ± 0.0016 m/s²"),
        (-0.0003, 0.0013, "−0.0003 m/s² ± 0.0013 m/s²"),
        (0.00037, 0.00056, "0.00037 m/s² ± 0.00056 m/s²"),
        (1.5e-9, 2.3e-10, "1.50 × 10⁻⁹ m/s² ± 0.23 × 10⁻⁹ m/s²"),
    ],
)
def test_a_value_ends_where_its_uncertainty_does(value: float, u: float, text: str) -> None:
    shown = amount(Estimate(value=value, u=u), "m/s²", 3)
    assert shown.replace("\u00a0", " ") == text
    assert " " not in shown


def test_a_value_without_uncertainty_has_the_course_s_figures() -> None:
    assert amount(Estimate(value=1.23456, u=0.0), "N", 3) == "1.23\u00a0N"


def test_a_value_alone_and_an_interval_end_there_too() -> None:
    assert to_place_of(0.6093, 0.0021, "N", 3) == "0.6093\u00a0N"
    assert interval((1.12641, 1.13376), 0.0016, "m/s²", 3) == "1.1264 to 1.1338\u00a0m/s²"


def test_an_uncertainty_has_two_figures_and_no_power_of_ten_in_a_table() -> None:
    shown = [size(u, "N").replace("\u00a0", " ") for u in (0.0016239, 0.00077, 0.25, 12.4)]
    assert shown == ["0.0016 N", "0.00077 N", "0.25 N", "12 N"]


@pytest.mark.parametrize(
    ("value", "u", "figures"),
    [(1.495, 0.0032, 5), (1.495, 0.032, 4), (0.002, 0.03, 1), (9.0, 0, 3)],
)
def test_figures_of_a_symbol_follow_its_uncertainty(value: float, u: float, figures: int) -> None:
    assert figures_for(value, u, 3) == figures
