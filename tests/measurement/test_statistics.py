"""Means, combinations, outliers, trials summed up: properties that published values don't show."""

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallwork.measurement.model import Estimate, Trial
from fallwork.measurement.statistics import combined, outliers, rectangular, resolution, spread
from fallwork.measurement.summaries import Sensors, summaries, summarise, summary_given

READINGS = st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=30)


@given(READINGS, st.floats(-1e9, 1e9))
def test_spread_is_that_of_an_independent_library_and_a_shift_moves_the_mean_alone(
    values: list[float], shift: float
) -> None:
    found, moved = spread(values), spread([value + shift for value in values])
    assert found.value == pytest.approx(np.mean(values), rel=1e-9, abs=1e-9)
    assert found.standard_deviation == pytest.approx(np.std(values, ddof=1), rel=1e-6, abs=1e-9)
    assert moved.value == pytest.approx(found.value + shift, abs=1e-5)
    assert moved.standard_deviation == pytest.approx(found.standard_deviation or 0.0, abs=1e-5)


def test_a_single_reading_has_a_mean_and_no_scatter_and_none_is_refused() -> None:
    found = spread([1.5])
    assert (found.n, found.value, found.standard_deviation, found.u) == (1, 1.5, None, None)
    with pytest.raises(ValueError, match="no readings"):
        spread([])


def test_uncertainty_of_limits_and_of_steps() -> None:
    """JCGM 100:2008, 4.3.7 and F.2.2.1: a/√3, and 0.29 times the step."""
    assert (rectangular(1.0), resolution(1.0)) == pytest.approx((0.57735, 0.28868), abs=5e-6)


@pytest.mark.parametrize(
    ("terms", "u", "dof"),
    [
        ([(3.0, inf), (4.0, inf)], 5.0, inf),
        ([(0.2, 9.0), (0.0, 3.0)], 0.2, 9.0),
        ([(0.0, 3.0)], 0.0, inf),
        ([(0.1, 5.0), (0.1, 5.0)], 0.02**0.5, 10.0),  # by hand: (2u²)² / (2u⁴/5) = 10
        ([(0.3, 4.0), (None, 9.0)], None, inf),  # what rests on an unknown one is unknown
    ],
)
def test_independent_terms_add_in_quadrature_with_effective_degrees_of_freedom(
    terms: list[tuple[float | None, float]], u: float | None, dof: float
) -> None:
    """JCGM 100:2008, G.2b."""
    assert combined(terms) == (u if u is None else pytest.approx(u), pytest.approx(dof))


TEN = [1.50, 1.49, 1.51, 1.50, 1.52, 1.49, 1.13, 1.50, 1.51, 1.48]
OUTLIERS: list[tuple[list[float], tuple[int, ...]]] = [
    (TEN, (6,)),
    ([*TEN[:7], 1.12, *TEN[8:]], (6, 7)),  # two far off don't hide each other
    *(([*few], ()) for few in ([1.0, 9.0], [2.0] * 10, [], [1.0, 1.0, 5.0])),  # too little to tell
]


@pytest.mark.parametrize(("values", "flagged"), OUTLIERS)
def test_values_far_off_are_flagged(values: list[float], flagged: tuple[int, ...]) -> None:
    assert outliers(values) == flagged


# ---- trials summed up

ACCELERATIONS = (1.497, 1.503, 1.489, 1.511, 1.500)


def trials(**columns: tuple[float, ...]) -> list[Trial]:
    rows = zip(*columns.values(), strict=True)
    values = [
        {k: Estimate(value=v, u=0.004) for k, v in zip(columns, r, strict=True)} for r in rows
    ]
    return [Trial(name=f"trial-{at:02d}", estimates=e) for at, e in enumerate(values, start=1)]


def test_mean_deviation_uncertainty_and_interval() -> None:
    """By hand: mean 1.500, squares 9+9+121+121 = 260e-6, s = √65e-6, u = s/√5, t(4) = 2.776."""
    found = summaries(trials(acceleration=ACCELERATIONS))["acceleration"]
    told = found.n, found.value, found.standard_deviation, found.u, found.dof
    assert told == pytest.approx((5, 1.5, 65e-6**0.5, 13e-6**0.5, 4))
    half = 2.7764 * (13e-6) ** 0.5
    assert found.interval_95 == pytest.approx((1.5 - half, 1.5 + half), abs=1e-6)


def test_each_sensor_effect_reaches_what_it_touches_and_is_not_lessened_by_more_trials() -> None:
    """Work 0.4 J over 0.6 m: scales act in proportion, a zero of 0.01 N gives 0.006 J; where the
    distance isn't measured, 0.4 J at 0.5 N is 0.8 m, and it gives 0.008 J.
    """
    sensors = Sensors(position_scale=0.002, force_scale=0.003, force_zero=0.01, position_step=0.001)
    same = {"distance": 0.6, "work_of_tension": 0.4, "mean_tension": 2 / 3, "travel_time": 1.0}
    alike = {name: (value,) * 5 for name, value in same.items()}
    found = summaries(trials(acceleration=ACCELERATIONS, **alike), sensors)
    positions, forces, zero = "scale of positions", "scale of forces", "zero of forces"
    effects = {
        "acceleration": {positions: 0.003},
        "travel_time": {},
        "distance": {positions: 0.0012, "last place of positions": 0.001 / 6**0.5},
        "mean_tension": {forces: 0.002, zero: 0.01},
        "work_of_tension": {positions: 0.0008, forces: 0.0012, zero: 0.006},
    }
    assert {name: found[name].effects for name in effects} == {
        name: pytest.approx(each) for name, each in effects.items()
    }
    acceleration = found["acceleration"]
    assert acceleration.u == pytest.approx((13e-6 + 9e-6) ** 0.5)
    assert acceleration.dof == pytest.approx(4 * (22 / 13) ** 2)  # Welch–Satterthwaite by hand
    without = trials(mean_tension=(0.5, 0.5), work_of_tension=(0.4, 0.4))
    work = summaries(without, Sensors(force_zero=0.01))["work_of_tension"]
    assert work.effects == pytest.approx({zero: 0.008})


def test_a_single_trial_keeps_its_own_uncertainty() -> None:
    found = summarise("acceleration", {"only": Estimate(value=1.5, u=0.004, dof=20)})
    told = found.n, found.standard_deviation, found.random.u, found.u, found.dof
    assert told == (1, None, 0.004, 0.004, 20)


def test_a_given_mean_has_the_freedom_of_its_n() -> None:
    """Student's t as tabled; nobody measured a scatter."""
    cases = [(10, 0.0, 0.003, 9, 2.262), (10, 0.004, 0.005, 9 * (5 / 3) ** 4, 1.99)]
    for n, shared, u, dof, k in (*cases, (1, 0.0, 0.003, inf, 1.96)):
        mean = Estimate(value=1.495, u=0.003)
        found = summary_given("acceleration", mean, n, {"scale of positions": shared})
        assert (found.n, found.standard_deviation, found.random.u) == (n, None, 0.003)
        told = found.u, found.dof, round(found.coverage_factor or 0.0, 2)
        assert told == pytest.approx((u, dof, k), abs=0.005)


def test_an_outlier_is_flagged_and_counts_all_the_same_and_trials_may_lack_a_measurand() -> None:
    found = summaries((*trials(acceleration=tuple(TEN)), *trials(final_speed=(1.3,))))
    acceleration = found["acceleration"]
    assert acceleration.outliers == ("trial-07",)
    assert acceleration.value == pytest.approx(sum(TEN) / 10)
    assert {name: summary.n for name, summary in found.items()} == {
        "acceleration": 10,
        "final_speed": 1,
    }
