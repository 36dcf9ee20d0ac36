"""Means, combinations and outliers: properties that published values don't show."""

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallwork.measurement.statistics import (
    combined,
    coverage_factor,
    outliers,
    rectangular,
    resolution,
    spread,
    welch_satterthwaite,
)

READINGS = st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=30)


@given(READINGS, st.floats(-1e9, 1e9))
def test_a_common_shift_moves_the_mean_alone(values: list[float], shift: float) -> None:
    plain, moved = spread(values), spread([value + shift for value in values])
    assert moved.mean == pytest.approx(plain.mean + shift, abs=1e-5)
    assert moved.standard_deviation == pytest.approx(plain.standard_deviation or 0.0, abs=1e-5)


@given(READINGS)
def test_spread_is_that_of_an_independent_library(values: list[float]) -> None:
    found = spread(values)
    assert found.mean == pytest.approx(np.mean(values), rel=1e-9, abs=1e-9)
    assert found.standard_deviation == pytest.approx(np.std(values, ddof=1), rel=1e-6, abs=1e-9)


def test_a_single_reading_has_a_mean_and_no_scatter() -> None:
    found = spread([1.5])
    assert (found.n, found.mean, found.standard_deviation, found.u) == (1, 1.5, None, None)
    with pytest.raises(ValueError, match="no scatter"):
        _ = found.estimate


def test_no_reading_is_refused() -> None:
    with pytest.raises(ValueError, match="no readings"):
        spread([])


def test_uncertainty_of_limits_and_of_steps() -> None:
    """JCGM 100:2008, 4.3.7 and F.2.2.1: a/√3, and 0.29 times the step."""
    assert rectangular(1.0) == pytest.approx(0.57735, abs=5e-6)
    assert resolution(1.0) == pytest.approx(0.29, abs=0.005)


def test_independent_terms_add_in_quadrature() -> None:
    u, dof = combined([(3.0, inf), (4.0, inf)])
    assert (u, dof) == (5.0, inf)


def test_one_term_keeps_its_degrees_of_freedom() -> None:
    assert welch_satterthwaite([(0.2, 9), (0.0, 3)]) == pytest.approx(9)
    assert welch_satterthwaite([(0.0, 3)]) == inf


def test_equal_terms_add_their_degrees_of_freedom() -> None:
    """By hand from G.2b: (2u²)² / (2u⁴/5) = 10."""
    assert welch_satterthwaite([(0.1, 5), (0.1, 5)]) == pytest.approx(10)


def test_coverage_factor_with_broken_degrees_of_freedom_lies_between() -> None:
    assert coverage_factor(17) < coverage_factor(16.5) < coverage_factor(16)


def test_a_value_far_off_is_flagged_and_its_neighbours_are_not() -> None:
    assert outliers([1.50, 1.49, 1.51, 1.50, 1.52, 1.49, 1.13, 1.50, 1.51, 1.48]) == (6,)


def test_two_far_off_do_not_hide_each_other() -> None:
    values = [1.50, 1.49, 1.51, 1.50, 1.52, 1.49, 1.13, 1.12, 1.51, 1.48]
    assert outliers(values) == (6, 7)


@pytest.mark.parametrize("values", [[1.0, 9.0], [2.0] * 10, [], [1.0, 1.0, 5.0]])
def test_what_is_too_little_to_tell_is_not_flagged(values: list[float]) -> None:
    assert outliers(values) == ()


def test_clean_sets_of_ten_are_flagged_about_once_in_a_hundred() -> None:
    generator = np.random.default_rng(20)
    flagged = sum(bool(outliers(generator.normal(size=10))) for _ in range(1500))
    assert 0.004 < flagged / 1500 < 0.025
