"""The account of the discrepancy: hidden causes put into the truth come out of the trials."""

from collections.abc import Callable, Mapping

import pytest

from fallwork.measurement.comparison import Verdict, verdict_on
from fallwork.measurement.derived import Case
from fallwork.measurement.discrepancy import (
    Check,
    Discrepancy,
    Impossible,
    account_of_discrepancy,
)
from fallwork.measurement.influences import InfluenceKind
from fallwork.measurement.model import Analysis, Estimate, Outcome
from fallwork.measurement.prediction import predict
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.statistics import coverage_factor
from fallwork.measurement.suspects import EvidenceKind, Speaks
from fallwork.measurement.view import measurands_of, view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import Scenario
from measurement.kit import STANDARD, trials_of

Level = Callable[..., Scenario]
MOTION = ("acceleration", "final_speed", "distance", "travel_time")
FORCE = ("mean_tension", "work_of_tension")
G, M, W, D = 9.80665, 0.420, 0.080, 0.600
EXACT = {"cart": "420 g", "weight": "80 g", "distance": "0.6 m"}


def told(analysis: Analysis, model: Scenario, sensors: Sensors | None = None) -> Discrepancy:
    predicted = measurands_of(solve(apparatus_of(model, G)), view_of(model))
    expected = {name: Estimate(value=value, u=0.0) for name, value in predicted.items()}
    case = Case(scenario=model, gravity=STANDARD, sensors=sensors or Sensors())
    return account_of_discrepancy(analysis, expected, case)


def near(estimate: Outcome | None, truth: float) -> bool:
    """Within k × u, and by no more than 3 u from it."""
    assert estimate is not None
    return abs(estimate.value - truth) <= max(coverage_factor(estimate.dof), 3) * estimate.u


def speaks(found: Discrepancy, kind: InfluenceKind) -> Mapping[EvidenceKind, Speaks]:
    (suspect,) = [each for each in found.suspects if each.influence.kind is kind]
    return {each.kind: each.speaks for each in suspect.evidence}


def kinds(found: Discrepancy) -> list[InfluenceKind]:
    return [each.influence.kind for each in found.leading]


# ---- where energy went


def test_losses_of_a_perfect_measurement(level: Level) -> None:
    """By hand: friction takes µ m g d = 0.0197702 J at the cart and the pulley nothing."""
    model = level()
    balance = told(trials_of(model, noise=0.0), model).balance
    assert balance is not None
    assert balance.pulled is not None
    assert balance.elsewhere is not None
    assert balance.pulled.value == pytest.approx(0.008 * M * G * D, rel=1e-9)
    assert balance.everything.value == pytest.approx(0.008 * M * G * D, rel=1e-9)
    assert balance.elsewhere.value == pytest.approx(0.0, abs=1e-12)
    assert balance.everything_beside.value == pytest.approx(0.0, abs=1e-12)


def test_the_pulley_takes_the_difference_of_the_two_views(level: Level) -> None:
    """By hand: a 20 g disc has I/r² = 10 g, so it takes ½ 0.010 v² = 0.010 a d."""
    truth = level(pulley="{kind: pulley, mass: 20 g, radius: 25 mm}")
    model = level()
    balance = told(trials_of(truth, noise=0.0), model).balance
    a = (W - 0.008 * M) * G / 0.510
    assert balance is not None
    assert balance.elsewhere is not None
    assert balance.pulled_beside is not None
    assert balance.elsewhere.value == pytest.approx(0.010 * a * D, rel=1e-9)
    assert balance.pulled_beside.value == pytest.approx(0.0, abs=1e-12)


def test_one_cause_alone_is_what_is_missing_in_its_place(level: Level) -> None:
    """By hand: a 20 g disc is 10 g at the rim; as a bearing it would brake with 0.010 kg × a, and
    a force sensor that reads so much too low would hide it. At the cart only friction is missing.
    """
    truth = level(pulley="{kind: pulley, mass: 20 g, radius: 25 mm}")
    alone = told(trials_of(truth, noise=0.0), level()).alone
    a = (W - 0.008 * M) * G / 0.510
    values = [alone[key].value for key in ("friction", "pulley_mass", "pulley_force", "force_zero")]
    assert values == pytest.approx([0.008, 0.010, 0.010 * a, -0.010 * a], rel=1e-6)
    assert alone["hidden_mass"].value == pytest.approx(0.0, abs=1e-9)


def test_without_hidden_inertia_the_trials_may_contradict_themselves(level: Level) -> None:
    assert told(trials_of(level()), level()).plain is not None
    assert told(trials_of(level(cart="440 g")), level()).plain is None


# ---- what the resistances are


def test_friction_pulley_and_zero_are_recovered_together(level: Level) -> None:
    truth = level(friction="0.012", pulley="{kind: pulley, mass: 16 g, radius: 25 mm}")
    off = {"mean_tension": 0.02, "work_of_tension": 0.012, "force_held": 0.02, "force_slack": 0.02}
    account = told(trials_of(truth, off=off), level())
    found = account.estimates
    assert account.plain is not None
    assert near(found.get("friction"), 0.012)
    assert near(found.get("pulley_mass"), 0.008)
    assert near(found.get("force_zero"), 0.020)
    assert near(found.get("hidden_mass"), 0.0)


def test_mass_that_was_not_weighed_is_told_from_friction_by_coasting(level: Level) -> None:
    account = told(trials_of(level(cart="440 g")), level())
    found = account.estimates
    assert account.plain is None
    assert near(found.get("hidden_mass"), 0.020)
    assert near(found.get("friction"), 0.008 * 440 / 420)  # friction of 440 g, laid on 420 g


def test_a_slope_that_is_given_is_not_taken_for_friction(level: Level) -> None:
    """Downhill by 0.6° the cart speeds up after landing, and friction is still 0.008."""
    model = level(slope="-0.6 deg")
    account = told(trials_of(model), model)
    found = account.estimates
    assert account.plain is not None
    assert near(found.get("friction"), 0.008)
    assert near(found.get("hidden_mass"), 0.0)


def test_without_coasting_or_a_known_zero_friction_cannot_be_told(level: Level) -> None:
    model = level()
    found = told(trials_of(model, only=(*MOTION, *FORCE)), model)
    assert "friction" not in found.estimates
    assert "force_zero" not in found.estimates
    assert near(found.estimates.get("friction_at_most"), 0.008)


def test_a_known_zero_tells_friction_and_pulley_apart(level: Level) -> None:
    """Without coasting, if no inertia is hidden: T d − K is friction's, the rest the pulley's."""
    truth = level(pulley="{kind: pulley, mass: 20 g, radius: 25 mm}")
    analysis = trials_of(truth, only=(*MOTION, *FORCE))
    found = told(analysis, level(), Sensors(force_zero=0.0005)).estimates
    assert near(found.get("friction"), 0.008)
    assert near(found.get("pulley_mass"), 0.010)


def test_the_zero_has_its_share_in_the_uncertainty_of_friction(level: Level) -> None:
    """By hand: 0.002 N over m g = 4.1188 N is 0.00049, far more than the scatter gives."""
    model = level()
    analysis = trials_of(model, only=(*MOTION, *FORCE), noise=0.01)
    friction = told(analysis, model, Sensors(force_zero=0.002)).estimates["friction"]
    assert friction.u == pytest.approx(0.002 / (M * G), rel=0.01)


# ---- what is impossible


def test_a_zero_offset_makes_the_tension_too_small(level: Level) -> None:
    """0.06 N too little: T is then less than m a = 0.631 N, by 0.027 N."""
    model = level()
    off = {"mean_tension": -0.06, "work_of_tension": -0.036}
    found = told(trials_of(model, off=off, only=(*MOTION, *FORCE)), model)
    first = found.impossible[0]
    assert (first.kind, first.verdict) == (Impossible.TENSION_TOO_SMALL, Verdict.DIFFER)
    assert first.value.value == pytest.approx(0.008 * M * G - 0.06, abs=0.003)
    assert first.checks[0] is Check.FORCE_ZERO
    assert found.gap is not None
    assert found.gap.verdict is Verdict.AGREE


def test_a_tension_beyond_what_the_weight_can_give(level: Level) -> None:
    model = level()
    off = {"mean_tension": 0.03, "work_of_tension": 0.018}
    found = told(trials_of(model, off=off, only=(*MOTION, *FORCE)), model)
    assert [each.kind for each in found.impossible] == [Impossible.TENSION_TOO_LARGE]


def test_energy_gained_on_a_track_that_runs_downhill(level: Level) -> None:
    """0.8° down gives m g sin 0.8° = 0.0575 N, more than friction's 0.0330 N takes."""
    truth = level(slope="-0.8 deg")
    found = told(trials_of(truth, only=MOTION), level())
    assert [each.kind for each in found.impossible] == [Impossible.ENERGY_GAINED]
    assert found.impossible[0].verdict is Verdict.DIFFER
    assert Check.TILT in found.impossible[0].checks


def test_a_cart_that_speeds_up_while_coasting(level: Level) -> None:
    found = told(trials_of(level(slope="-0.8 deg")), level())
    shown = {each.kind: each.verdict is Verdict.DIFFER for each in found.impossible}
    assert shown[Impossible.SPEEDS_UP_COASTING]
    assert shown[Impossible.NEGATIVE_FRICTION]


def test_what_the_uncertainty_may_have_done_is_not_significant(level: Level) -> None:
    """Without friction every loss is zero: about half of them come out negative by chance."""
    model = level(friction="0")
    found = [
        value
        for seed in range(10)
        for value in told(trials_of(model, seed=seed, only=(*MOTION, *FORCE)), model).impossible
    ]
    assert 5 <= len(found) <= 25
    assert sum(value.verdict is Verdict.DIFFER for value in found) <= 3


def test_a_sound_measurement_shows_nothing_impossible(level: Level) -> None:
    model = level()
    assert told(trials_of(model), model).impossible == ()


# ---- which influence


def test_without_a_gap_nothing_is_blamed(level: Level) -> None:
    model = level()
    found = told(trials_of(model), model)
    assert found.leading == ()
    assert len(found.suspects) == 8
    assert all(suspect.evidence == () and suspect.needed is None for suspect in found.suspects)


@pytest.mark.parametrize(
    ("truth", "leading"),
    [
        ({"friction": "0.014"}, [InfluenceKind.FRICTION, InfluenceKind.TILT]),
        ({"slope": "0.25 deg"}, [InfluenceKind.FRICTION, InfluenceKind.TILT]),
        (
            {"pulley": "{kind: pulley, mass: 20 g, radius: 25 mm}"},
            [InfluenceKind.PULLEY_INERTIA],
        ),
        ({"cart": "440 g"}, [InfluenceKind.UNWEIGHED]),
    ],
    ids=["friction", "tilt", "pulley", "mass"],
)
def test_the_cause_leads_and_what_looks_the_same_stands_beside_it(
    level: Level, truth: dict[str, str], leading: list[InfluenceKind]
) -> None:
    """Friction and tilt look the same in a run one way: no measurement here can part them."""
    found = told(trials_of(level(**truth)), level())
    assert sorted(kinds(found), key=list(InfluenceKind).index) == leading


def test_it_is_not_always_friction(level: Level) -> None:
    truth = level(pulley="{kind: pulley, mass: 20 g, radius: 25 mm}")
    found = told(trials_of(truth), level())
    assert speaks(found, InfluenceKind.FRICTION) == {
        EvidenceKind.SIGN: Speaks.FOR,
        EvidenceKind.SIZE: Speaks.FOR,
        EvidenceKind.PLACE: Speaks.AGAINST,
        EvidenceKind.COASTING: Speaks.AGAINST,
    }


def test_each_influence_says_how_much_of_it_would_be_needed(level: Level) -> None:
    """The truth has 0.014 where the model has 0.008; a tilt of the same effect is 0.006 rad."""
    found = told(trials_of(level(friction="0.014"), noise=0.0), level())
    needed = {each.influence.kind: each.needed for each in found.suspects}
    assert needed[InfluenceKind.FRICTION] == pytest.approx(0.006, rel=1e-6)
    assert needed[InfluenceKind.TILT] == pytest.approx(0.006, rel=1e-3)
    assert needed[InfluenceKind.STRING] is None


def test_what_a_given_is_too_well_known_for_speaks_against_an_influence(level: Level) -> None:
    """A tilt of 0.006 rad is needed where the slope is known to 0.05° = 0.000873 rad: 6.88 times.
    A slope given without ± says nothing of itself.
    """
    analysis = trials_of(level(friction="0.014"), noise=0.0)
    found = told(analysis, level(slope="0 deg ± 0.05 deg"))
    (tilt,) = [s for s in found.suspects if s.influence.kind is InfluenceKind.TILT]
    (given,) = [each for each in tilt.evidence if each.kind is EvidenceKind.GIVEN]
    assert given.speaks is Speaks.AGAINST
    assert given.times == pytest.approx(6.88, rel=1e-3)
    assert InfluenceKind.TILT not in kinds(found)
    assert EvidenceKind.GIVEN not in speaks(told(analysis, level()), InfluenceKind.TILT)


def test_what_is_counted_in_an_energy_that_is_missing_is_told(level: Level) -> None:
    """An uncertain slope comes into the energy of the whole, a scale only where it is known."""
    model, tilted = level(**EXACT), level(**{**EXACT, "slope": "0 deg ± 0.05 deg"})
    for given, sensors, counted in (
        (model, Sensors(), ("scatter",)),
        (tilted, Sensors(), ("scatter", "track.slope")),
        (model, Sensors(position_scale=0.01), ("scatter", "scale of positions")),
    ):
        found = told(trials_of(model), given, sensors).balance
        assert found is not None
        assert found.counted == counted
        assert len(found.trials) == 10


def test_too_fast_a_run_is_no_friction(level: Level) -> None:
    """Friction can only be taken away as far as there is some; wheels and pulleys never help."""
    found = told(trials_of(level(slope="-0.8 deg")), level())
    for kind in (InfluenceKind.FRICTION, InfluenceKind.WHEELS, InfluenceKind.PULLEY_INERTIA):
        assert speaks(found, kind)[EvidenceKind.SIGN] is Speaks.AGAINST
    assert InfluenceKind.FRICTION not in kinds(found)


def test_evidence_of_place_hangs_on_the_zero_while_it_is_unknown(level: Level) -> None:
    analysis = trials_of(level(friction="0.014"), only=(*MOTION, *FORCE))
    found = told(analysis, level())
    place = [each for s in found.suspects for each in s.evidence if each.kind is EvidenceKind.PLACE]
    assert all(each.if_zero_is_right for each in place)


def test_energy_gained_at_the_cart_speaks_against_what_would_take_it_there(level: Level) -> None:
    """A pulley takes energy and the force reads 0.05 N too little: T d − K is then negative."""
    truth = level(pulley="{kind: pulley, mass: 20 g, radius: 25 mm}")
    off = {"mean_tension": -0.05, "work_of_tension": -0.03}
    found = told(trials_of(truth, off=off, only=(*MOTION, *FORCE)), level())
    assert speaks(found, InfluenceKind.FRICTION)[EvidenceKind.PLACE] is Speaks.AGAINST
    assert speaks(found, InfluenceKind.PULLEY_INERTIA)[EvidenceKind.PLACE] is Speaks.FOR


def test_a_known_zero_offset_does_not_put_energy_in_the_wrong_place(level: Level) -> None:
    truth = level(pulley="{kind: pulley, mass: 20 g, radius: 25 mm}")
    off = {"mean_tension": 0.05, "work_of_tension": 0.03, "force_held": 0.05, "force_slack": 0.05}
    found = told(trials_of(truth, off=off), level())
    assert kinds(found) == [InfluenceKind.PULLEY_INERTIA]


# ---- whether the values fit together


def test_a_slope_that_does_not_fit_speed_and_distance_is_noticed(level: Level) -> None:
    model = level()
    sound = told(trials_of(model), model).consistency
    cut = told(trials_of(model, off={"acceleration": -0.1}), model).consistency
    for found, verdict in ((sound, Verdict.AGREE), (cut, Verdict.DIFFER)):
        assert found.slope_and_speed is not None
        assert found.time_and_speed is not None
        assert verdict_on(found.slope_and_speed) is verdict
        assert verdict_on(found.time_and_speed) is Verdict.AGREE
    assert cut.slope_and_speed.value == pytest.approx(sound.slope_and_speed.value - 0.1)


def test_trials_with_the_acceleration_alone_still_have_suspects(level: Level) -> None:
    found = told(trials_of(level(friction="0.014"), only=("acceleration",)), level())
    assert "friction" not in found.estimates
    assert InfluenceKind.FRICTION in kinds(found)


def test_an_acceleration_stands_in_for_a_speed_that_was_not_measured(level: Level) -> None:
    """By hand: v² = 2 a d, so m2 g d − ½ (m1 + m2) v² = (m2 g − (m1 + m2) a) d, which is what
    friction of 0.008 takes, and without a tension friction is at most that.
    """
    model = level()
    found = told(trials_of(model, noise=0.0, only=("acceleration",)), model)
    assert found.balance is not None
    assert found.balance.pulled is None
    assert found.balance.everything.value == pytest.approx(0.008 * M * G * D, rel=1e-9)
    assert found.estimates["friction_at_most"].value == pytest.approx(0.008, rel=1e-9)
    assert found.consistency.slope_and_speed is None


def test_a_tension_below_mass_times_acceleration_is_impossible(level: Level) -> None:
    """Typed in: a = 1.503 m/s² and T = 0.60 N, though 0.420 kg × 1.503 m/s² = 0.631 N."""
    off = {"mean_tension": 0.60 - 0.6643}
    found = told(trials_of(level(), off=off, only=("acceleration", "mean_tension")), level())
    first = found.impossible[0]
    assert (first.kind, first.verdict) == (Impossible.TENSION_TOO_SMALL, Verdict.DIFFER)
    assert first.value.value == pytest.approx(0.60 - 0.420 * 1.503, abs=0.003)


def test_trials_without_any_motion_have_no_account(level: Level) -> None:
    found = told(trials_of(level(), only=("mean_tension",)), level())
    assert (found.balance, found.alone, found.separation) == (None, {}, None)


def test_the_uncertainty_of_the_prediction_counts(level: Level) -> None:
    """With friction known to ± 0.004 a truth of 0.012 is no gap that calls for a reason."""
    model = level(friction="0.008 ± 0.004")
    predicted = predict(model, STANDARD, seed=1).estimates
    case = Case(scenario=model, gravity=STANDARD)
    found = account_of_discrepancy(trials_of(level(friction="0.012")), predicted, case)
    assert found.gap is not None
    assert found.gap.verdict is Verdict.AGREE
    assert found.leading == ()
    assert near(found.estimates.get("friction"), 0.012)
