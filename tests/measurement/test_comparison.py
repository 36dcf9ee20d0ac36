"""Means, combinations, outliers; the verdict rule, and works against changes of energy."""

from collections.abc import Callable, Mapping, Sequence
from math import inf

import numpy as np
import pytest

from cases import cases
from fallwork.measurement.comparison import ComparisonResult, compare, compare_all, side_of
from fallwork.measurement.energies import Origin
from fallwork.measurement.model import Analysis, Estimate, Measurand, Trial
from fallwork.measurement.prediction import Case, predict
from fallwork.measurement.statistics import Verdict, combined, outliers
from fallwork.measurement.summaries import Sensors, summaries, summarise, summary_given
from measurement.kit import EXACT, STANDARD, analysis_of, trials_of

CASES = cases(__file__, "comparison")
ACCELERATIONS = (1.497, 1.503, 1.489, 1.511, 1.500)
Compared = Callable[..., ComparisonResult]
G = STANDARD.value
RUN = {"work_of_tension": 0.396, "distance": 0.600, "final_speed": 1.34}


@pytest.mark.parametrize(("terms", "u", "dof"), CASES["combined"])
def test_independent_terms_add_in_quadrature_with_effective_degrees_of_freedom(terms, u, dof):
    """JCGM 100:2008, G.2b."""
    assert combined(terms) == (u if u is None else pytest.approx(u), pytest.approx(dof))


@pytest.mark.parametrize(("values", "flagged"), CASES["outliers"])
def test_values_far_off_are_flagged(values, flagged):
    assert outliers(values) == tuple(flagged)


# ---- trials summed up
def trials_with(**columns: Sequence[float]) -> tuple[Trial, ...]:
    rows = enumerate(zip(*columns.values(), strict=True), start=1)
    each = {f"trial-{at:02d}": dict(zip(columns, row, strict=True)) for at, row in rows}
    return analysis_of(each).trials


def test_each_sensor_effect_reaches_what_it_touches_and_is_not_lessened_by_more_trials():
    """A zero of 0.01 N gives 0.006 J over 0.6 m, and 0.008 J where 0.4 J at 0.5 N mean 0.8 m."""
    sensors = Sensors(position_scale=0.002, force_scale=0.003, force_zero=0.01, position_step=0.001)
    same = {"distance": 0.6, "work_of_tension": 0.4, "mean_tension": 2 / 3, "travel_time": 1.0}
    alike = {name: (value,) * 5 for name, value in same.items()}
    found = summaries(trials_with(acceleration=ACCELERATIONS, **alike), sensors)
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
    without = trials_with(mean_tension=(0.5, 0.5), work_of_tension=(0.4, 0.4))
    work = summaries(without, Sensors(force_zero=0.01))["work_of_tension"]
    assert work.effects == pytest.approx({zero: 0.008})


def test_a_single_trial_and_a_given_mean_keep_the_uncertainty_and_freedom_that_are_known():
    """Of a mean of n; Student's t as tabled; nobody measured a scatter."""
    found = summarise({"only": Estimate(value=1.5, u=0.004, dof=20)})
    told = found.n, found.standard_deviation, found.random.u, found.u, found.dof
    assert told == (1, None, 0.004, 0.004, 20)
    cases = [(10, 0.0, 0.003, 9, 2.262), (10, 0.004, 0.005, 9 * (5 / 3) ** 4, 1.99)]
    for n, shared, u, dof, k in (*cases, (1, 0.0, 0.003, inf, 1.96)):
        mean = Estimate(value=1.495, u=0.003)
        found = summary_given(mean, n, {"scale of positions": shared})
        assert (found.n, found.standard_deviation, found.random.u) == (n, None, 0.003)
        told = found.u, found.dof, round(found.coverage_factor or 0.0, 2)
        assert told == pytest.approx((u, dof, k), abs=0.005)


# ---- measured against predicted, works against changes of energy
@pytest.fixture
def compared(level) -> Compared:
    """What is compared with a level track; values are of two equal trials."""

    def found(
        given: Mapping[str, str] = EXACT,
        analysis: Analysis | None = None,
        predicted: Mapping[str, Estimate] | None = None,
        sensors: Sensors | None = None,
        **values: float,
    ) -> ComparisonResult:
        case = Case(scenario=level(**given), gravity=STANDARD, sensors=sensors or Sensors())
        trials = analysis or analysis_of({"first": values, "second": values})
        return compare_all(trials, predicted or {}, case)

    return found


def test_values_agree_up_to_k_times_u_and_percent_decides_nothing():
    for (value, u, dof), (model, u_model), limit, agree in CASES["rule"]:
        measured = Estimate(value=value, u=u, dof=dof)
        found = compare(measured, Estimate(value=model, u=u_model))
        assert found.limit == pytest.approx(limit, abs=5e-5)
        assert found.verdict is (Verdict.AGREE if agree else Verdict.DIFFER)
        assert found.percent_of == "predicted value"
        assert found.percent == (pytest.approx(100 * (value - 1.0)) if model else None)


def test_acceleration_tension_and_final_speed_and_every_system_are_compared(level):
    scenario = level()
    analysis, case = trials_of(scenario), Case(scenario=scenario, gravity=STANDARD)
    found = compare_all(analysis, predict(scenario, STANDARD, seed=1).estimates, case)
    assert list(found.quantities) == ["acceleration", "mean_tension", "final_speed"]
    for each in found.quantities.values():
        assert (each.overall.verdict, len(each.trials)) == (Verdict.AGREE, 10)
    acceleration = found.quantities["acceleration"]
    assert acceleration.trials["trial-01"].u > 2 * acceleration.overall.u
    for system in found.systems.values():
        means = [trial.value for trial in system.trials.values()]
        assert (len(means), system.overall.verdict) == (10, Verdict.AGREE)
        assert system.overall.value == pytest.approx(np.mean(means), rel=1e-9)
    spoiled = {k: Estimate(value=9 * each.value, u=0.0) for k, each in analysis.summary.items()}
    off = Trial(name="spoiled", estimates=spoiled, excluded="the cable dragged")
    with_off = Analysis(trials=(*analysis.trials, off), summary=analysis.summary)
    assert compare_all(with_off, {}, case) == compare_all(analysis, {}, case)


def test_work_on_the_cart_and_on_everything_against_their_energies(compared):
    """By hand: 0.660 N × 0.600 m = 0.396 J less friction 0.008 × 0.420 g × 0.600 m = 0.01977 J,
    against ½ 0.420 kg (1.34 m/s)² = 0.377076 J; −0.000846 J is −0.21 % of the largest, 0.396 J.
    For everything −0.01977 J against ½ 0.500 (1.34)² − 0.080 g 0.600 = 0.4489 − 0.470719 J.
    """
    systems = compared(**RUN).systems
    assert list(systems) == ["cart-alone", "all-moving"]
    alone, everything = systems.values()
    parts = [(part.name, part.origin, round(part.value, 6)) for part in alone.account.parts]
    assert parts == [
        ("tension of string on cart", Origin.FORCE_SENSOR, 0.396),
        ("friction of track on cart", Origin.MODEL, -0.01977),
        ("kinetic", Origin.GIVENS, 0.377076),
    ]
    assert alone.overall.value == pytest.approx(-0.0008462, abs=1e-7)
    assert alone.overall.percent == pytest.approx(-0.2137, abs=1e-3)
    assert alone.overall.percent_of == "tension of string on cart"
    assert everything.overall.expected.value == pytest.approx(-0.0218192, abs=1e-7)
    assert everything.overall.value == pytest.approx(0.002049, abs=1e-6)
    without = compared(distance=0.600, final_speed=1.34)
    assert without.missing == {"cart-alone": (Measurand.WORK_OF_TENSION,)}


@pytest.mark.parametrize("name", CASES["shared"])
def test_what_both_sides_share_counts_once(compared, name):
    case = CASES["shared"][name]
    given, sensors = case.get("given", {}), Sensors(**case.get("sensors", {}))
    found = compared(EXACT | given, sensors=sensors, **case.get("values", RUN))
    difference = found.systems["cart-alone"].overall
    assert difference.u == pytest.approx(eval(case["u"]), rel=case["rel"])
    if "friction" not in given:
        assert difference.value == pytest.approx(-0.0008462, abs=1e-7)


def test_correlated_values_count_once(compared):
    # Where work and kinetic energy scatter together, their difference hardly scatters.
    speeds = 1.34 + np.random.default_rng(3).normal(0, 0.02, 10)
    works = {float(v): 0.21 * float(v) ** 2 + 0.0197702064 for v in speeds}
    rows = {v: {"work_of_tension": w, "distance": 0.6, "final_speed": v} for v, w in works.items()}
    trials = analysis_of({str(v): row for v, row in rows.items()})
    overall = compared(analysis=trials).systems["cart-alone"].overall
    assert overall.u < 1e-9 < 1e-3 < overall.measured.u


def test_single_trials_have_their_scatter(compared):
    # Speeds 1.33, 1.34, 1.35 scatter by 0.01, whatever less each claims of itself; 2 degrees of
    # freedom, k = 4.303. One that claims 0.03 keeps it.
    claims = {"a": (1.33, 0.001), "b": (1.34, 0.001), "c": (1.35, 0.03)}
    trials = analysis_of({name: {"final_speed": each} for name, each in claims.items()})
    predicted = {"final_speed": Estimate(value=1.34, u=0.0)}
    found = compared(analysis=trials, predicted=predicted).quantities["final_speed"].trials
    assert found["a"].limit == pytest.approx(4.303 * 0.01, rel=1e-3)
    assert found["c"].u == pytest.approx(0.03)


def test_a_trial_whose_own_force_is_less_certain_has_a_wider_limit(compared):
    """0.020 N over 0.600 m are 0.012 J; an end found too late shifts both sides alike."""
    tension, late = 0.08 * G * 0.420 / 0.5, 0.010  # N, m
    speed = (2 * tension / 0.420 * 0.600) ** 0.5
    trials = {
        name: {
            "mean_tension": (tension + off, u),
            "work_of_tension": ((tension + off) * 0.6, float(np.hypot(0.6 * u, tension * late))),
            "distance": (0.600, late),
            "final_speed": (speed, tension / 0.420 * late / speed),
        }
        for name, off, u in (("a", -0.001, 0.001), ("b", 0.0, 0.001), ("c", 0.001, 0.020))
    }
    found = compared({**EXACT, "friction": "0"}, analysis_of(trials)).systems["cart-alone"]
    u = [trial.u for trial in found.trials.values()]
    assert u == pytest.approx([0.0006, 0.0006, 0.012], rel=0.01)


def test_a_side_is_told_where_chance_would_hardly_put_all_trials_there():
    """Sign test: n equal signs come by chance in 2 × (1/2)ⁿ of all cases, five in 1/16."""
    assert [side_of([sign] * 6) for sign in (0.1, -0.1)] == [1, -1]
    for differences in ([0.1] * 5, [0.1] * 9 + [-0.1], [0.1] * 9 + [0.0], []):
        assert side_of(differences) == 0
