"""The pull in a record: means, work, sign, and its zero: what a known pull brings along."""

from dataclasses import replace

import numpy as np
import pytest

from fallwork.measurement import comparison, finding, finding_signals, model, prediction, statistics
from fallwork.measurement.analysis import analyse
from fallwork.measurement.settings import Settings, Tare, Zero, known_pull, u_of_bearings
from fallwork.measurement.summaries import Sensors, summaries
from fallwork.measurement.tension import Pull, notes_on_zeros, pull_between, pull_in
from fallwork.scenario import Scenario
from measurement.kit import LASTS, PULL, STANDARD, WEIGHT, noisy, path, record, trials_of

G = 9.80665  # m/s², 3rd CGPM (1901)
HELD = model.Estimate(value=WEIGHT, u=0.0)
RUN = ("acceleration", "final_speed", "distance", "mean_tension", "work_of_tension")


def trial(
    *, growing: float = 0.0, offset: float = 0.0, noise: float = 0.005, seed: int = 8
) -> model.Record:
    """The bench's run, with a pull that grows by so much per second from release on."""
    given, true = noisy(seed, velocity=0.001, force=noise), path()
    more = np.where(true.force > 0, growing * np.clip(true.time - 0.8, 0, None), 0.0)
    return replace(given, force=given.force + more + offset)


def pull(given: model.Record, tare: Tare | None = None, sign: int | None = None) -> Pull | None:
    motion = finding.find_run(given)
    signs = {} if sign is None else {"force": sign}
    return pull_in(given, motion.run, motion.estimates, Settings(tare=tare, signs=signs))


def test_means_over_distance_and_over_time_differ_for_a_growing_pull():
    """F = F₀ + k t with v = a t: F₀ + k T/2 over the time, F₀ + 2 k T/3 over the distance."""
    found = pull(trial(growing=0.2, noise=0.0005))
    for name, share in (("mean_tension_over_time", 1 / 2), ("mean_tension", 2 / 3)):
        expected = PULL + 0.2 * LASTS * share
        assert found.estimates[name].value == pytest.approx(expected, abs=0.002)
    assert found.notes[-1] == (
        "the force changes by +21 % within the driven part: its means over the distance and over "
        "the time differ"
    )


@pytest.mark.parametrize(
    ("tare", "where", "told"),
    [
        (Tare(zero=Zero.SLACK), "the stretch after landing", {"force_held"}),
        (Tare(zero=Zero.HELD, known=HELD), "the stretch before release", {"force_slack"}),
    ],
)
def test_the_zero_is_set_where_the_force_is_known_and_that_is_no_finding(tare, where, told):
    found, bare = pull(trial(offset=0.05, noise=0.001), tare), pull(trial(noise=0.001))
    mean = found.estimates["mean_tension"]
    assert mean.value == pytest.approx(PULL, abs=3 * mean.u)
    assert mean.u > bare.estimates["mean_tension"].u
    assert found.zero.value == pytest.approx(0.05, abs=0.001)
    (note, *_) = notes_on_zeros([found.zero.value], tare)
    assert note.startswith(f"force zeroed by −{found.zero.value:.4f} N from {where}")
    assert {name for name in found.estimates if name.startswith("force")} == told


def test_an_offset_or_a_pull_that_counts_as_negative_is_named():
    found = pull(trial(offset=0.05, noise=0.001))
    assert "force reads 0.050 N with the string slack, and is not zeroed" in found.notes
    assert found.estimates["force_slack"].value == pytest.approx(0.05, abs=0.001)
    given = trial()
    turned = replace(given, force=-np.asarray(given.force))
    assert pull(turned).estimates == pull(given).estimates
    assert pull(turned).notes[0] == "a pull counts as negative: force turned over"
    assert pull(turned, sign=-1).notes == ()


def test_a_force_alone_has_a_mean_and_few_slack_readings_no_spikes():
    found = pull_between(replace(trial(), velocity=None), (0.85, 1.65))
    (mean,) = found.estimates.values()
    assert list(found.estimates) == ["mean_tension_over_time"]
    assert mean.value == pytest.approx(PULL, abs=3 * mean.u)
    # Four of six lie within 2 mN: the two others are noise, and the zero is the mean of all.
    values = np.array([0.014, -0.016, -0.013, 0.014, 0.016, 0.014])
    kept, far = finding_signals.Readings(time=np.arange(6) / 50, values=values).without_spikes(0)
    assert (len(kept.time), far) == (6, ())


def test_the_zero_of_a_few_readings_is_as_certain_as_their_number_says():
    """σ/√n for n readings of the slack string, though so few can't tell what they share."""
    true, sigma, found = path(rate=50), 0.01, []
    settings = Settings(tare=Tare(zero=Zero.SLACK))
    random, n = np.random.default_rng(3), len(true.time)
    motion = finding.find_run(record(true, velocity=true.velocity + random.normal(0, 0.001, n)))
    begin, end = motion.run.coasting
    inside = (true.time >= begin + 0.3 * (end - begin)) & (true.time <= end)
    for _ in range(80):
        given = record(true, force=true.force + random.normal(0, sigma, n))
        pulled = pull_in(given, motion.run, motion.estimates, settings)
        found.append(pulled.zero.u)
    claimed = float(np.sqrt(np.mean(np.square(found))))
    assert claimed == pytest.approx(sigma / np.sqrt(inside.sum()), rel=0.09)


# ---- zeroed while the object is held
def test_the_pull_while_held_is_the_weight_with_its_uncertainty(level):
    """0.1 g and 0.0005 m/s² give 0.98 mN and 0.04 mN; a bearing of 0.1 mN m at 25 mm 4 mN/√3."""
    found = known_pull(level(), model.Estimate(value=G, u=0.0005))
    assert found.value == pytest.approx(0.784532, rel=1e-9)
    assert found.u == pytest.approx((0.980665e-3**2 + 0.04e-3**2) ** 0.5, rel=1e-6)
    bearing = level(pulley="{kind: pulley, mass: 10 g, radius: 25 mm, bearing_torque: 0.0001 N m}")
    assert [u_of_bearings(each, G) for each in (bearing, level())] == [
        *(pytest.approx(0.004 / 3**0.5), 0.0)
    ]


def trials(count: int, noise: float = 0.002) -> list[model.Record]:
    """The bench's run, with a force that reads ten times its noise too much."""
    every = {f"trial-{seed}": seed for seed in range(1, count + 1)}
    made = {name: trial(offset=10 * noise, noise=noise, seed=at) for name, at in every.items()}
    return [replace(each, name=name) for name, each in made.items()]


def held(u: float, count: int = 5) -> model.Analysis:
    tare = Tare(zero=Zero.HELD, known=model.Estimate(value=WEIGHT, u=u))
    return analyse(trials(count), Settings(tare=tare))


def test_an_error_in_the_known_pull_is_not_lessened_by_more_trials():
    """The notes say what was taken for known and what trials share."""
    sure, found = held(0.0).summary["mean_tension"], held(0.003)
    unsure = found.summary["mean_tension"]
    assert unsure.u == pytest.approx((sure.u**2 + 0.003**2) ** 0.5)
    assert unsure.effects == pytest.approx({"zero of forces": 0.003})
    assert unsure.value == pytest.approx(PULL, abs=0.001)
    (zeroed, taken) = [each for each in found.notes if "force" in each]
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


def test_the_noise_of_each_zero_is_counted_once_in_the_scatter():
    """Mean of n differences: the noise of both stretches by squares, over √n, and no more."""
    found = [each.estimates["mean_tension"] for each in held(0.0, count=40).trials]
    scatter = np.std([each.value for each in found], ddof=1)
    assert scatter == pytest.approx(np.mean([each.u for each in found]), rel=0.35)


@pytest.mark.parametrize("noise", [0.002, 0.0])
def test_one_zero_for_all_trials_would_give_the_same_mean(noise):
    """Without noise the slack string reads 0 N: a zero that is right is one that was set."""
    records = trials(5, noise=noise)
    read, zeroed = (analyse(records, Settings(tare=t)) for t in (None, Tare(zero=Zero.SLACK)))
    zeros = [trial.run.force_offset for trial in zeroed.trials if trial.run]
    means = [each.summary["mean_tension"].value for each in (read, zeroed)]
    assert means[1] == pytest.approx(means[0] - np.mean(zeros), abs=1e-12)
    (note,) = [each for each in zeroed.notes if "force zeroed" in each]
    assert "without its first 30 %, in which the force may still swing" in note


def tension(scenario: Scenario, analysis: model.Analysis) -> comparison.Comparison:
    predicted = prediction.predict(scenario, STANDARD, seed=1).estimates
    case = prediction.Case(scenario=scenario, gravity=STANDARD)
    return comparison.compare_all(analysis, predicted, case).quantities["mean_tension"].overall


def test_a_wrong_mass_shifts_the_measured_and_the_predicted_tension_together(level):
    """By hand, T = m₁ m₂ g (1 + µ)/(m₁ + m₂): ∂T/∂m₂ = m₁² g (1 + µ)/(m₁ + m₂)², and the pull
    while held changes by g; their product with u² = (0.1 g)² is the covariance.
    """
    scenario = level(cart="420 g", distance="0.6 m")
    expected = 0.420**2 * G * 1.008 / 0.500**2 * G * 1e-4**2
    told = comparison.covariance_of_tension(prediction.Case(scenario=scenario, gravity=STANDARD))
    assert told == pytest.approx(expected, rel=1e-6)
    free = trials_of(scenario, noise=0.1)
    free = replace(free, summary=summaries(free.trials, Sensors(force_zero=G * 1e-4)))
    zeroed = replace(free, zeroed_held=True)
    difference = tension(scenario, free).u ** 2 - expected * 2
    assert tension(scenario, zeroed).u ** 2 == pytest.approx(difference, rel=1e-6)


@pytest.mark.parametrize("zeroed_held", [True, False])
def test_intervals_of_work_less_energy_hold_with_a_weight_of_unsure_mass(
    level, zeroed_held, thorough
):
    """The true mass is drawn, ± 1 g, and the given 80 g zero the forces, which all trials share."""
    scenario = level(cart="420 g", weight="80 g ± 1.0 g", distance="0.6 m")
    case, random = prediction.Case(scenario=scenario, gravity=STANDARD), np.random.default_rng(3)
    count, hits = 250 if thorough else 30, 0
    for seed in range(count):
        mass = random.normal(0.080, 0.001)
        wrong = (0.080 - mass) * G  # N by which all forces read too much
        shifts = {"mean_tension": wrong, "work_of_tension": wrong * 0.6}
        true = level(cart="420 g", weight=f"{mass} kg", distance="0.6 m")
        seen = trials_of(true, only=RUN, seed=seed, off=shifts, noise=0.3)
        result = comparison.compare_all(replace(seen, zeroed_held=zeroed_held), {}, case)
        hits += result.systems["cart-alone"].overall.verdict is statistics.Verdict.AGREE
    if zeroed_held:
        assert abs(hits / count - 0.95) < 4 * (0.95 * 0.05 / count) ** 0.5
    else:
        assert hits / count < 0.6
