"""Finding the run: against known truth and closed forms."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache, partial
from operator import itemgetter
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import t as student

from fallwork.measurement import finding_fit, settings, statistics
from fallwork.measurement.analysis import analyse
from fallwork.measurement.finding import NoRunError, find_run
from fallwork.measurement.finding_signals import Readings, departure
from fallwork.measurement.model import Array, Basis, Estimate, Record, Trial
from fallwork.measurement.simulate import Behaviour, simulate
from fallwork.scenario import load_scenario
from measurement.kit import ACCELERATION, SPEED, STANDARD, TRUTH, Motion, noisy, path, record

DEMO = Path(__file__).parents[2] / "site-data" / "scenarios"
RANDOM = np.random.default_rng
MOTION = ("acceleration", "final_speed", "travel_time", "distance", "coasting_acceleration")
VALUES = {name: TRUTH[name] for name in MOTION}
GRAVITY = 9.80665  # m/s²; 3rd CGPM (1901)
MASS = 0.420  # kg, of a cart on which the pull would be the bench's
Columns = dict[str, Array]


def test_without_noise_the_values_are_exact():
    for column in ("velocity", "position"):
        found = find_run(record(path(), **{column: getattr(path(), column)})).estimates
        values = {name: each.value for name, each in found.items()}
        assert values == pytest.approx(VALUES, rel=1e-9, abs=1e-9)


def test_a_sensor_may_count_the_other_way_or_have_a_spike():
    given = noisy(velocity=0.01)
    turned = find_run(replace(given, velocity=-np.asarray(given.velocity)))
    assert turned.estimates == find_run(given).estimates
    assert turned.run.signs == {"velocity": -1}
    with pytest.raises(NoRunError, match="nothing in it starts from rest and speeds up evenly"):
        find_run(given, settings.Settings(signs={"velocity": -1}))
    given = noisy(velocity=0.01)
    spoilt = np.array(given.velocity)
    spoilt[120] = 30.0
    found, clean = find_run(replace(given, velocity=spoilt)), find_run(given)
    assert found.run.left_out == pytest.approx((1.20,))
    one, other = (each.estimates["acceleration"] for each in (found, clean))
    assert one.value == pytest.approx(other.value, abs=other.u / 2)


def test_a_window_set_by_hand_or_a_distance_where_nothing_lands_may_end_the_run():
    """v² = 2 a d of a distance."""
    given = noisy(velocity=0.01)
    found = find_run(given, window=(0.9, 1.6))
    assert (found.run.release, found.run.landing) == pytest.approx((0.9, 1.6))
    assert found.estimates["travel_time"].value == pytest.approx(0.7)
    speed = found.estimates["final_speed"]
    assert speed.value == pytest.approx(ACCELERATION * 0.8, abs=3 * speed.u)
    covered = find_run(given, settings.Settings(covered=Estimate(value=0.4, u=0.0))).estimates
    a = covered["acceleration"].value
    assert covered["final_speed"].value == pytest.approx((2 * a * 0.4) ** 0.5)
    assert covered["travel_time"].value == pytest.approx((2 * 0.4 / a) ** 0.5)
    assert "distance" not in covered


def test_a_run_may_start_with_a_push_and_stop_suddenly():
    true = path()
    pushed = np.where(true.time < 0.8, 0.0, true.velocity + 0.4)
    given = record(true, velocity=pushed + RANDOM(3).normal(0, 0.005, len(pushed)))
    found = find_run(given, settings.Settings(from_rest=False))
    assert found.run.release == pytest.approx(0.8, abs=0.01)
    assert found.estimates["acceleration"].value == pytest.approx(ACCELERATION, abs=0.02)
    assert found.estimates["final_speed"].value == pytest.approx(SPEED + 0.4, abs=0.02)
    true = path()
    stopped = np.where(true.time > 1.695, 0.0, true.velocity)
    given = record(true, velocity=stopped + RANDOM(4).normal(0, 0.003, len(stopped)))
    found = find_run(given)
    assert (found.run.coasting, found.run.landing) == (None, pytest.approx(1.695, abs=0.006))
    note = "no coasting after the driven part: its end is where the readings leave its line"
    assert note in found.notes


def test_velocities_that_are_slopes_of_positions_are_recognised():
    """Of those of the record, or of others that aren't recorded, with a zero of their own."""
    given = noisy(position=0.0003)
    slopes = np.gradient(np.asarray(given.position), given.time)
    found = find_run(replace(given, velocity=slopes))
    assert found.run.basis is Basis.POSITION
    assert find_run(noisy(position=0.0003, velocity=0.01)).run.basis is Basis.VELOCITY
    true, random = path(rate=200.0), RANDOM(1)
    seen, other = (true.position + random.normal(0, u, len(true.time)) for u in (0.0003, 0.003))
    speeds = np.diff(seen, prepend=seen[0]) * 200
    found = find_run(record(true, velocity=speeds, position=other + 5))
    assert found.run.basis is Basis.SUMMED_VELOCITY
    assert not [note for note in found.notes if "disagree" in note]


@pytest.mark.parametrize("r", [0.0, 0.4, 0.8])
def test_noise_of_an_autoregressive_noise_is_its_known_length(r):
    """The sum of all autocorrelations of such noise is (1 + r)/(1 − r) (from memory)."""
    steps = RANDOM(5).normal(size=40_000)
    noise = steps.copy()
    for at in range(1, len(noise)):
        noise[at] = r * noise[at - 1] + steps[at]
    found = finding_fit.noise_of([noise], 0)
    assert found.time == pytest.approx((1 + r) / (1 - r), rel=0.08)
    assert not found.differences
    assert finding_fit.noise_of([steps[4:400] - steps[:396]], 2).differences


def test_covariance_of_block_means_is_that_of_all_readings_summed_up():
    noise = finding_fit.Noise(time=3.0, reach=0, differences=False)
    starts, sizes = np.array([0.0, 4.0, 9.0]), np.array([4.0, 5.0, 3.0])
    lag = np.abs(np.subtract.outer(np.arange(12), np.arange(12)))
    mean = np.zeros((3, 12))
    for row, (start, size) in enumerate(zip(starts, sizes, strict=True)):
        mean[row, int(start) : int(start + size)] = 1 / size
    expected = mean @ noise.correlation**lag @ mean.T
    assert finding_fit.block_covariance(starts, sizes, noise) == pytest.approx(expected)


def test_rounded_corners_and_few_readings_of_coasting_are_told_apart():
    # Positions alone, few of them: the cart slows down steeply uphill after the landing.
    scenario = load_scenario(DEMO / "incline-up.yaml")
    ways = Behaviour(position_rate=20.0)
    for made in simulate(scenario, STANDARD, trials=30, seed=3, behaviour=ways):
        alone = replace(made.record, velocity=None, force=None)
        found = find_run(alone).estimates["distance"]
        assert found.value == pytest.approx(made.values["distance"], abs=5 * found.u + 0.005)
    # Half a dozen, of which the landing and the stop after it take some.
    scenario, ways = load_scenario(DEMO / "train.yaml"), Behaviour(position_rate=25.0, smoothing=1)
    found = list[Estimate]()
    for made in simulate(scenario, STANDARD, trials=30, seed=251, behaviour=ways):
        told = find_run(replace(made.record, velocity=None)).estimates
        found += [each for name, each in told.items() if name == "coasting_acceleration"]
    assert len(found) >= 25
    assert np.median([each.u for each in found]) < 0.1


def test_a_bend_that_few_readings_show_is_no_jump():
    """The cart slows down by 1.4 m/s² after 0.9 s, ten readings before the record ends."""
    time = np.arange(0.0, 2.25, 0.05)
    since = time - 0.8
    speed = np.where(since < 0.9, 1.5 * np.clip(since, 0, None), 1.35 - 1.4 * (since - 0.9))
    driven = Readings(time=time, values=speed + RANDOM(7).normal(0, 0.004, len(time)))
    found = departure(driven, np.array([-1.2, 1.5]), (0.85, 1.6))
    assert found[0] == pytest.approx(1.7, abs=3 * found[1])


# ---- two thousand runs of known truth
def averaged(values: Array, size: int) -> Array:
    """A running mean over ``size`` readings, as a sensor smooths."""
    padded = np.pad(values, size // 2, mode="edge")
    return np.convolve(padded, np.ones(size) / size, "valid")


def smoothed(true: Motion, random: np.random.Generator, *, over: int, noise: float) -> Columns:
    """Velocities and forces that the sensor averages over some readings."""
    columns = {"velocity": true.velocity, "force": true.force}
    n = len(true.time)
    return {k: averaged(v + random.normal(0, noise, n), over) for k, v in columns.items()}


def slopes(true: Motion, random: np.random.Generator) -> Columns:
    """Velocities that are slopes over five noisy positions, which the record doesn't give."""
    n = len(true.time)
    position = np.pad(true.position + random.normal(0, 0.0003, n), 2, mode="edge")
    weights = np.arange(-2, 3) / 10 / (true.time[1] - true.time[0])
    velocity = np.convolve(position, weights[::-1], "valid")
    return {
        "velocity": np.round(velocity, 3),
        "force": averaged(true.force + random.normal(0, 0.02, n), 5),
    }


KINDS: dict[str, tuple[float, Callable[[Motion, np.random.Generator], Columns]]] = {
    "independent": (100.0, partial(smoothed, over=1, noise=0.01)),
    "smoothed": (100.0, partial(smoothed, over=5, noise=0.02)),
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
    return analyse(records, settings.Settings(tare=settings.Tare(zero=settings.Zero.SLACK))).trials


def friction_from_pull(values: Mapping[str, Estimate]) -> Estimate:
    """T − m a = µ m g, of a cart of 420 g."""
    pull, a, weight = values["mean_tension"], values["acceleration"], MASS * GRAVITY
    u, dof = statistics.combined([(pull.u / weight, pull.dof), (a.u / GRAVITY, a.dof)])
    return Estimate(value=(pull.value - MASS * a.value) / weight, u=u, dof=dof)


LOOKS: dict[str, tuple[float, Callable[[Mapping[str, Estimate]], Estimate]]] = {
    **{n: (TRUTH[n], itemgetter(n)) for n in (*MOTION, "mean_tension", "work_of_tension")},
    "friction from the pull": ((0.66 - MASS * 1.5) / (MASS * GRAVITY), friction_from_pull),
}


@pytest.mark.parametrize("name", LOOKS)
@pytest.mark.parametrize("kind", KINDS)
def test_intervals_cover_the_truth_as_often_as_they_say_without_bias(kind, name, thorough):
    """The bounds leave room for chance: about four times its spread."""
    (truth, look), (count, wider) = LOOKS[name], (2000, 1) if thorough else (250, 3)
    every, needed = [t.estimates for t in analysed(kind, count)], {*MOTION, "mean_tension"}
    found = [look(estimates) for estimates in every if needed <= {*estimates}]
    assert len(found) > 0.98 * count
    errors = np.array([(each.value - truth) / each.u for each in found])
    limits = student.ppf(0.975, [each.dof for each in found])
    assert abs((np.abs(errors) <= limits).mean() - 0.95) <= 0.02 * wider
    assert abs(np.median(errors)) < 0.1 * wider
