"""A force sensor that is zeroed while the object is held: what the known pull brings along."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from fallwork.measurement.analysis import analyse
from fallwork.measurement.comparison import Comparison, compare_all, covariance_of_tension
from fallwork.measurement.model import Analysis, Estimate, Record
from fallwork.measurement.prediction import Case, predict
from fallwork.measurement.settings import Settings, Tare, Zero, known_pull, u_of_bearings
from fallwork.measurement.statistics import Verdict
from fallwork.measurement.summaries import Sensors, summaries
from fallwork.scenario import Scenario
from measurement.bench import PULL, WEIGHT, path, record
from measurement.kit import STANDARD, trials_of

Level = Callable[..., Scenario]
G = 9.80665  # m/s², 3rd CGPM (1901)


def trials(count: int, noise: float = 0.002) -> tuple[Record, ...]:
    """The bench's run, with a force that reads ten times its noise too much."""
    true, random, found = path(), np.random.default_rng(12), list[Record]()
    for at in range(1, count + 1):
        n = len(true.time)
        velocity, force = true.velocity + random.normal(0, noise, n), true.force + 10 * noise
        noisy = record(true, velocity=velocity, force=force + random.normal(0, noise, n))
        found.append(replace(noisy, name=f"trial-{at}"))
    return tuple(found)


def held(u: float, count: int = 5) -> Analysis:
    tare = Tare(zero=Zero.HELD, known=Estimate(value=WEIGHT, u=u))
    return analyse(trials(count), Settings(tare=tare))


def test_the_pull_while_held_is_the_weight_with_its_uncertainty(level: Level) -> None:
    """By hand: 0.080 kg × g = 0.784532 N; 0.1 g and 0.0005 m/s² give 0.98 mN and 0.04 mN."""
    found = known_pull(level(), Estimate(value=G, u=0.0005))
    assert found.value == pytest.approx(0.784532, rel=1e-9)
    assert found.u == pytest.approx((0.980665e-3**2 + 0.04e-3**2) ** 0.5, rel=1e-6)


def test_a_bearing_that_does_not_turn_makes_the_pull_uncertain(level: Level) -> None:
    """By hand: 0.1 mN m at 25 mm is 4 mN either way, so u = 4 mN/√3."""
    scenario = level(pulley="{kind: pulley, mass: 10 g, radius: 25 mm, bearing_torque: 0.0001 N m}")
    assert u_of_bearings(scenario, G) == pytest.approx(0.004 / 3**0.5)
    assert u_of_bearings(level(), G) == 0.0


def test_an_error_in_the_known_pull_is_not_lessened_by_more_trials() -> None:
    sure, unsure = held(0.0).summary["mean_tension"], held(0.003).summary["mean_tension"]
    assert unsure.u == pytest.approx((sure.u**2 + 0.003**2) ** 0.5)
    assert unsure.effects == pytest.approx({"zero of forces": 0.003})
    assert unsure.value == pytest.approx(PULL, abs=0.001)


def test_the_noise_of_each_zero_is_counted_once_in_the_scatter() -> None:
    """Mean of n differences: the noise of both stretches by squares, over √n, and no more."""
    trials_ = held(0.0, count=40).trials
    own = np.mean([trial.estimates["mean_tension"].u for trial in trials_])
    scatter = np.std([trial.estimates["mean_tension"].value for trial in trials_], ddof=1)
    assert scatter == pytest.approx(own, rel=0.35)


def test_the_notes_say_what_was_taken_for_known_and_what_trials_share() -> None:
    (zeroed, taken) = [each for each in held(0.003).notes if "force" in each]
    assert taken == (
        "all trials: the force there is taken as 0.7800 N ± 0.0030 N, as masses and g have it: "
        "an error in it shifts all trials alike, so more trials don't lessen it"
    )
    assert zeroed.startswith("all trials: force zeroed by −0.02")
    assert zeroed.endswith(
        " from the stretch before release, each trial by a zero of its own: its noise is part of "
        "the trial's uncertainty and shows in the scatter of the trials; one common zero, the "
        "mean of these, would give the same mean"
    )


@pytest.mark.parametrize("noise", [0.002, 0.0])
def test_one_zero_for_all_trials_would_give_the_same_mean(noise: float) -> None:
    """Without noise the slack string reads 0 N: a zero that is right is one that was set."""
    records = trials(5, noise=noise)
    read, zeroed = (analyse(records, Settings(tare=t)) for t in (None, Tare(zero=Zero.SLACK)))
    zeros = [trial.run.force_offset for trial in zeroed.trials if trial.run]
    means = [each.summary["mean_tension"].value for each in (read, zeroed)]
    assert means[1] == pytest.approx(means[0] - np.mean(zeros), abs=1e-12)
    (note,) = [each for each in zeroed.notes if "force zeroed" in each]
    assert "without its first 30 %, in which the force may still swing" in note


def tension(scenario: Scenario, analysis: Analysis) -> Comparison:
    predicted = predict(scenario, STANDARD, seed=1).estimates
    case = Case(scenario=scenario, gravity=STANDARD)
    return compare_all(analysis, predicted, case).quantities["mean_tension"].overall


def test_a_wrong_mass_shifts_the_measured_and_the_predicted_tension_together(level: Level) -> None:
    """By hand, T = m₁ m₂ g (1 + µ)/(m₁ + m₂): ∂T/∂m₂ = m₁² g (1 + µ)/(m₁ + m₂)², and the pull
    while held changes by g; their product with u² = (0.1 g)² is the covariance.
    """
    scenario = level(cart="420 g", distance="0.6 m")
    slope = 0.420**2 * G * 1.008 / 0.500**2
    expected = slope * G * 1e-4**2
    assert covariance_of_tension(Case(scenario=scenario, gravity=STANDARD)) == pytest.approx(
        expected, rel=1e-6
    )
    free = trials_of(scenario, noise=0.1)
    free = replace(free, summary=summaries(free.trials, Sensors(force_zero=G * 1e-4)))
    zeroed = replace(free, zeroed_held=True)
    difference = tension(scenario, free).difference.u ** 2 - expected * 2
    assert tension(scenario, zeroed).difference.u ** 2 == pytest.approx(difference, rel=1e-6)


def truth(mass: float) -> dict[str, float]:
    """Closed form for a 420 g cart, friction 0.008 and 0.6 m."""
    acceleration = (mass - 0.008 * 0.420) * G / (mass + 0.420)
    pull = 0.420 * (acceleration + 0.008 * G)
    return {
        "acceleration": acceleration,
        "final_speed": (2 * acceleration * 0.6) ** 0.5,
        "distance": 0.6,
        "mean_tension": pull,
        "work_of_tension": pull * 0.6,
    }


@pytest.mark.parametrize("zeroed_held", [True, False])
def test_intervals_of_work_less_energy_hold_with_a_weight_of_unsure_mass(
    level: Level, zeroed_held: bool, thorough: bool
) -> None:
    """The true mass is drawn, ± 1 g, and forces are zeroed by the given 80 g. Were the mass that
    all trials share left out, most intervals would miss what is true, namely no difference.
    """
    case = Case(
        scenario=level(cart="420 g", weight="80 g ± 1.0 g", distance="0.6 m"), gravity=STANDARD
    )
    random = np.random.default_rng(3)
    count, hits = 250 if thorough else 30, 0
    for seed in range(count):
        mass = random.normal(0.080, 0.001)
        wrong = (0.080 - mass) * G  # N by which all forces read too much
        shifts = {"mean_tension": wrong, "work_of_tension": wrong * 0.6}
        seen = trials_of(truth(mass), seed=seed, off=shifts, noise=0.3)
        result = compare_all(replace(seen, zeroed_held=zeroed_held), {}, case)
        cart = result.systems["cart-alone"]
        hits += cart.overall.verdict is Verdict.AGREE
    if zeroed_held:
        assert abs(hits / count - 0.95) < 4 * (0.95 * 0.05 / count) ** 0.5
    else:
        assert hits / count < 0.6
