"""What measurements can tell apart, whatever their values."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest
from scipy.linalg import inv, lstsq, sqrtm

from fallwork.measurement.derived import Derived
from fallwork.measurement.inputs import Case
from fallwork.measurement.losses import Clue, losses_of
from fallwork.measurement.model import Analysis, Estimate
from fallwork.measurement.sensors import Sensors, shifts
from fallwork.measurement.separation import Separation, Unknown, covariances, separate
from fallwork.measurement.statistics import coverage_factor
from fallwork.measurement.summaries import summaries
from fallwork.scenario import Scenario
from measurement.kit import STANDARD, level_track, trials_of, truth_of

Level = Callable[..., Scenario]
MOTION = ("acceleration", "final_speed", "distance")
FORCE = ("work_of_tension",)
FRICTION, INERTIA, ELSEWHERE, ZERO = Unknown
EXACT = {"cart": "420 g", "weight": "80 g", "distance": "0.6 m"}


def losses(
    scenario: Scenario, *measured: str, trials: Analysis | None = None, zero: float = 0.0
) -> Derived:
    """Of ten trials; ``zero``: u of a zeroing, N."""
    case = Case(scenario=scenario, gravity=STANDARD, sensors=Sensors(force_zero=zero))
    found = losses_of(trials or trials_of(scenario, only=measured), case)
    assert found is not None
    return found.derived


def weight(found: Separation, unknown: Unknown, clue: Clue) -> float:
    """Of a clue in the sum that tells an unknown."""
    return float(found.row(unknown) @ found.derived.row(clue))


@pytest.mark.parametrize(
    ("more", "settled", "entangled"),
    [
        ((), (), (FRICTION, INERTIA, ELSEWHERE)),
        (FORCE, (), (FRICTION, INERTIA, ELSEWHERE, ZERO)),
        (("coasting_acceleration",), (FRICTION,), (INERTIA, ELSEWHERE)),
        ((*FORCE, "coasting_acceleration"), (FRICTION,), (INERTIA, ELSEWHERE, ZERO)),
        ((*FORCE, "force_slack"), (ELSEWHERE, ZERO), (FRICTION, INERTIA)),
        ((*FORCE, "force_held", "coasting_acceleration"), tuple(Unknown), ()),
    ],
    ids=["motion", "force", "coasting", "force and coasting", "force and slack", "everything"],
)
def test_what_is_settled_and_what_is_entangled(
    level: Level,
    more: tuple[str, ...],
    settled: tuple[Unknown, ...],
    entangled: tuple[Unknown, ...],
) -> None:
    found, _ = separate(losses(level(), *MOTION, *more))
    assert tuple(found.settled) == settled
    assert found.entangled == entangled


def test_a_known_zero_counts_as_a_measurement_of_it(level: Level) -> None:
    found, _ = separate(losses(level(), *MOTION, *FORCE, zero=0.001))
    assert tuple(found.settled) == (ELSEWHERE, ZERO)
    assert found.settled[ZERO].value == pytest.approx(0.0, abs=1e-12)
    assert found.settled[ZERO].u == pytest.approx(0.001)


def test_which_measurement_would_settle_the_rest(level: Level) -> None:
    """With force and motion, any look at the zero parts pulley from cart; friction and hidden
    inertia at the cart are parted by coasting alone.
    """
    found, _ = separate(losses(level(), *MOTION, *FORCE))
    assert found.would_settle == {
        FRICTION: (Clue.COASTING_FORCE,),
        INERTIA: (),
        ELSEWHERE: (Clue.HELD_OFFSET, Clue.SLACK_OFFSET),
        ZERO: (Clue.HELD_OFFSET, Clue.SLACK_OFFSET),
    }


def test_sums_are_known_where_their_parts_are_not(level: Level) -> None:
    """By hand: friction takes µ m g = 0.0329503 N, and both views see it."""
    found, _ = separate(losses(level(), *MOTION, *FORCE))
    pulled, whole = found.sums
    assert (pulled.of, whole.of) == ((FRICTION, INERTIA, ZERO), (FRICTION, INERTIA, ELSEWHERE))
    assert abs(pulled.value.value - 0.0329503) < 3 * pulled.value.u
    assert abs(whole.value.value - 0.0329503) < 3 * whole.value.u


def test_what_is_taken_as_none_makes_the_rest_better_known(level: Level) -> None:
    """Friction is then seen by two clues in place of one. By hand, in N for one trial: coasting
    0.420 × 0.006 = 0.0025; force less zero √((0.0007/0.6)² + (0.420 × 1.343 × 0.003/0.6)² + 0.001²)
    = 0.0032, so the weight is 0.0032²/(0.0032² + 0.0025²).
    """
    scenario, more = level(**EXACT), ("force_held", "coasting_acceleration")
    trials = trials_of(scenario, only=(*MOTION, *FORCE, *more), count=100)
    every, plain = separate(losses(scenario, trials=trials))
    assert weight(every, FRICTION, Clue.COASTING_FORCE) == pytest.approx(1.0)
    assert weight(plain, FRICTION, Clue.COASTING_FORCE) == pytest.approx(0.62, abs=0.1)


# ---- how well

SENSORS = Sensors(position_scale=0.001, force_scale=0.003, force_zero=0.0005)
GIVEN = {
    "cart": "420 g ± 0.4 g",
    "slope": "0 deg ± 0.02 deg",
    "weight": "80 g",
    "distance": "0.6 m",
}
ZEROED = 0.0015  # N, by which a record's zero is wrong
FORCES = {"mean_tension": 1.0, "work_of_tension": 0.6, "force_held": 1.0, "force_slack": 1.0}


@dataclass(frozen=True, kw_only=True)
class Told:
    """What one set of trials tells, beside the truth."""

    truth: Mapping[Unknown, float]  # N
    every: Separation
    plain: Separation  # hidden inertia taken as none


def rough(analysis: Analysis, generator: np.random.Generator, *, claims: bool) -> Analysis:
    """What records are like: friction that changes from trial to trial, an end found too late
    (speed and distance are then wrong together), a zero that each record sets anew for all its
    forces. ``claims``: whether the values have their ±.
    """
    trials = []
    for trial in analysis.trials:
        friction, late, zero = generator.normal(0, (0.0026, 0.001, ZEROED))  # N, s, N
        shifts = {
            "final_speed": late * 1.503 - friction * 0.60 / (0.5 * 1.343),
            "distance": late * 1.343,
            "mean_tension": zero,
            "work_of_tension": late * 1.343 * 0.664 + friction * 0.60 * 0.08 / 0.5 + zero * 0.60,
            "coasting_acceleration": -friction / 0.42,
            "force_held": zero,
            "force_slack": zero,
        }
        zeroed = {name: ZEROED * FORCES.get(name, 0.0) for name in trial.estimates}
        estimates = {
            name: Estimate(
                value=each.value + shifts.get(name, 0.0),
                u=float(np.hypot(each.u, zeroed[name])) if claims else 0.0,
            )
            for name, each in trial.estimates.items()
        }
        trials.append(replace(trial, estimates=estimates, zero_u=ZEROED if claims else 0.0))
    return Analysis(trials=tuple(trials), summary=summaries(trials, Sensors()))


def shared(
    folder: Path, generator: np.random.Generator
) -> tuple[Mapping[str, float], Mapping[Unknown, float]]:
    """What the sensors read, and the truth, where mass, slope, scales and zero are drawn too."""
    grams, slope = generator.normal((420, 0), (0.4, 0.02))
    drawn = {**GIVEN, "cart": f"{grams:.4f} g", "slope": f"{slope:.5f} deg"}
    values = truth_of(level_track(folder, **drawn))
    off = generator.normal(0, [shift.u for shift in shifts(SENSORS)])
    for shift, size in zip(shifts(SENSORS), off, strict=True):
        values = shift.apply(values, size)
    return values, friction_of(grams / 1000) | {ZERO: off[2]}


def friction_of(mass: float) -> dict[Unknown, float]:
    return {**dict.fromkeys(Unknown, 0.0), FRICTION: 0.008 * mass * 9.80665}


KINDS = [("quiet", 3), ("recorded", 4), ("shared", 8), ("typed", 8), ("recorded", 10)]


@pytest.fixture(scope="module", params=KINDS, ids=[f"{kind} {n}" for kind, n in KINDS])
def told(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, thorough: bool
) -> list[Told]:
    """Sets of trials of known truth: 2,000 of each kind if all are asked for."""
    kind, count = request.param
    folder = tmp_path_factory.mktemp("track")
    with_more = kind == "shared"
    model = level_track(folder, **(GIVEN if with_more else EXACT))
    sensors = SENSORS if with_more else Sensors()
    case = Case(scenario=model, gravity=STANDARD, sensors=sensors)
    values, truth = truth_of(model), friction_of(0.420)
    found = []
    for seed in range(2000 if thorough else 120):
        generator = np.random.default_rng(1_000_000 + seed)
        if with_more:
            values, truth = shared(folder, generator)
        analysis = trials_of(values, count=count, seed=seed)
        if kind in ("typed", "recorded"):
            analysis = rough(analysis, generator, claims=kind == "recorded")
        given = losses_of(analysis, case)
        assert given is not None
        every, plain = separate(given.derived)
        found.append(Told(truth=truth, every=every, plain=plain))
    return found


def test_intervals_of_every_cause_cover_the_truth_in_95_of_100_cases(
    told: list[Told], thorough: bool, request: pytest.FixtureRequest
) -> None:
    """Uncertainties that are pooled cover a little more than that where there are three trials."""
    most = 0.98 if "quiet 3" in request.node.name else 0.97
    hits: dict[tuple[Unknown, int], int] = {}
    for each in told:
        for separation in (each.every, each.plain):
            for unknown, value in separation.settled.items():
                miss = value.value - each.truth[unknown]
                key = unknown, len(separation.unknowns)
                hit = abs(miss) <= coverage_factor(value.dof) * value.u
                hits[key] = hits.get(key, 0) + hit
    room = 0.0 if thorough else 0.04  # two standard deviations of a share of 120
    shares = {key: count / len(told) for key, count in hits.items()}
    assert len(shares) == 7
    assert all(0.93 - room <= share <= most + room for share in shares.values()), {
        f"{k[0].name} {k[1]}": round(float(v), 3) for k, v in shares.items()
    }


def test_what_is_taken_as_none_never_makes_the_rest_worse_known(told: list[Told]) -> None:
    for each in told:
        assert all(each.plain.settled[k].u <= each.every.settled[k].u for k in each.plain.settled)


def test_sound_trials_are_seldom_contradicted_and_friction_has_no_bias(told: list[Told]) -> None:
    """Bias below a quarter of u: the mean of 120 is uncertain by an eleventh."""
    frictions = [(each.every.settled[FRICTION], each.truth[FRICTION]) for each in told]
    errors = [found.value - truth for found, truth in frictions]
    assert abs(np.mean(errors)) < 0.25 * np.mean([found.u for found, _ in frictions])
    assert 0.88 <= np.mean([each.plain.consistent for each in told]) <= 0.99


def test_the_weights_are_those_of_another_library(level: Level) -> None:
    """scipy's ordinary least squares of the clues, whitened by the root of their covariance:
    that is generalised least squares (A. C. Aitken, Proc. Roy. Soc. Edinburgh 55 (1936) 42; from
    memory).
    """
    scenario = level(slope="0 deg ± 0.05 deg")  # the slope is a shared effect of three clues
    given = losses(scenario, *MOTION, *FORCE, "force_held", "force_slack", "coasting_acceleration")
    every, found = separate(given)
    root = sqrtm(inv(sum(covariances(given, every.clues))))
    plain = [[True, False, False], [True, True, False], [True, False, False]]  # friction, elsewhere
    sees = np.array([*plain, [False] * 3, [False] * 3], dtype=float)
    sees[[0, 3, 4], 2] = 1.0  # the zero of the force sensor
    values = [each.value.value for each in every.sums]
    expected, *_ = lstsq(root @ sees, root @ values)
    assert [each.value for each in found.settled.values()] == pytest.approx(
        list(expected), rel=1e-6
    )


def test_weights_allow_for_what_clues_share(level: Level) -> None:
    """A track whose slope is known to 0.5° shifts all three clues that see friction alike, so the
    weights between them are those of a track known exactly, where the zero has no share in them.
    """
    more = (*MOTION, *FORCE, "force_held", "coasting_acceleration")
    slopes = ("0 deg", "0 deg ± 0.5 deg")
    sure, unsure = (separate(losses(level(slope=slope), *more))[1] for slope in slopes)
    for unknown in (FRICTION, ELSEWHERE):
        assert unsure.row(unknown) == pytest.approx(sure.row(unknown), abs=0.02)


def test_a_wrong_none_is_contradicted(level: Level) -> None:
    every, plain = separate(losses(level(), trials=trials_of(level(cart="440 g"))))
    assert (every.consistent, plain.consistent) == (True, False)


def test_a_zeroing_counts_for_as_much_as_it_is_known(level: Level) -> None:
    """The held force reads 0.020 N too much: no contradiction if the zero is known to 0.02 N."""
    trials = trials_of(level(), only=(*MOTION, "force_held"), off={"force_held": 0.02})
    found = [separate(losses(level(), trials=trials, zero=u))[0] for u in (0.02, 0.002)]
    assert [each.consistent for each in found] == [True, False]


def test_trials_without_speed_and_acceleration_tell_no_losses(level: Level) -> None:
    scenario = level()
    case = Case(scenario=scenario, gravity=STANDARD)
    assert losses_of(trials_of(scenario, only=("travel_time", "mean_tension")), case) is None
