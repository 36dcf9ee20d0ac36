"""Means, lines, coverage factors and outliers against certified and published values."""

from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from fallwork.measurement.finding_fit import least_squares
from fallwork.measurement.finding_noise import autocorrelations
from fallwork.measurement.statistics import (
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
WASHINGTON = DATA["washington"]  # National Bureau of Standards, 1934–35 (read in R's boot)


def to(digits: float, value: float) -> Any:
    """A value known to so many decimals, or as a share where less than one."""
    if digits < 1:
        return pytest.approx(value, rel=digits)
    return pytest.approx(value, abs=0.5 * 10**-digits)


NINE, EIGHT = (partial(to, 0.5e-9), partial(to, 1e-8))
MEANS = {
    # NIST Statistical Reference Datasets, univariate (read in the headers of the data files).
    "Michelso": (
        [299 + speed / 1000 for speed in DATA["michelson"]],
        *(NINE(299.852400000000), NINE(0.0790105478190518), NINE(0.535199668621283)),
    ),
    "NumAcc1": ([10000001, 10000003, 10000002], NINE(10000002), NINE(1), NINE(-0.5)),
    "NumAcc2": ([1.2, *[1.1, 1.3] * 500], NINE(1.2), NINE(0.1), NINE(-0.999)),
    # The readings themselves can't be held better: 0.1 in 1e7 keeps 8 digits of a double.
    "NumAcc4": (
        [10000000.2, *[10000000.1, 10000000.3] * 500],
        *(NINE(10000000.2), EIGHT(0.1), EIGHT(-0.999)),
    ),
    "JCGM 100:2008, 4.4.3 (read)": (
        DATA["gum temperatures"],
        *(to(3, 100.145), to(3, 1.489), None),
    ),
    "gravity at Washington": (
        [value for series in WASHINGTON.values() for value in series],
        *(to(10, 78.8888888889), to(10, 11.7569128601), None),
    ),
    "gravity at Washington, series 4": (
        WASHINGTON["series 4"],
        *(to(3, 81.375), to(6, 8.296944), None),
    ),
}


@pytest.mark.parametrize("source", MEANS)
def test_certified_and_published_means(source: str) -> None:
    values, mean, deviation, lag_one = MEANS[source]
    found = spread(values)
    assert (found.n, found.mean, found.standard_deviation) == (len(values), mean, deviation)
    assert found.u == pytest.approx(found.standard_deviation / np.sqrt(len(values)), rel=1e-12)
    if lag_one is not None:  # products at a lag are fewer than squares: theirs is the mean
        rest, n = np.array(values) - found.mean, len(values)
        assert autocorrelations([rest])[0][0] * (n - 1) / n == lag_one


CART = [0.118, 0.186, 0.240, 0.309, 0.362, 0.431, 0.487, 0.553, 0.607, 0.672, 0.737]
LINES: dict[str, tuple[list[float], list[float], list[float] | None, dict[str, Any]]] = {
    "NIST Norris": (
        *DATA["norris"].values(),
        None,
        {
            "intercept": NINE(-0.262323073774029),
            "slope": NINE(1.00211681802045),
            "u intercept": NINE(0.232818234301152),
            "u slope": NINE(0.429796848199937e-03),
            "scatter": NINE(0.884796396144373),
            "F": NINE(5436385.54079785),
        },
    ),
    "JCGM 100:2008, H.3, with reference temperature 20 °C (read)": (
        [t - 20 for t in DATA["gum thermometer"]["t"]],
        DATA["gum thermometer"]["b"],
        None,
        {
            "intercept": to(4, -0.1712),
            "slope": to(5, 0.00218),
            "u intercept": to(4, 0.0029),
            "u slope": to(5, 0.00067),
            "correlation": to(3, -0.930),
            "scatter": to(4, 0.0035),
            "at 10": to(4, -0.1494),
            "u at 10": to(4, 0.0041),
        },
    ),
    "NBS Handbook 91, Worksheet 5-4.1 (read); the last recomputed to more digits": (
        *DATA["natrella"].values(),
        None,
        {
            "intercept": to(4, 4654.9846),
            "slope": to(8, -0.44985482),
            "scatter": to(1e-7, 9.277617),
            "u at 1200": to(1e-6, 10.530376**0.5),
        },
    ),
    "R's DAAG, data set modelcars (read); recomputed by an independent library": (
        *DATA["model cars"].values(),
        None,
        {
            "intercept": to(1e-10, 8.08333333333),
            "slope": to(1e-10, 2.01388888889),
            "u slope": to(1e-9, 0.131204063096),
            "scatter": to(1e-9, 1.52445345397),
        },
    ),
    "velocities of a cart: exact fractions, confirmed by an independent library": (
        [at * 0.05 for at in range(11)],
        CART,
        None,
        {"slope": to(1e-11, 1.22781818182), "u at 0.25": to(1e-10, 0.00110972824874)},
    ),
    "the same with known uncertainties": (
        [at * 0.05 for at in range(11)],
        CART,
        [0.004] * 5 + [0.008] * 6,
        {
            "intercept": to(1e-10, 0.120393170732),
            "slope": to(1e-10, 1.22747707317),
            "u intercept": to(1e-10, 0.00243550966269),
            "u slope": to(1e-10, 0.0113961910624),
            "chi-squared": to(1e-10, 5.13443292683),
        },
    ),
}


@pytest.mark.parametrize("source", LINES)
def test_certified_and_published_lines(source: str) -> None:
    """The least squares with which runs are fitted, here through readings without correlation."""
    x, y, known, expected = LINES[source]
    design = np.stack([np.ones(len(x)), x], axis=1)
    u_of_y = np.ones(len(x)) if known is None else np.array(known)
    values, covariance, squares = least_squares(design, np.array(y), np.diag(u_of_y**2))
    scatter = float(np.sqrt(squares / (len(x) - 2)))
    covariance = covariance * (scatter**2 if known is None else 1)
    u = np.sqrt(np.diag(covariance))
    found = {
        **dict(zip(("intercept", "slope", "u intercept", "u slope"), (*values, *u), strict=True)),
        "correlation": covariance[0, 1] / (u[0] * u[1]),
        "scatter": scatter,
        "chi-squared": squares,
        "F": (values[1] / u[1]) ** 2,
    }
    for place in (name.rpartition(" ")[2] for name in expected if "at " in name):
        row = np.array([1.0, float(place)])
        found |= {f"at {place}": row @ values, f"u at {place}": (row @ covariance @ row) ** 0.5}
    assert {name: found[name] for name in expected} == expected


@pytest.mark.parametrize(
    ("x", "y", "slope", "u", "scatter"),
    [
        (
            *(range(60, 71), range(130, 141)),
            *(2.07438016528926, 0.165289256198347e-01, 3.56753034006338),
        ),
        ((4, 5, 6), (3, 4, 4), 0.727272727272727, 0.420827318078432e-01, 0.369274472937998),
    ],
    ids=["NoInt1", "NoInt2"],
)
def test_nist_lines_through_the_origin(
    x: Any, y: Any, slope: float, u: float, scatter: float
) -> None:
    values, covariance, squares = least_squares(np.array([x]).T, np.array(y), np.eye(len(x)))
    found = float(np.sqrt(squares / (len(x) - 1)))
    assert (values[0], found * covariance[0, 0] ** 0.5, found) == (
        NINE(slope),
        NINE(u),
        NINE(scatter),
    )


def test_norris_is_as_the_scipy_distribution_has_it() -> None:
    """The 36 points, where this distribution of scipy carries them."""
    file = files("scipy") / "stats/tests/data/nist_linregress/Norris.dat"
    x, y = DATA["norris"]["x"], DATA["norris"]["y"]
    if file.is_file():
        rows = [line.split() for line in file.read_text(encoding="utf-8").splitlines()[60:96]]
        assert [(float(b), float(a)) for a, b in rows] == list(zip(x, y, strict=True))
    assert len(x) == len(y) == 36


def test_interval_of_daily_temperatures() -> None:
    """NIST Technical Note 1900, E2 (data from memory; statistics recomputed)."""
    found = spread(DATA["temperatures"])
    low, high = interval(found.estimate)
    assert (round(found.mean, 2), round(found.estimate.u, 3)) == (25.59, 0.872)
    assert round(coverage_factor(21), 2) == 2.08
    assert (round(low, 1), round(high, 1)) == (23.8, 27.4)


@pytest.mark.parametrize(
    ("dof", "level", "factor"),
    [
        *[(1, 0.95, 12.706), (2, 0.95, 4.303), (3, 0.95, 3.182), (4, 0.95, 2.776)],
        *[(5, 0.95, 2.571), (6, 0.95, 2.447), (7, 0.95, 2.365), (8, 0.95, 2.306)],
        *[(9, 0.95, 2.262), (10, 0.95, 2.228), (15, 0.95, 2.131), (20, 0.95, 2.086)],
        *[(30, 0.95, 2.042), (60, 0.95, 2.000), (100, 0.95, 1.984)],
        *[(np.inf, 0.95, 1.960), (np.inf, 0.99, 2.576)],  # JCGM 100:2008, G.1 (from memory)
        (16, 0.99, 2.921),  # JCGM 100:2008, H.1.6: 2.92 (read)
    ],
)
def test_student_t(dof: float, level: float, factor: float) -> None:
    """NIST/SEMATECH e-Handbook, 1.3.6.7.2 (read), where nothing else is said."""
    assert round(coverage_factor(dof, level), 3) == factor


def test_gum_g_4_1_effective_degrees_of_freedom() -> None:
    """JCGM 100:2008, G.4.1 (read): printed 1.03 %, 19.0 (from the rounded 1.03), 2.09, 2.2 %."""
    u, dof = combined([(0.25, 9), (0.57, 4), (0.82, 14)])
    assert (round(u, 2), round(dof, 1)) == (1.03, 19.0)
    assert dof == pytest.approx(18.9987423143, rel=1e-10)
    assert round(coverage_factor(dof), 2) == 2.09
    assert round(coverage_factor(dof) * u, 1) == 2.2


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
