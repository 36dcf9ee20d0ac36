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
)

READINGS = st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=30)


@given(READINGS, st.floats(-1e9, 1e9))
def test_spread_is_that_of_an_independent_library_and_a_shift_moves_the_mean_alone(
    values: list[float], shift: float
) -> None:
    found, moved = spread(values), spread([value + shift for value in values])
    assert found.value == pytest.approx(np.mean(values), rel=1e-9, abs=1e-9)
    assert found.standard_deviation == pytest.approx(np.std(values, ddof=1), rel=1e-6, abs=1e-9)
    assert moved.value == pytest.approx(found.value + shift, abs=1e-5)
    assert moved.standard_deviation == pytest.approx(found.standard_deviation or 0.0, abs=1e-5)


def test_a_single_reading_has_a_mean_and_no_scatter_and_none_is_refused() -> None:
    found = spread([1.5])
    assert (found.n, found.value, found.standard_deviation, found.u) == (1, 1.5, None, None)
    with pytest.raises(ValueError, match="no readings"):
        spread([])


def test_uncertainty_of_limits_and_of_steps() -> None:
    """JCGM 100:2008, 4.3.7 and F.2.2.1: a/√3, and 0.29 times the step."""
    assert (rectangular(1.0), resolution(1.0)) == pytest.approx((0.57735, 0.28868), abs=5e-6)


@pytest.mark.parametrize(
    ("terms", "u", "dof"),
    [
        ([(3.0, inf), (4.0, inf)], 5.0, inf),
        ([(0.2, 9.0), (0.0, 3.0)], 0.2, 9.0),
        ([(0.0, 3.0)], 0.0, inf),
        ([(0.1, 5.0), (0.1, 5.0)], 0.02**0.5, 10.0),  # by hand: (2u²)² / (2u⁴/5) = 10
    ],
)
def test_independent_terms_add_in_quadrature_with_effective_degrees_of_freedom(
    terms: list[tuple[float, float]], u: float, dof: float
) -> None:
    """JCGM 100:2008, G.2b."""
    assert combined(terms) == pytest.approx((u, dof))


def test_coverage_factor_with_broken_degrees_of_freedom_lies_between() -> None:
    assert coverage_factor(17) < coverage_factor(16.5) < coverage_factor(16)


TEN = [1.50, 1.49, 1.51, 1.50, 1.52, 1.49, 1.13, 1.50, 1.51, 1.48]
OUTLIERS: list[tuple[list[float], tuple[int, ...]]] = [
    (TEN, (6,)),
    ([*TEN[:7], 1.12, *TEN[8:]], (6, 7)),  # two far off don't hide each other
    *(([*few], ()) for few in ([1.0, 9.0], [2.0] * 10, [], [1.0, 1.0, 5.0])),  # too little to tell
]


@pytest.mark.parametrize(("values", "flagged"), OUTLIERS)
def test_values_far_off_are_flagged(values: list[float], flagged: tuple[int, ...]) -> None:
    assert outliers(values) == flagged


def test_clean_sets_of_ten_are_flagged_about_once_in_a_hundred() -> None:
    generator = np.random.default_rng(20)
    flagged = sum(bool(outliers(generator.normal(size=10))) for _ in range(1500))
    assert 0.004 < flagged / 1500 < 0.025
