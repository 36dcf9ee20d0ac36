"""Measured values as readers see them: one rule for a value and its uncertainty."""

import pytest

from fallwork.lesson.measured.words import amount, figures_for, interval, size, to_place_of
from fallwork.measurement.model import Estimate


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
    assert [size(u, "N") for u in (0.0016239, 0.00077, 0.25, 12.4)] == [
        "0.0016\u00a0N",
        "0.00077\u00a0N",
        "0.25\u00a0N",
        "12\u00a0N",
    ]


@pytest.mark.parametrize(
    ("value", "u", "figures"),
    [(1.495, 0.0032, 5), (1.495, 0.032, 4), (0.002, 0.03, 1), (9.0, 0, 3)],
)
def test_figures_of_a_symbol_follow_its_uncertainty(value: float, u: float, figures: int) -> None:
    assert figures_for(value, u, 3) == figures
