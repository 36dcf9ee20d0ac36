"""Propagation of uncertainty against the examples of the GUM and its first supplement."""

from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from fallwork.measurement.propagation import Input, Model, Numbers, linear, monte_carlo, tolerance
from fallwork.measurement.statistics import spread

DATA: dict[str, Any] = yaml.safe_load(
    (Path(__file__).parent / "statistics.yaml").read_text(encoding="utf-8")
)
CASES: dict[str, Any] = yaml.safe_load(
    (Path(__file__).parent / "propagation.yaml").read_text(encoding="utf-8")
)
SEED = 101


def normal(name: str, value: float, u: float, dof: float = np.inf) -> Input:
    return Input(name=name, value=value, u=u, dof=dof)


def within(name: str, value: float, half_width: float) -> Input:
    u = half_width / sqrt(3)
    return Input(name=name, value=value, u=u, rectangular=True)


def number(given: float | str) -> float:
    """A number, or an expression of some."""
    return float(eval(given, vars(np).copy()) if isinstance(given, str) else given)


def test_gum_h1_end_gauge() -> None:
    """JCGM 100:2008, H.1 (read): l 50 000 838 nm, u 32, contributions 25, 9.7, 2.9, 16.6 nm,
    16.7 degrees of freedom. Unrounded an independent library has u 31.663879, 16.751856.
    """

    def gauge(v: Numbers) -> Numbers:
        theta = v["theta mean"] + v["cycle"]
        bend = v["d alpha"] * theta + v["alpha"] * v["d theta"]
        return {"l": v["standard"] + v["d"] + v["random"] + v["systematic"] - v["standard"] * bend}

    inputs = [
        normal("standard", 50_000_623, 25, 18),
        normal("d", 215, 5.8, 24),
        normal("random", 0, 3.9, 5),
        normal("systematic", 0, 6.7, 8),
        within("alpha", 11.5e-6, 2e-6),
        Input(name="d alpha", value=0, u=1e-6 / sqrt(3), dof=50),
        Input(name="d theta", value=0, u=0.05 / sqrt(3), dof=2),
        normal("theta mean", -0.1, 0.2),
        normal("cycle", 0, 0.5 / sqrt(2)),  # arcsine
    ]
    found = linear(gauge, inputs)
    length = found.estimate("l")
    assert round(length.value) == 50_000_838
    assert length.u == pytest.approx(31.663879111, rel=1e-8)
    assert length.dof == pytest.approx(16.7518557376, rel=1e-7)
    sizes = {entry.input: round(entry.u, 1) for entry in found.budget("l")}
    assert (sizes["standard"], sizes["d alpha"], sizes["d theta"]) == (25.0, 2.9, 16.6)
    assert round(sqrt(5.8**2 + 3.9**2 + 6.7**2), 1) == 9.7
    assert [entry.input for entry in found.budget("l")][:2] == ["standard", "d theta"]


def test_gum_h2_impedance_with_correlated_inputs_and_outputs() -> None:
    """JCGM 100:2008, H.2 (from memory): R 127.732(71) Ω, X 219.847(295) Ω, Z 254.260(236) Ω;
    correlations −0.588, −0.485 and 0.993. The example rounds its inputs' correlations.
    """
    data = DATA["impedance"]
    readings = {"V": data["voltage"], "I": np.array(data["current"]) / 1e3, "phi": data["phase"]}
    root = np.linalg.cholesky(np.corrcoef(list(readings.values())))
    means = {name: spread(values) for name, values in readings.items()}

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
        slopes = {entry.input: entry.sensitivity for entry in found.budget(name)}
        parts[name] = [slopes[each] / found.estimate(name).u for each in "abc"]
    pairs = [np.dot(parts[one], parts[other]) for one, other in ("RX", "RZ", "XZ")]
    assert pairs == pytest.approx([-0.588, -0.485, 0.993], abs=0.0006)
    simulated = monte_carlo(impedance, inputs, SEED)[1]["R"]
    assert simulated.u == pytest.approx(0.071, abs=0.001)


@pytest.mark.parametrize("source", CASES)
def test_linear_and_simulated_uncertainty(source: str) -> None:
    given = CASES[source]
    pairs = [(normal, each) for each in given.get("inputs", {}).items()]
    pairs += [(within, each) for each in given.get("within", {}).items()]
    inputs = [kind(name, *map(number, values)) for kind, (name, values) in pairs]
    model: Model = lambda v: {"y": eval(given["model"], {**vars(np), **v})}  # noqa: E731
    found = linear(model, inputs).estimate("y")
    drawn = monte_carlo(model, inputs, SEED)[1]["y"]
    all_ = {
        "value": found.value,
        "u": found.u,
        "interval": found.interval_95,
        "drawn value": drawn.value,
        "drawn u": drawn.u,
        "drawn interval": drawn.interval_95,
    }
    for name, value in all_.items():
        ends, wanted = np.atleast_1d(value), np.atleast_2d(given.get(name, np.zeros((0, 2))))
        for end, (printed, give) in zip(ends, wanted, strict=len(wanted) > 0):
            assert end == pytest.approx(number(printed), abs=float(give)), name
    assert drawn.agrees_with(found) == given.get("agree", drawn.agrees_with(found))


def test_a_textbook_propagation() -> None:
    """Martin, Neary, Rinaldo, Woodman, Introductory Physics (2025-05-16), model and experiment
    (read): k = t/√x with t = 0.76(15), x = 3.00(1) is 0.44(9); slopes 0.58 and −0.073.
    """
    inputs = [normal("t", 0.76, 0.15), normal("x", 3.00, 0.01)]
    found = linear(lambda v: {"k": v["t"] / np.sqrt(v["x"])}, inputs)
    slopes = {entry.input: entry.sensitivity for entry in found.budget("k")}
    assert (round(found.estimate("k").value, 2), round(found.estimate("k").u, 2)) == (0.44, 0.09)
    assert (round(slopes["t"], 2), round(slopes["x"], 3)) == (0.58, -0.073)


@pytest.mark.parametrize(
    ("u", "digits", "half_a_unit"),
    [(0.0754, 2, 0.0005), (2.0, 2, 0.05), (0.0996, 2, 0.005), (47, 2, 0.5), (0.0754, 1, 0.005)],
)
def test_numerical_tolerance(u: float, digits: int, half_a_unit: float) -> None:
    """JCGM 101:2008, 7.9.2: u = c × 10^l with so many digits in c, tolerance ½ × 10^l (from
    memory).
    """
    assert tolerance(u, digits) == pytest.approx(half_a_unit, rel=1e-12)
