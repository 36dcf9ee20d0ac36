"""The verdict rule, and measured works against measured changes of energy."""

from collections.abc import Callable
from math import inf

import numpy as np
import pytest

from fallwork.measurement.comparison import Verdict, compare, compare_all, side_of
from fallwork.measurement.derived import Case
from fallwork.measurement.energies import Origin
from fallwork.measurement.model import Analysis, Estimate, Measurand, Trial
from fallwork.measurement.prediction import predict
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.summaries import summaries, summary_given
from fallwork.scenario import Scenario
from measurement.kit import STANDARD, trials_of

Level = Callable[..., Scenario]
EXACT = {"cart": "420 g", "weight": "80 g", "distance": "0.6 m"}


def measured(**values: float) -> Analysis:
    """Two equal trials, so that nothing is uncertain but what is given."""
    trials = tuple(
        Trial(name=name, estimates={k: Estimate(value=v, u=0.0) for k, v in values.items()})
        for name in ("first", "second")
    )
    return Analysis(trials=trials, summary=summaries(trials))


@pytest.mark.parametrize(
    ("difference", "verdict"), [(0.0979, Verdict.AGREE), (0.0981, Verdict.DIFFER)]
)
def test_values_agree_up_to_k_times_u_of_the_difference(
    difference: float, verdict: Verdict
) -> None:
    """u = √(0.03² + 0.04²) = 0.05, k = 1.960: the limit is 0.0980."""
    found = compare(Estimate(value=1 + difference, u=0.03), Estimate(value=1, u=0.04))
    assert (found.limit, found.verdict) == (pytest.approx(0.0980, abs=5e-5), verdict)


def test_few_trials_widen_the_limit() -> None:
    """Student's t for 4 degrees of freedom, 2.776, where all of u comes from five trials."""
    found = compare(Estimate(value=1.1, u=0.03, dof=4), Estimate(value=1, u=0.0))
    assert found.limit == pytest.approx(2.776 * 0.03, abs=5e-5)


def test_percent_says_of_what_and_has_a_sign_and_decides_nothing() -> None:
    """0.98 against 1.00 is −2 % of the predicted value; a sure 2 % differs, an unsure agrees."""
    sure = compare(Estimate(value=0.98, u=0.001), Estimate(value=1.0, u=0.0))
    unsure = compare(Estimate(value=0.98, u=0.02), Estimate(value=1.0, u=0.0))
    assert (sure.percent, sure.percent_of) == (pytest.approx(-2.0), "predicted value")
    assert (sure.verdict, unsure.verdict) == (Verdict.DIFFER, Verdict.AGREE)


def test_there_is_no_percent_of_nothing() -> None:
    assert compare(Estimate(value=0.1, u=1), Estimate(value=0.0, u=0.0)).percent is None


def test_the_rule_finds_agreement_in_95_of_100_true_cases() -> None:
    generator = np.random.default_rng(95)
    agree = 0
    for _ in range(2000):
        readings = generator.normal(1.0, 0.1, 6)
        mean = Estimate(value=readings.mean(), u=readings.std(ddof=1) / 6**0.5, dof=5)
        predicted = Estimate(value=generator.normal(1.0, 0.04), u=0.04)
        agree += compare(mean, predicted).verdict is Verdict.AGREE
    assert 0.935 < agree / 2000 < 0.97


def test_acceleration_tension_and_final_speed_are_compared(level: Level) -> None:
    scenario = level()
    analysis = trials_of(scenario)
    case = Case(scenario=scenario, gravity=STANDARD)
    found = compare_all(analysis, predict(scenario, STANDARD, seed=1).estimates, case)
    assert list(found.quantities) == ["acceleration", "mean_tension", "final_speed"]
    for each in found.quantities.values():
        assert each.overall.verdict is Verdict.AGREE
        assert len(each.trials) == 10
    whole = found.quantities["acceleration"].overall
    single = found.quantities["acceleration"].trials["trial-01"]
    assert single.difference.u > 2 * whole.difference.u


def test_work_on_the_cart_against_its_kinetic_energy(level: Level) -> None:
    """By hand: 0.660 N × 0.600 m = 0.396 J less friction 0.008 × 0.420 g × 0.600 m = 0.01977 J,
    against ½ 0.420 kg (1.34 m/s)² = 0.377076 J; −0.000846 J is −0.21 % of the largest, 0.396 J.
    """
    analysis = measured(work_of_tension=0.396, distance=0.600, final_speed=1.34)
    case = Case(scenario=level(**EXACT), gravity=STANDARD)
    alone = compare_all(analysis, {}, case).systems[0]
    assert [(part.name, part.origin, round(part.value, 6)) for part in alone.account.works] == [
        ("tension of string on cart", Origin.FORCE_SENSOR, 0.396),
        ("friction of track on cart", Origin.MODEL, -0.01977),
    ]
    assert [(p.name, p.origin, round(p.value, 6)) for p in alone.account.changes] == [
        ("kinetic", Origin.GIVENS, 0.377076)
    ]
    assert alone.overall.difference.value == pytest.approx(-0.0008462, abs=1e-7)
    assert alone.overall.percent == pytest.approx(-0.2137, abs=1e-3)
    assert alone.overall.percent_of == "tension of string on cart"


def test_work_on_everything_against_its_energies(level: Level) -> None:
    """By hand: −0.01977 J against ½ 0.500 (1.34)² − 0.080 g 0.600 = 0.4489 − 0.470719 J."""
    analysis = measured(distance=0.600, final_speed=1.34)
    case = Case(scenario=level(**EXACT), gravity=STANDARD)
    found = compare_all(analysis, {}, case)
    (everything,) = found.systems
    assert everything.id == "all-moving"
    assert everything.account.change == pytest.approx(-0.0218192, abs=1e-7)
    assert everything.overall.difference.value == pytest.approx(0.002049, abs=1e-6)
    assert [(each.id, each.lacks) for each in found.missing] == [
        ("cart-alone", (Measurand.WORK_OF_TENSION,))
    ]


def test_givens_that_both_sides_share_count_once(level: Level) -> None:
    """The cart alone, µ and m uncertain: ∂/∂m = −µ g d − v²/2, ∂/∂µ = −m g d, by hand."""
    scenario = level(**{**EXACT, "cart": "420 g ± 2 g", "friction": "0.008 ± 0.001"})
    analysis = measured(work_of_tension=0.396, distance=0.600, final_speed=1.34)
    case = Case(scenario=scenario, gravity=STANDARD)
    difference = compare_all(analysis, {}, case).systems[0].overall.difference
    of_mass = (0.008 * 9.80665 * 0.6 + 1.34**2 / 2) * 0.002
    of_friction = 0.420 * 9.80665 * 0.6 * 0.001
    assert difference.u == pytest.approx(np.hypot(of_mass, of_friction), rel=1e-6)


def test_what_is_uncertain_about_sensors_reaches_the_difference(level: Level) -> None:
    """A force scale of 1 % gives 0.00396 J, a zero of 0.002 N gives 0.0012 J, by hand."""
    analysis = measured(work_of_tension=0.396, distance=0.600, final_speed=1.34)
    sensors = Sensors(force_scale=0.01, force_zero=0.002)
    case = Case(scenario=level(**EXACT), gravity=STANDARD, sensors=sensors)
    difference = compare_all(analysis, {}, case).systems[0].overall.difference
    assert difference.u == pytest.approx(np.hypot(0.00396, 0.0012), rel=1e-9)


def test_correlated_values_of_a_trial_do_not_count_twice(level: Level) -> None:
    """Where work and kinetic energy scatter together, their difference hardly scatters."""
    generator = np.random.default_rng(3)
    trials = []
    for at in range(10):
        speed = 1.34 + generator.normal(0, 0.02)
        work = 0.420 * speed**2 / 2 + 0.0197702064
        values = {"work_of_tension": work, "distance": 0.6, "final_speed": speed}
        trials.append(
            Trial(name=str(at), estimates={k: Estimate(value=v, u=0.0) for k, v in values.items()})
        )
    analysis = Analysis(trials=tuple(trials), summary=summaries(trials))
    found = compare_all(analysis, {}, Case(scenario=level(**EXACT), gravity=STANDARD))
    overall = found.systems[0].overall
    assert overall.measured.u > 1e-3
    assert overall.difference.u < 1e-9


def test_every_trial_has_its_account(level: Level) -> None:
    scenario = level()
    found = compare_all(trials_of(scenario), {}, Case(scenario=scenario, gravity=STANDARD))
    for system in found.systems:
        means = [trial.comparison.difference.value for trial in system.trials.values()]
        assert len(means) == 10
        assert system.overall.difference.value == pytest.approx(np.mean(means), rel=1e-9)
        assert system.overall.verdict is Verdict.AGREE


def test_an_excluded_trial_does_not_count(level: Level) -> None:
    scenario = level()
    sound = trials_of(scenario)
    spoiled = Trial(
        name="spoiled",
        estimates={
            k: Estimate(value=9 * v.value, u=v.u) for k, v in sound.trials[0].estimates.items()
        },
        excluded="the cable dragged",
    )
    analysis = Analysis(trials=(*sound.trials, spoiled), summary=sound.summary)
    case = Case(scenario=scenario, gravity=STANDARD)
    assert compare_all(analysis, {}, case) == compare_all(sound, {}, case)


def test_summary_values_without_trials_are_taken_as_independent(level: Level) -> None:
    """Speed 1.34 ± 0.01 of ten: m v u = 0.420 × 1.34 × 0.01 J; work ± 0.002 J; both with n = 10."""
    given = {
        "work_of_tension": Estimate(value=0.396, u=0.002),
        "distance": Estimate(value=0.600, u=0.0),
        "final_speed": Estimate(value=1.34, u=0.01),
    }
    summary = {name: summary_given(name, value, 10) for name, value in given.items()}
    analysis = Analysis(trials=(), summary=summary)
    found = compare_all(analysis, {}, Case(scenario=level(**EXACT), gravity=STANDARD))
    difference = found.systems[0].overall.difference
    assert difference.u == pytest.approx(np.hypot(0.002, 0.420 * 1.345 * 0.01), rel=1e-3)
    assert difference.dof < inf
    assert found.systems[0].trials == {}


def test_a_pulley_with_inertia_takes_energy_that_belongs_to_it(level: Level) -> None:
    """Nothing is missing in the whole: ½ 0.510 v² with I/r² = 0.010 kg against 0.080 g d − f d."""
    pulley = "{kind: pulley, inertia: 6.25e-6 kg m², radius: 25 mm}"
    scenario = level(**{**EXACT, "pulley": pulley})
    analysis = trials_of(scenario, noise=0.0)
    found = compare_all(analysis, {}, Case(scenario=scenario, gravity=STANDARD))
    for system in found.systems:
        assert system.overall.difference.value == pytest.approx(0.0, abs=1e-12)
    contact = [part for part in found.systems[1].account.works if part.name.startswith("contact")]
    assert contact[0].origin is Origin.MODEL
    assert contact[0].value < 0


def test_a_given_distance_and_a_mean_tension_stand_in_for_what_was_not_measured(
    level: Level,
) -> None:
    """By hand, with d = 0.600 m ± 2 mm given: 0.660 N × d less friction, against ½ m v²; the
    distance counts with T − µ m g = 0.62705 N.
    """
    scenario = level(**{**EXACT, "distance": "0.600 m ± 2 mm"})
    analysis = measured(mean_tension=0.660, final_speed=1.34)
    found = compare_all(analysis, {}, Case(scenario=scenario, gravity=STANDARD))
    alone = found.systems[0].overall.difference
    assert alone.value == pytest.approx(-0.0008462, abs=1e-7)
    assert alone.u == pytest.approx(0.002 * 0.62705, rel=1e-4)


def test_a_given_that_brings_in_a_new_part(level: Level) -> None:
    """A level track that may be tilted: gravity then does work on the cart, m g d u(slope)."""
    scenario = level(**{**EXACT, "friction": "0", "slope": "0 rad ± 0.001 rad"})
    analysis = measured(work_of_tension=0.396, distance=0.600, final_speed=1.34)
    found = compare_all(analysis, {}, Case(scenario=scenario, gravity=STANDARD))
    assert found.systems[0].overall.difference.u == pytest.approx(
        0.420 * 9.80665 * 0.600 * 0.001, rel=1e-6
    )


def test_a_single_trial_has_the_scatter_of_single_trials(level: Level) -> None:
    """Speeds 1.33, 1.34, 1.35 scatter by 0.01, whatever less each claims of itself; 2 degrees of
    freedom, k = 4.303. One that claims 0.03 keeps it.
    """
    trials = tuple(
        Trial(name=name, estimates={"final_speed": Estimate(value=value, u=u)})
        for name, value, u in (("a", 1.33, 0.001), ("b", 1.34, 0.001), ("c", 1.35, 0.03))
    )
    analysis = Analysis(trials=trials, summary=summaries(trials))
    case = Case(scenario=level(**EXACT), gravity=STANDARD)
    predicted = {"final_speed": Estimate(value=1.34, u=0.0)}
    found = compare_all(analysis, predicted, case).quantities["final_speed"].trials
    assert found["a"].limit == pytest.approx(4.303 * 0.01, rel=1e-3)
    assert found["c"].difference.u == pytest.approx(0.03)


def test_a_trial_whose_own_force_is_less_certain_has_a_wider_limit(level: Level) -> None:
    """Tensions that claim 0.001 N and 0.020 N; over 0.600 m the latter is 0.012 J, far more than
    the scatter. An end found too late shifts work and kinetic energy alike, so it counts for
    nothing: T d grows as m a d does.
    """
    scenario = level(**{**EXACT, "friction": "0"})
    tension = 0.08 * 9.80665 * 0.420 / 0.5
    speed = (2 * tension / 0.420 * 0.600) ** 0.5
    late = 0.010  # m
    trials = tuple(
        Trial(
            name=name,
            estimates={
                "mean_tension": Estimate(value=tension + off, u=u),
                "work_of_tension": Estimate(
                    value=(tension + off) * 0.600, u=float(np.hypot(0.600 * u, tension * late))
                ),
                "distance": Estimate(value=0.600, u=late),
                "final_speed": Estimate(value=speed, u=tension / 0.420 * late / speed),
            },
        )
        for name, off, u in (("a", -0.001, 0.001), ("b", 0.0, 0.001), ("c", 0.001, 0.020))
    )
    analysis = Analysis(trials=trials, summary=summaries(trials))
    found = compare_all(analysis, {}, Case(scenario=scenario, gravity=STANDARD)).systems[0]
    u = {name: trial.comparison.difference.u for name, trial in found.trials.items()}
    assert [u["a"], u["b"], u["c"]] == pytest.approx([0.0006, 0.0006, 0.012], rel=0.01)


@pytest.mark.parametrize(
    ("differences", "side"),
    [
        ([0.1] * 6, 1),
        ([-0.1] * 6, -1),
        ([0.1] * 5, 0),  # 2 × (1/2)⁵ = 1/16 by chance
        ([0.1] * 9 + [-0.1], 0),
        ([0.1] * 9 + [0.0], 0),
        ([], 0),
    ],
)
def test_a_side_is_told_where_chance_would_hardly_put_all_trials_there(
    differences: list[float], side: int
) -> None:
    """Sign test: n equal signs come by chance in 2 × (1/2)ⁿ of all cases."""
    assert side_of(differences) == side
