"""What is measured, and local gravity, against certified and published values."""

from collections.abc import Sequence
from importlib.resources import files
from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from fallwork.measurement import statistics
from fallwork.measurement.finding_fit import autocorrelations, least_squares
from fallwork.measurement.propagation import Input, Model, Numbers, linear, monte_carlo, tolerance
from fallwork.measurement.summaries import summarise
from fallwork.mechanics import normal_gravity

DATA, CASES, GRAVITY = (
    yaml.safe_load((Path(__file__).parent / f"{name}.yaml").read_text(encoding="utf-8"))
    for name in ("statistics", "propagation", "gravity")
)
SEED = 101


def printed(text: str) -> Any:
    """A value to within half of its last digit."""
    return pytest.approx(float(text), abs=0.5 * 10.0 ** -len(text.partition(".")[2]))


def readings(expression: str) -> Any:
    return eval(expression, DATA)


def summed(values: Sequence[float]) -> Any:
    return summarise({str(at): statistics.Outcome(value=v, u=None) for at, v in enumerate(values)})


@pytest.mark.parametrize("source", DATA["means"])
def test_certified_and_published_means(source):
    given = dict(DATA["means"][source])
    values = readings(given.pop("values"))
    found = summed(values)
    assert found.n == len(values)
    assert found.u == pytest.approx(found.standard_deviation / np.sqrt(len(values)), rel=1e-12)
    rest, n = np.array(values) - found.value, found.n
    # Products at a lag are fewer than squares: theirs is the mean.
    lag_one = autocorrelations([rest])[0][0] * (n - 1) / n
    all_ = {"mean": found.value, "deviation": found.standard_deviation, "lag one": lag_one}
    assert {name: all_[name] for name in given} == {n: printed(text) for n, text in given.items()}


@pytest.mark.parametrize("source", DATA["lines"])
def test_certified_and_published_lines(source):
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


def test_norris_as_scipy_has_it_and_an_interval_of_daily_temperatures():
    # The 36 points, where this distribution of scipy carries them.
    file = files("scipy") / "stats/tests/data/nist_linregress/Norris.dat"
    x, y = DATA["norris"]["x"], DATA["norris"]["y"]
    if file.is_file():
        rows = [line.split() for line in file.read_text(encoding="utf-8").splitlines()[60:96]]
        assert [(float(b), float(a)) for a, b in rows] == list(zip(x, y, strict=True))
    assert len(x) == len(y) == 36
    # NIST Technical Note 1900, E2 (data from memory; statistics recomputed).
    found = summed(DATA["temperatures"])
    assert (round(found.value, 2), round(found.u or 0.0, 3)) == (25.59, 0.872)
    assert round(statistics.coverage_factor(21), 2) == 2.08
    assert [round(end, 1) for end in found.interval_95 or ()] == [23.8, 27.4]


@pytest.mark.parametrize("source", DATA["student"])
def test_student_t(source):
    for row in DATA["student"][source].splitlines():
        dof, level, factor = map(float, row.split())
        assert round(statistics.coverage_factor(dof, level), 3) == factor


def test_gum_g_4_1_effective_degrees_of_freedom():
    """JCGM 100:2008, G.4.1 (read): printed 1.03 %, 19.0 (from the rounded 1.03), 2.09, 2.2 %."""
    u, dof = statistics.combined([(0.25, 9), (0.57, 4), (0.82, 14)])
    assert (round(u, 2), round(dof, 1)) == (1.03, 19.0)
    assert dof == pytest.approx(18.9987423143, rel=1e-10)
    assert round(statistics.coverage_factor(dof), 2) == 2.09
    assert round(statistics.coverage_factor(dof) * u, 1) == 2.2


def test_limits_and_steps():
    """JCGM 100:2008, 4.3.7 and F.2.2.1: a/√3, and 0.29 times the step of a display."""
    assert (statistics.rectangular(1.0), statistics.rectangular(1.0 / 2)) == pytest.approx(
        (0.57735, 0.28868), abs=5e-6
    )


def test_outliers_of_the_handbook():
    # NIST e-Handbook, 1.3.5.17.1 (from memory): G = 2.4687, one-sided 5 % limit 2.032.
    found = summed(DATA["uranium"])
    assert round((245.57 - found.value) / found.standard_deviation, 4) == 2.4688
    assert round(statistics.critical_deviate(8, significance=0.10), 3) == 2.032
    assert statistics.outliers(DATA["uranium"]) == (7,)
    # NIST e-Handbook, 1.3.5.17.3 (from memory): limits 3.158, 3.151, 3.143; three outliers.
    limits = [statistics.critical_deviate(54 - removed, significance=0.05) for removed in range(3)]
    assert limits == pytest.approx([3.158, 3.151, 3.143], abs=0.002)
    assert statistics.outliers(DATA["rosner"], significance=0.05) == (51, 52, 53)


# ---- propagation
def normal(name: str, value: float, u: float, dof: float = np.inf) -> Input:
    return Input(name=name, value=value, u=u, dof=dof)


def within(name: str, value: float, half_width: float) -> Input:
    u = half_width / sqrt(3)
    return Input(name=name, value=value, u=u, rectangular=True)


def number(given: float | str) -> float:
    return float(eval(given, vars(np).copy()) if isinstance(given, str) else given)


def test_gum_h2_impedance_with_correlated_inputs_and_outputs():
    """JCGM 100:2008, H.2 (from memory): R 127.732(71) Ω, X 219.847(295) Ω, Z 254.260(236) Ω;
    correlations −0.588, −0.485 and 0.993. The example rounds its inputs' correlations.
    """
    data = DATA["impedance"]
    readings = {"V": data["voltage"], "I": np.array(data["current"]) / 1e3, "phi": data["phase"]}
    root = np.linalg.cholesky(np.corrcoef(list(readings.values())))
    means = {name: summed(values) for name, values in readings.items()}

    def impedance(v: Numbers) -> Numbers:
        """Of independent standard normal inputs, joined to those of the example."""
        joined = root @ np.stack([v["a"], v["b"], v["c"]])
        volts, amperes, phi = (
            each.value + (each.u or 0.0) * row
            for each, row in zip(means.values(), joined, strict=True)
        )
        size = volts / amperes
        return {"R": size * np.cos(phi), "X": size * np.sin(phi), "Z": size}

    inputs = [normal(name, 0, 1) for name in "abc"]
    found = linear(impedance, inputs)
    printed = {"R": (127.732, 0.071), "X": (219.847, 0.295), "Z": (254.260, 0.236)}
    parts = {}
    for name, (value, u) in printed.items():
        assert round(found.estimate(name).value, 3) == value
        assert found.estimate(name).u == pytest.approx(u, abs=0.001)
        parts[name] = found.slopes[name] / found.estimate(name).u
    pairs = [np.dot(parts[one], parts[other]) for one, other in ("RX", "RZ", "XZ")]
    assert pairs == pytest.approx([-0.588, -0.485, 0.993], abs=0.0006)
    simulated = monte_carlo(impedance, inputs, SEED)[1]["R"]
    assert simulated.u == pytest.approx(0.071, abs=0.001)


@pytest.mark.parametrize("source", CASES)
def test_linear_and_simulated_uncertainty(source):
    given = CASES[source]
    inputs = [
        kind(name, *map(number, values))
        for kind, of in ((normal, "inputs"), (within, "within"))
        for name, values in given.get(of, {}).items()
    ]
    model: Model = lambda v: {"y": eval(given["model"], {**vars(np), **v})}  # noqa: E731
    straight = linear(model, inputs)
    found, drawn = straight.estimate("y"), monte_carlo(model, inputs, SEED)[1]["y"]
    for how, each in (("", found), ("drawn ", drawn)):
        all_ = {"value": each.value, "u": each.u, "interval": each.interval_95, "dof": each.dof}
        for name, value in all_.items():
            wanted = np.atleast_2d(given.get(how + name, np.zeros((0, 2))))
            for end, (text, give) in zip(np.atleast_1d(value), wanted, strict=len(wanted) > 0):
                assert end == pytest.approx(number(text), abs=float(give)), name
    assert drawn.agrees_with(found) == given.get("agree", drawn.agrees_with(found))
    largest = given.get("budget", {})
    sizes = [(entry.input, round(entry.u, 1)) for entry in straight.budget("y")]
    assert sizes[: len(largest)] == list(largest.items())
    slopes = map(printed, given.get("slopes", []))
    assert "slopes" not in given or list(straight.slopes["y"]) == list(slopes)


@pytest.mark.parametrize(
    ("u", "digits", "half_a_unit"),
    [(0.0754, 2, 0.0005), (2.0, 2, 0.05), (0.0996, 2, 0.005), (47, 2, 0.5), (0.0754, 1, 0.005)],
)
def test_numerical_tolerance(u, digits, half_a_unit):
    """JCGM 101:2008, 7.9.2: u = c × 10^l, tolerance ½ × 10^l (from memory)."""
    assert tolerance(u, digits) == pytest.approx(half_a_unit, rel=1e-12)


# ---- local gravity against published values of the Geodetic Reference System 1980
@pytest.mark.parametrize("within", GRAVITY)
def test_gravity_as_published(within):
    for row in GRAVITY[within]:
        latitude, height, published = map(float, row.split()[-3:])
        assert normal_gravity(latitude, height) == pytest.approx(published, abs=within), row


def test_free_air_gradient():
    """0.3086 mGal per metre: the figure in common use, read at NPL's page on local gravity."""
    assert normal_gravity(50, 0) - normal_gravity(50, 100) == pytest.approx(3.086e-4, rel=1e-9)
