"""Two thousand simulated trials of each kind of sensor: intervals cover the truth, without bias.

The truth and the noise are made here (``bench``), not by the program.
"""

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from scipy.stats import t as student

from fallwork.measurement.analysis import Settings, analyse
from fallwork.measurement.model import Array, Record
from fallwork.measurement.tension_notes import Tare, Zero
from measurement.bench import TRUTH, Path, path

TRIALS = 2000
GRAVITY = 9.80665  # m/s²; 3rd CGPM (1901)
CHECKED = (
    *("acceleration", "final_speed", "travel_time", "distance", "coasting_acceleration"),
    *("mean_tension", "work_of_tension"),
)
Columns = dict[str, Array]


def averaged(values: Array, size: int) -> Array:
    """A running mean over ``size`` readings, as a sensor smooths."""
    padded = np.pad(values, size // 2, mode="edge")
    return np.convolve(padded, np.ones(size) / size, "valid")


def independent(true: Path, random: np.random.Generator) -> Columns:
    """Velocities and forces with noise of their own in each reading."""
    n = len(true.time)
    return {
        "velocity": true.velocity + random.normal(0, 0.01, n),
        "force": true.force + random.normal(0, 0.01, n),
    }


def smoothed(true: Path, random: np.random.Generator) -> Columns:
    """Velocities and forces that the sensor averages over five readings."""
    n = len(true.time)
    return {
        "velocity": averaged(true.velocity + random.normal(0, 0.02, n), 5),
        "force": averaged(true.force + random.normal(0, 0.02, n), 5),
    }


def slopes(true: Path, random: np.random.Generator) -> Columns:
    """Velocities that are slopes over five noisy positions, which the record doesn't give."""
    n = len(true.time)
    position = np.pad(true.position + random.normal(0, 0.0003, n), 2, mode="edge")
    weights = np.arange(-2, 3) / 10 / (true.time[1] - true.time[0])
    velocity = np.convolve(position, weights[::-1], "valid")
    return {
        "velocity": np.round(velocity, 3),
        "force": averaged(true.force + random.normal(0, 0.02, n), 5),
    }


KINDS: dict[str, tuple[float, Callable[[Path, np.random.Generator], Columns]]] = {
    "independent": (100.0, independent),
    "smoothed": (100.0, smoothed),
    "slopes": (200.0, slopes),
}


@cache
def deviations(kind: str) -> dict[str, tuple[Array, Array]]:
    """By measurand: errors in standard uncertainties, and whether intervals cover the truth."""
    rate, sensor = KINDS[kind]
    random = np.random.default_rng(20270208)
    records = []
    for at in range(TRIALS):
        true = path(rate=rate, release=random.uniform(0.6, 1.0))
        columns = sensor(true, random)
        records.append(Record(name=f"{at}", time=true.time, **columns))
    trials = analyse(records, Settings(tare=Tare(zero=Zero.SLACK))).trials
    result = {}
    for name in CHECKED:
        found = [trial.estimates[name] for trial in trials if name in trial.estimates]
        assert len(found) > 0.98 * TRIALS
        values = np.array([(each.value - TRUTH[name]) / each.u for each in found])
        limits = student.ppf(0.975, [each.dof for each in found])
        result[name] = values, np.abs(values) <= limits
    return result


@pytest.mark.parametrize("name", CHECKED)
@pytest.mark.parametrize("kind", KINDS)
def test_intervals_cover_the_truth_as_often_as_they_say(kind: str, name: str) -> None:
    assert 0.93 <= deviations(kind)[name][1].mean() <= 0.97


@pytest.mark.parametrize("name", CHECKED)
@pytest.mark.parametrize("kind", KINDS)
def test_bias_is_below_a_tenth_of_the_uncertainty(kind: str, name: str) -> None:
    assert abs(np.median(deviations(kind)[name][0])) < 0.1


def test_friction_from_coasting_is_covered_too() -> None:
    """On a level track a = −μ g after landing, so μ has the relative deviation of a."""
    values, covered = deviations("independent")["coasting_acceleration"]
    assert TRUTH["coasting_acceleration"] / -GRAVITY == pytest.approx(0.00816, abs=5e-6)
    assert 0.93 <= covered.mean() <= 0.97
    assert abs(values.mean()) < 0.1
