"""Means, lines, coverage factors and outliers against certified and published values."""

from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from fallwork.measurement.finding_fit import MOST_BLOCKS, Fit, Stretch, fit_stretches
from fallwork.measurement.statistics import (
    autocorrelation,
    combined,
    coverage_factor,
    critical_deviate,
    interval,
    outliers,
    spread,
)

DATA: dict[str, Any] = yaml.safe_load(
    (Path(__file__).parent / "statistics.yaml").read_text(encoding="utf-8")
)
NINE = 0.5e-9  # relative: nine digits

# NIST Statistical Reference Datasets, univariate (read in the headers of the data files).
MICHELSON = [299 + speed / 1000 for speed in DATA["michelson"]]
NUM_ACC_1 = [10000001, 10000003, 10000002]
NUM_ACC_2 = [1.2, *[1.1, 1.3] * 500]
NUM_ACC_4 = [10000000.2, *[10000000.1, 10000000.3] * 500]


@pytest.mark.parametrize(
    ("values", "mean", "deviation", "lag_one", "give"),
    [
        (MICHELSON, 299.852400000000, 0.0790105478190518, 0.535199668621283, NINE),
        (NUM_ACC_1, 10000002, 1, -0.5, NINE),
        (NUM_ACC_2, 1.2, 0.1, -0.999, NINE),
        # The readings themselves can't be held better: 0.1 in 1e7 keeps 8 digits of a double.
        (NUM_ACC_4, 10000000.2, 0.1, -0.999, 1e-8),
    ],
    ids=["Michelso", "NumAcc1", "NumAcc2", "NumAcc4"],
)
def test_nist_certified_means(
    values: list[float], mean: float, deviation: float, lag_one: float, give: float
) -> None:
    found = spread(values)
    assert found.mean == pytest.approx(mean, rel=NINE)
    assert found.standard_deviation == pytest.approx(deviation, rel=give)
    assert autocorrelation(values) == pytest.approx(lag_one, rel=give)


def test_the_textbook_formula_would_fail_where_ours_holds() -> None:
    values = np.array(NUM_ACC_4)
    textbook = (np.sum(values**2) - np.sum(values) ** 2 / len(values)) / (len(values) - 1)
    assert abs(textbook - 0.01) > 0.01
    assert spread(values).standard_deviation == pytest.approx(0.1, rel=1e-8)


def fit(x: list[float], y: list[float], seed: int | None = None) -> Fit:
    """The program's line through readings. It allows for noise that neighbours share, so ``seed``
    puts them into an order in which they don't; what is left is ordinary least squares.
    """
    order = np.arange(len(x)) if seed is None else np.random.default_rng(seed).permutation(len(x))
    points = Stretch(time=np.array(x, dtype=float)[order], values=np.array(y)[order])
    found = fit_stretches([points], 1)
    assert found is not None
    assert found.dof == len(x) - 2
    return found


def intercept_and_slope(found: Fit) -> tuple[list[float], list[float], float]:
    """Their values, standard uncertainties and correlation."""
    values, covariance = found.line(0)
    u = np.sqrt(np.diag(covariance))
    return list(values), list(u), float(covariance[0, 1] / (u[0] * u[1]))


def u_at(found: Fit, x: float) -> float:
    """Standard uncertainty of the line at x."""
    row = np.array([1.0, x])
    return float(np.sqrt(row @ found.line(0)[1] @ row))


def test_nist_norris(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(MOST_BLOCKS, 1, 36)  # each of its points by itself
    found = fit(DATA["norris"]["x"], DATA["norris"]["y"], seed=4)
    values, u, _ = intercept_and_slope(found)
    assert values == pytest.approx([-0.262323073774029, 1.00211681802045], rel=NINE)
    assert u == pytest.approx([0.232818234301152, 0.429796848199937e-03], rel=NINE)
    assert found.variance**0.5 == pytest.approx(0.884796396144373, rel=NINE)
    assert (values[1] / u[1]) ** 2 == pytest.approx(5436385.54079785, rel=NINE)  # F


def test_norris_is_as_the_scipy_distribution_has_it() -> None:
    """The 36 points, where this distribution of scipy carries them."""
    file = files("scipy") / "stats/tests/data/nist_linregress/Norris.dat"
    x, y = DATA["norris"]["x"], DATA["norris"]["y"]
    if file.is_file():
        rows = [line.split() for line in file.read_text(encoding="utf-8").splitlines()[60:96]]
        assert [(float(b), float(a)) for a, b in rows] == list(zip(x, y, strict=True))
    assert len(x) == len(y) == 36


def test_gum_h3_thermometer() -> None:
    """JCGM 100:2008, H.3, with reference temperature 20 °C (read)."""
    data = DATA["gum thermometer"]
    found = fit([t - 20 for t in data["t"]], data["b"], seed=3)
    (intercept, slope), (u_intercept, u_slope), correlation = intercept_and_slope(found)
    assert (round(intercept, 4), round(u_intercept, 4)) == (-0.1712, 0.0029)
    assert (round(slope, 5), round(u_slope, 5)) == (0.00218, 0.00067)
    assert (round(correlation, 3), round(found.variance**0.5, 4)) == (-0.930, 0.0035)
    assert round(intercept + 10 * slope, 4) == -0.1494
    assert (round(u_at(found, 10), 4), found.dof) == (0.0041, 9)


def test_natrella_line_with_mean() -> None:
    """NBS Handbook 91, Worksheet 5-4.1 (read); the last recomputed to more digits."""
    found = fit(DATA["natrella"]["x"], DATA["natrella"]["y"], seed=1)
    (intercept, slope), _, _ = intercept_and_slope(found)
    assert slope == pytest.approx(-0.44985482, abs=5e-9)
    assert intercept == pytest.approx(4654.9846, abs=5e-5)
    assert found.variance**0.5 == pytest.approx(9.277617, abs=1e-6)
    assert u_at(found, 1200) ** 2 == pytest.approx(10.530376, rel=1e-6)


def test_model_cars_on_a_ramp() -> None:
    """R's DAAG, data set modelcars (read); recomputed by an independent library."""
    found = fit(DATA["model cars"]["ramp"], DATA["model cars"]["table"])
    (intercept, slope), (_, u_slope), _ = intercept_and_slope(found)
    assert slope == pytest.approx(2.01388888889, rel=1e-10)
    assert intercept == pytest.approx(8.08333333333, rel=1e-10)
    assert u_slope == pytest.approx(0.131204063096, rel=1e-9)
    assert found.variance**0.5 == pytest.approx(1.52445345397, rel=1e-9)


def test_velocities_of_a_cart() -> None:
    """Exact fractions, confirmed by an independent library."""
    v = [0.118, 0.186, 0.240, 0.309, 0.362, 0.431, 0.487, 0.553, 0.607, 0.672, 0.737]
    found = fit([at * 0.05 for at in range(11)], v)
    assert intercept_and_slope(found)[0][1] == pytest.approx(1.22781818182, rel=1e-11)
    assert u_at(found, 0.25) == pytest.approx(0.00110972824874, rel=1e-10)


def test_gum_4_4_3_temperatures() -> None:
    """JCGM 100:2008, 4.4.3 (read)."""
    found = spread(DATA["gum temperatures"])
    assert found.u is not None
    assert found.standard_deviation is not None
    assert (found.n, round(found.mean, 3)) == (20, 100.145)
    assert (round(found.standard_deviation, 3), round(found.u, 3)) == (1.489, 0.333)


def test_gravity_at_washington() -> None:
    """81 values of the National Bureau of Standards, 1934–35 (read in R's boot)."""
    everything = [value for series in DATA["washington"].values() for value in series]
    found = spread(everything)
    assert found.mean == pytest.approx(78.8888888889, rel=1e-11)
    assert found.standard_deviation == pytest.approx(11.7569128601, rel=1e-10)
    fourth = spread(DATA["washington"]["series 4"])
    assert (round(fourth.mean, 3), fourth.n) == (81.375, 8)
    assert fourth.standard_deviation == pytest.approx(8.296944, abs=5e-7)


def test_interval_of_daily_temperatures() -> None:
    """NIST Technical Note 1900, E2 (data from memory; statistics recomputed)."""
    found = spread(DATA["temperatures"])
    low, high = interval(found.estimate)
    assert (round(found.mean, 2), round(found.estimate.u, 3)) == (25.59, 0.872)
    assert round(coverage_factor(21), 2) == 2.08
    assert (round(low, 1), round(high, 1)) == (23.8, 27.4)


@pytest.mark.parametrize(
    ("dof", "factor"),
    [
        *[(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (5, 2.571), (6, 2.447), (7, 2.365)],
        *[(8, 2.306), (9, 2.262), (10, 2.228), (15, 2.131), (20, 2.086), (30, 2.042)],
        *[(60, 2.000), (100, 1.984), (float("inf"), 1.960)],
    ],
)
def test_student_t_for_95_percent(dof: float, factor: float) -> None:
    """NIST/SEMATECH e-Handbook, 1.3.6.7.2 (read); the last is the normal distribution's."""
    assert round(coverage_factor(dof), 3) == factor


def test_gum_g_4_1_effective_degrees_of_freedom() -> None:
    """JCGM 100:2008, G.4.1 (read): printed 1.03 %, 19.0 (from the rounded 1.03), 2.09, 2.2 %."""
    u, dof = combined([(0.25, 9), (0.57, 4), (0.82, 14)])
    assert (round(u, 2), round(dof, 1)) == (1.03, 19.0)
    assert dof == pytest.approx(18.9987423143, rel=1e-10)
    assert round(coverage_factor(dof), 2) == 2.09
    assert round(coverage_factor(dof) * u, 1) == 2.2


def test_coverage_factor_of_gum_h1() -> None:
    """JCGM 100:2008, H.1.6: 16 degrees of freedom, 99 %, k = 2.92 (read)."""
    assert round(coverage_factor(16, 0.99), 2) == 2.92


def test_grubbs_uranium() -> None:
    """NIST e-Handbook, 1.3.5.17.1 (from memory): G = 2.4687, one-sided 5 % limit 2.032."""
    found = spread(DATA["uranium"])
    assert found.standard_deviation is not None
    assert round((245.57 - found.mean) / found.standard_deviation, 4) == 2.4688
    assert round(critical_deviate(8, significance=0.10), 3) == 2.032
    assert outliers(DATA["uranium"]) == (7,)


def test_rosner_three_outliers_behind_each_other() -> None:
    """NIST e-Handbook, 1.3.5.17.3 (from memory): limits 3.158, 3.151, 3.143; three outliers."""
    limits = [critical_deviate(54 - removed, significance=0.05) for removed in range(3)]
    assert limits == pytest.approx([3.158, 3.151, 3.143], abs=0.002)
    assert outliers(DATA["rosner"], significance=0.05) == (51, 52, 53)
