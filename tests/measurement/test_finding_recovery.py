"""Two thousand simulated trials of each kind of sensor: intervals cover the truth, without bias.
In an everyday run 250 of each, with bounds three times as wide.

The truth and the noise are made here (``bench``), not by the program.
"""

from collections.abc import Callable, Mapping
from functools import cache
from operator import itemgetter

import numpy as np
import pytest
from scipy.stats import t as student

from fallwork.measurement.analysis import analyse
from fallwork.measurement.model import Array, Estimate, Record, Trial
from fallwork.measurement.settings import Settings, Tare, Zero
from fallwork.measurement.statistics import combined
from measurement.bench import TRUTH, Path, path

GRAVITY = 9.80665  # m/s²; 3rd CGPM (1901)
MASS = 0.420  # kg, of a cart on which the pull would be the bench's
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
def analysed(kind: str, count: int) -> tuple[Trial, ...]:
    """All trials of a kind of sensor, as the program finds them."""
    rate, sensor = KINDS[kind]
    random = np.random.default_rng(20270208)
    records = []
    for at in range(count):
        true = path(rate=rate, release=random.uniform(0.6, 1.0))
        columns = sensor(true, random)
        records.append(Record(name=f"{at}", time=true.time, **columns))
    return analyse(records, Settings(tare=Tare(zero=Zero.SLACK))).trials


def friction_from_coasting(values: Mapping[str, Estimate]) -> Estimate:
    """On a level track a = −µ g after landing."""
    return values["coasting_acceleration"].times(-1 / GRAVITY)


def friction_from_pull(values: Mapping[str, Estimate]) -> Estimate:
    """T − m a = µ m g, of a cart of 420 g."""
    pull, a, weight = values["mean_tension"], values["acceleration"], MASS * GRAVITY
    u, dof = combined([(pull.u / weight, pull.dof), (a.u / GRAVITY, a.dof)])
    return Estimate(value=(pull.value - MASS * a.value) / weight, u=u, dof=dof)


NAMES = ("acceleration", "final_speed", "travel_time", "distance", "coasting_acceleration")
LOOKS: dict[str, tuple[float, Callable[[Mapping[str, Estimate]], Estimate]]] = {
    **{n: (TRUTH[n], itemgetter(n)) for n in (*NAMES, "mean_tension", "work_of_tension")},
    "friction from coasting": (0.08 / GRAVITY, friction_from_coasting),
    "friction from the pull": ((0.66 - MASS * 1.5) / (MASS * GRAVITY), friction_from_pull),
}


@pytest.mark.parametrize("name", LOOKS)
@pytest.mark.parametrize("kind", KINDS)
def test_intervals_cover_the_truth_as_often_as_they_say_without_bias(
    kind: str, name: str, thorough: bool
) -> None:
    """The bounds leave room for chance: about four times its spread."""
    (truth, look), (count, wider) = LOOKS[name], (2000, 1) if thorough else (250, 3)
    every, needed = [t.estimates for t in analysed(kind, count)], {*NAMES, "mean_tension"}
    found = [look(estimates) for estimates in every if needed <= {*estimates}]
    assert len(found) > 0.98 * count
    errors = np.array([(each.value - truth) / each.u for each in found])
    limits = student.ppf(0.975, [each.dof for each in found])
    assert abs((np.abs(errors) <= limits).mean() - 0.95) <= 0.02 * wider
    assert abs(np.median(errors)) < 0.1 * wider
