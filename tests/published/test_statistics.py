"""Means, lines, coverage factors and outliers against certified and published values."""

from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from fallwork.measurement.finding_fit import autocorrelations, least_squares
from fallwork.measurement.statistics import (
    combined,
    coverage_factor,
    critical_deviate,
    outliers,
    spread,
)

DATA: dict[str, Any] = yaml.safe_load(
    (Path(__file__).parent / "statistics.yaml").read_text(encoding="utf-8")
)


def printed(text: str) -> Any:
    """A value to within half of its last digit."""
    return pytest.approx(float(text), abs=0.5 * 10.0 ** -len(text.partition(".")[2]))


def readings(expression: str) -> Any:
    return eval(expression, DATA)


@pytest.mark.parametrize("source", DATA["means"])
def test_certified_and_published_means(source: str) -> None:
    given = dict(DATA["means"][source])
    values = readings(given.pop("values"))
    found = spread(values)
    assert found.n == len(values)
    assert found.u == pytest.approx(found.standard_deviation / np.sqrt(len(values)), rel=1e-12)
    rest, n = np.array(values) - found.value, found.n
    # Products at a lag are fewer than squares: theirs is the mean.
    lag_one = autocorrelations([rest])[0][0] * (n - 1) / n
    all_ = {"mean": found.value, "deviation": found.standard_deviation, "lag one": lag_one}
    assert {name: all_[name] for name in given} == {n: printed(text) for n, text in given.items()}


@pytest.mark.parametrize("source", DATA["lines"])
def test_certified_and_published_lines(source: str) -> None:
    """The least squares with which runs are fitted, here through readings without correlation."""
    given = dict(DATA["lines"][source])
    (x, y), known = readings(given.pop("points")), readings(given.pop("u of y", "None"))
    names = ("slope",) if given.pop("through the origin", False) else ("slope", "intercept")
    design = np.stack([x, np.ones(len(x))][: len(names)], axis=1)
    u_of_y = np.ones(len(x)) if known is None else np.array(known)
    values, covariance, squares = least_squares(design, np.array(y), np.diag(u_of_y**2))
    scatter = float(np.sqrt(squares / (len(x) - len(names))))
    covariance = covariance * (scatter**2 if known is None else 1)
    u = np.sqrt(np.diag(covariance))
    found = {
        **dict(zip(names, values, strict=True)),
        **{f"u {name}": each for name, each in zip(names, u, strict=True)},
        "correlation": covariance[0, -1] / (u[0] * u[-1]),
        "scatter": scatter,
        "chi-squared": squares,
        "F": (values[0] / u[0]) ** 2,
    }
    for place in (name.rpartition(" ")[2] for name in given if "at " in name):
        row = np.array([float(place), 1.0])
        found |= {f"at {place}": row @ values, f"u at {place}": (row @ covariance @ row) ** 0.5}
    assert {name: found[name] for name in given} == {n: printed(text) for n, text in given.items()}


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
    low, high = found.interval_95 or ()
    assert (round(found.value, 2), round(found.u or 0.0, 3)) == (25.59, 0.872)
    assert round(coverage_factor(21), 2) == 2.08
    assert (round(low, 1), round(high, 1)) == (23.8, 27.4)


@pytest.mark.parametrize("source", DATA["student"])
def test_student_t(source: str) -> None:
    for row in DATA["student"][source].splitlines():
        dof, level, factor = map(float, row.split())
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
    assert round((245.57 - found.value) / found.standard_deviation, 4) == 2.4688
    assert round(critical_deviate(8, significance=0.10), 3) == 2.032
    assert outliers(DATA["uranium"]) == (7,)


def test_rosner_three_outliers_behind_each_other() -> None:
    """NIST e-Handbook, 1.3.5.17.3 (from memory): limits 3.158, 3.151, 3.143; three outliers."""
    limits = [critical_deviate(54 - removed, significance=0.05) for removed in range(3)]
    assert limits == pytest.approx([3.158, 3.151, 3.143], abs=0.002)
    assert outliers(DATA["rosner"], significance=0.05) == (51, 52, 53)
