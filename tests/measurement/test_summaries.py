"""Trials summed up: scatter, what all share, and single values."""

from math import inf

import pytest

from fallwork.measurement.model import Estimate, Trial
from fallwork.measurement.summaries import Sensors, summaries, summarise, summary_given

ACCELERATIONS = (1.497, 1.503, 1.489, 1.511, 1.500)


def trials(**columns: tuple[float, ...]) -> tuple[Trial, ...]:
    count = len(next(iter(columns.values())))
    return tuple(
        Trial(
            name=f"trial-{at + 1:02d}",
            estimates={key: Estimate(value=column[at], u=0.004) for key, column in columns.items()},
        )
        for at in range(count)
    )


def test_mean_deviation_uncertainty_and_interval() -> None:
    """By hand: mean 1.500, squares 9+9+121+121 = 260e-6, s = √65e-6, u = s/√5, t(4) = 2.776."""
    found = summaries(trials(acceleration=ACCELERATIONS))["acceleration"]
    assert (found.n, found.value) == (5, pytest.approx(1.5000))
    assert found.standard_deviation == pytest.approx(65e-6**0.5)
    assert found.u == pytest.approx((65e-6 / 5) ** 0.5)
    assert (found.dof, round(found.coverage_factor, 3)) == (4, 2.776)
    half = 2.7764 * (13e-6) ** 0.5
    assert found.interval_95 == pytest.approx((1.5 - half, 1.5 + half), abs=1e-6)


def test_each_sensor_effect_reaches_what_it_touches_and_is_not_lessened_by_more_trials() -> None:
    """Work 0.4 J over 0.6 m: scales act in proportion, a zero of 0.01 N gives 0.006 J."""
    table = trials(
        acceleration=ACCELERATIONS,
        distance=(0.6,) * 5,
        work_of_tension=(0.4,) * 5,
        mean_tension=(2 / 3,) * 5,
        travel_time=(1,) * 5,
    )
    sensors = Sensors(position_scale=0.002, force_scale=0.003, force_zero=0.01, position_step=0.001)
    found = summaries(table, sensors)
    assert {name: each.effects for name, each in found.items()} == {
        "acceleration": {"scale of positions": pytest.approx(0.003)},
        "travel_time": {},
        "distance": {
            "scale of positions": pytest.approx(0.0012),
            "last place of positions": pytest.approx(0.001 / 6**0.5),
        },
        "mean_tension": {
            "scale of forces": pytest.approx(0.002),
            "zero of forces": pytest.approx(0.01),
        },
        "work_of_tension": {
            "scale of positions": pytest.approx(0.0008),
            "scale of forces": pytest.approx(0.0012),
            "zero of forces": pytest.approx(0.006),
        },
    }
    acceleration = found["acceleration"]
    assert acceleration.u == pytest.approx((13e-6 + 9e-6) ** 0.5)
    assert acceleration.dof == pytest.approx(4 * (22 / 13) ** 2)  # Welch–Satterthwaite by hand


def test_a_zero_reaches_the_work_where_the_distance_is_given_and_not_measured() -> None:
    """0.4 J at 0.5 N is 0.8 m, so 0.01 N gives 0.008 J."""
    table = trials(mean_tension=(0.5, 0.5), work_of_tension=(0.4, 0.4))
    found = summaries(table, Sensors(force_zero=0.01))["work_of_tension"].effects
    assert found == pytest.approx({"zero of forces": 0.008})


def test_a_single_trial_keeps_its_own_uncertainty() -> None:
    found = summarise("acceleration", {"only": Estimate(value=1.5, u=0.004, dof=20)})
    told = found.n, found.standard_deviation, found.random.u, found.u, found.dof
    assert told == (1, None, 0.004, 0.004, 20)


@pytest.mark.parametrize(
    ("n", "shared", "u", "dof", "k"),
    [
        (10, 0.0, 0.003, 9, 2.262),
        (10, 0.004, 0.005, 9 * (5 / 3) ** 4, 1.99),
        (1, 0.0, 0.003, inf, 1.96),
    ],
)
def test_a_given_mean_has_the_freedom_of_its_n(
    n: int, shared: float, u: float, dof: float, k: float
) -> None:
    """Student's t as tabled; nobody measured a scatter."""
    effects = {"scale of positions": shared} if shared else {}
    found = summary_given("acceleration", Estimate(value=1.495, u=0.003), n, effects)
    assert (found.n, found.standard_deviation, found.random.u) == (n, None, 0.003)
    assert (found.u, found.dof) == pytest.approx((u, dof))
    assert found.coverage_factor == pytest.approx(k, abs=0.005)


def test_an_outlier_is_flagged_and_counts_all_the_same_and_trials_may_lack_a_measurand() -> None:
    values = (1.50, 1.49, 1.51, 1.50, 1.52, 1.49, 1.13, 1.50, 1.51, 1.48)
    found = summaries((*trials(acceleration=values), *trials(final_speed=(1.3,))))
    assert found["acceleration"].outliers == ("trial-07",)
    assert found["acceleration"].value == pytest.approx(sum(values) / 10)
    assert [(name, summary.n) for name, summary in found.items()] == [
        ("acceleration", 10),
        ("final_speed", 1),
    ]
