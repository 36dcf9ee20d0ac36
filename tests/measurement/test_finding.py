"""Finding the run: against known truth, other fits, and closed forms."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.optimize import curve_fit

from fallwork.measurement.finding import NoRunError, find_run
from fallwork.measurement.finding_fit import Noise, block_covariance, noise_of
from fallwork.measurement.finding_signals import Readings, departure
from fallwork.measurement.model import Basis, Estimate, Record
from fallwork.measurement.settings import Settings
from fallwork.measurement.simulate import Behaviour, simulate
from fallwork.scenario import load_scenario
from measurement.bench import ACCELERATION, LASTS, SPEED, TRUTH, path, record
from measurement.kit import STANDARD

DEMO = Path(__file__).parents[2] / "site-data" / "scenarios"
RANDOM = np.random.default_rng
MOTION = ("acceleration", "final_speed", "travel_time", "distance", "coasting_acceleration")
VALUES = {name: TRUTH[name] for name in MOTION}


def noisy(seed: int = 1, rate: float = 100.0, **columns: float) -> Record:
    """Columns of the bench's run, each with noise of this standard deviation."""
    true, random = path(rate=rate), RANDOM(seed)
    noise = {name: random.normal(0, u, len(true.time)) for name, u in columns.items()}
    return record(true, **{name: getattr(true, name) + noise[name] for name in columns})


def test_without_noise_the_values_are_exact() -> None:
    for column in ("velocity", "position"):
        found = find_run(record(path(), **{column: getattr(path(), column)})).estimates
        values = {name: each.value for name, each in found.items()}
        assert values == pytest.approx(VALUES, rel=1e-9, abs=1e-9)


def test_another_fit_of_the_continuous_model_agrees() -> None:
    """scipy's curve_fit of the whole piecewise line up to the stop; noise is white here."""
    given = noisy(velocity=0.01)

    def model(t: Any, release: float, a: float, lasts: float, b: float) -> Any:
        since = t - release
        return a * np.clip(since, 0, lasts) + b * np.clip(since - lasts, 0, None)

    kept = given.time < 0.8 + LASTS + 0.45
    speed = np.asarray(given.velocity)[kept]
    fitted, covariance = curve_fit(model, given.time[kept], speed, p0=[0.8, 1.5, 0.9, 0])
    found = find_run(given).estimates
    a, lasts = found["acceleration"], found["travel_time"]
    assert a.value == pytest.approx(fitted[1], abs=2 * a.u)
    assert lasts.value == pytest.approx(fitted[2], abs=2 * lasts.u)
    assert a.u == pytest.approx(covariance[1, 1] ** 0.5, rel=0.5)


def test_a_sensor_that_counts_the_other_way_gives_the_same_unless_its_sign_is_given() -> None:
    given = noisy(velocity=0.01)
    turned = find_run(replace(given, velocity=-np.asarray(given.velocity)))
    assert turned.estimates == find_run(given).estimates
    assert turned.run.signs == {"velocity": -1}
    with pytest.raises(NoRunError, match="nothing in it starts from rest and speeds up evenly"):
        find_run(given, Settings(signs={"velocity": -1}))


def test_an_isolated_spike_changes_little_and_is_named() -> None:
    given = noisy(velocity=0.01)
    spoilt = np.array(given.velocity)
    spoilt[120] = 30.0
    found, clean = find_run(replace(given, velocity=spoilt)), find_run(given)
    assert found.run.left_out == pytest.approx((1.20,))
    one, other = (each.estimates["acceleration"] for each in (found, clean))
    assert one.value == pytest.approx(other.value, abs=other.u / 2)


def test_a_window_set_by_hand_is_the_run() -> None:
    found = find_run(noisy(velocity=0.01), window=(0.9, 1.6))
    assert (found.run.release, found.run.landing) == pytest.approx((0.9, 1.6))
    assert found.estimates["travel_time"].value == pytest.approx(0.7)
    speed = found.estimates["final_speed"]
    assert speed.value == pytest.approx(ACCELERATION * 0.8, abs=3 * speed.u)


def test_a_distance_may_end_the_run() -> None:
    """v² = 2 a d, where nothing lands."""
    settings = Settings(covered=Estimate(value=0.4, u=0.0))
    found = find_run(noisy(velocity=0.01), settings).estimates
    a = found["acceleration"].value
    assert found["final_speed"].value == pytest.approx((2 * a * 0.4) ** 0.5)
    assert found["travel_time"].value == pytest.approx((2 * 0.4 / a) ** 0.5)
    assert "distance" not in found


def test_a_run_may_start_with_a_push() -> None:
    true = path()
    pushed = np.where(true.time < 0.8, 0.0, true.velocity + 0.4)
    given = record(true, velocity=pushed + RANDOM(3).normal(0, 0.005, len(pushed)))
    found = find_run(given, Settings(from_rest=False))
    assert found.run.release == pytest.approx(0.8, abs=0.01)
    assert found.estimates["acceleration"].value == pytest.approx(ACCELERATION, abs=0.02)
    assert found.estimates["final_speed"].value == pytest.approx(SPEED + 0.4, abs=0.02)


def test_a_sudden_stop_is_placed_between_two_readings() -> None:
    true = path()
    stopped = np.where(true.time > 1.695, 0.0, true.velocity)
    given = record(true, velocity=stopped + RANDOM(4).normal(0, 0.003, len(stopped)))
    found = find_run(given)
    assert (found.run.coasting, found.run.landing) == (None, pytest.approx(1.695, abs=0.006))
    note = "no coasting after the driven part: its end is where the readings leave its line"
    assert note in found.notes


def test_velocities_that_are_slopes_of_the_positions_are_recognised() -> None:
    given = noisy(position=0.0003)
    slopes = np.gradient(np.asarray(given.position), given.time)
    found = find_run(replace(given, velocity=slopes))
    assert found.run.basis is Basis.POSITION
    assert find_run(noisy(position=0.0003, velocity=0.01)).run.basis is Basis.VELOCITY


def test_positions_beside_differences_of_others_have_a_zero_of_their_own() -> None:
    """Velocities are differences of positions that aren't recorded; another sensor's are."""
    true, random = path(rate=200.0), RANDOM(1)
    seen, other = (true.position + random.normal(0, u, len(true.time)) for u in (0.0003, 0.003))
    speeds = np.diff(seen, prepend=seen[0]) * 200
    found = find_run(record(true, velocity=speeds, position=other + 5))
    assert found.run.basis is Basis.SUMMED_VELOCITY
    assert not [note for note in found.notes if "disagree" in note]


@pytest.mark.parametrize("r", [0.0, 0.4, 0.8])
def test_noise_of_an_autoregressive_noise_is_its_known_length(r: float) -> None:
    """The sum of all autocorrelations of such noise is (1 + r)/(1 − r) (from memory)."""
    steps = RANDOM(5).normal(size=40_000)
    noise = steps.copy()
    for at in range(1, len(noise)):
        noise[at] = r * noise[at - 1] + steps[at]
    found = noise_of([noise], 0)
    assert found.time == pytest.approx((1 + r) / (1 - r), rel=0.08)
    assert not found.differences
    assert noise_of([steps[4:400] - steps[:396]], 2).differences


def test_covariance_of_block_means_is_that_of_all_readings_summed_up() -> None:
    noise = Noise(time=3.0, reach=0, differences=False)
    starts, sizes = np.array([0.0, 4.0, 9.0]), np.array([4.0, 5.0, 3.0])
    lag = np.abs(np.subtract.outer(np.arange(12), np.arange(12)))
    mean = np.zeros((3, 12))
    for row, (start, size) in enumerate(zip(starts, sizes, strict=True)):
        mean[row, int(start) : int(start + size)] = 1 / size
    expected = mean @ noise.correlation**lag @ mean.T
    assert block_covariance(starts, sizes, noise) == pytest.approx(expected)


def test_a_corner_that_is_rounded_off_is_no_coasting() -> None:
    """Positions alone, few of them: the cart slows down steeply uphill after the landing."""
    scenario = load_scenario(DEMO / "incline-up.yaml")
    ways = Behaviour(position_rate=20.0)
    for made in simulate(scenario, STANDARD, trials=30, seed=3, behaviour=ways):
        alone = replace(made.record, velocity=None, force=None)
        found = find_run(alone).estimates["distance"]
        assert found.value == pytest.approx(made.truth.values["distance"], abs=5 * found.u + 0.005)


def test_a_coasting_of_few_readings_is_found() -> None:
    """Half a dozen, of which the landing and the stop after it take some."""
    scenario, ways = load_scenario(DEMO / "train.yaml"), Behaviour(position_rate=25.0, smoothing=1)
    found = list[Estimate]()
    for made in simulate(scenario, STANDARD, trials=30, seed=251, behaviour=ways):
        told = find_run(replace(made.record, velocity=None)).estimates
        found += [each for name, each in told.items() if name == "coasting_acceleration"]
    assert len(found) >= 25
    assert np.median([each.u for each in found]) < 0.1


def test_a_bend_that_few_readings_show_is_no_jump() -> None:
    """The cart slows down by 1.4 m/s² after 0.9 s, ten readings before the record ends."""
    time = np.arange(0.0, 2.25, 0.05)
    since = time - 0.8
    speed = np.where(since < 0.9, 1.5 * np.clip(since, 0, None), 1.35 - 1.4 * (since - 0.9))
    driven = Readings(time=time, values=speed + RANDOM(7).normal(0, 0.004, len(time)))
    found = departure(driven, np.array([-1.2, 1.5]), (0.85, 1.6))
    assert found is not None
    assert found[0] == pytest.approx(1.7, abs=3 * found[1])
