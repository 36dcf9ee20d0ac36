"""The account of the discrepancy: hidden causes put into the truth come out of the trials."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from fallwork.measurement.comparison import Verdict, verdict_on
from fallwork.measurement.discrepancy import Discrepancy, Impossible, account_of_discrepancy
from fallwork.measurement.influences import InfluenceKind
from fallwork.measurement.inputs import Case
from fallwork.measurement.model import Estimate, Outcome
from fallwork.measurement.prediction import predict
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.statistics import coverage_factor
from fallwork.measurement.suspects import EvidenceKind, Speaks
from fallwork.scenario import Scenario
from measurement.kit import STANDARD, trials_of, truth_of

Level = Callable[..., Scenario]
Told = Callable[..., Discrepancy]
Numbers = Mapping[str, str]
RUN = ("acceleration", "final_speed", "distance", "travel_time")
FORCE = (*RUN, "mean_tension", "work_of_tension")
G, M, W, D = 9.80665, 0.420, 0.080, 0.600
DISC = {"pulley": "{kind: pulley, mass: 20 g, radius: 25 mm}"}  # I/r² = 10 g
A = (W - 0.008 * M) * G / 0.510  # m/s², with that disc
LOST = 0.008 * M * G * D  # J, to friction
DOWN = {"slope": "-0.8 deg"}  # m g sin 0.8° = 0.0575 N, more than friction's 0.0330 N takes
PULLS = {"mean_tension": 1.0, "work_of_tension": D}
FRICTION, TILT, UNWEIGHED, PULLEY = (
    InfluenceKind.FRICTION,
    InfluenceKind.TILT,
    InfluenceKind.UNWEIGHED,
    InfluenceKind.PULLEY_INERTIA,
)


def zero(newtons: float, *, held: bool = True) -> dict[str, float]:
    """What a zero of the force sensor that is so much off adds."""
    all_ = PULLS | ({"force_held": 1.0, "force_slack": 1.0} if held else {})
    return {name: newtons * each for name, each in all_.items()}


@pytest.fixture
def told(level: Level) -> Told:
    """The account of trials of a truth by another model, both given by what isn't usual."""

    def found(
        truth: Numbers | None = None,
        model: Numbers | None = None,
        sensors: Sensors | None = None,
        **trials: Any,
    ) -> Discrepancy:
        analysis, given = trials_of(level(**(truth or {})), **trials), level(**(model or {}))
        expected = {n: Estimate(value=v, u=0.0) for n, v in truth_of(given).items()}
        case = Case(scenario=given, gravity=STANDARD, sensors=sensors or Sensors())
        return account_of_discrepancy(analysis, expected, case)

    return found


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


@pytest.mark.parametrize(
    ("truth", "bare", "beside"),
    [({}, (LOST, LOST, 0.0), (0.0, 0.0, 0.0)), (DISC, (LOST, None, 0.010 * A * D), (0.0,))],
    ids=["friction", "disc"],
)
def test_losses_of_a_perfect_measurement(
    told: Told, truth: Numbers, bare: tuple[float | None, ...], beside: tuple[float, ...]
) -> None:
    """By hand: friction takes µ m g d at the cart and the pulley nothing; a disc ½ 0.010 v²."""
    balance = told(truth, noise=0.0).balance
    assert balance is not None
    assert list(balance.bare) == ["pulled", "everything", "elsewhere"]
    for values, expected in ((balance.bare, bare), (balance.beside, beside)):
        for each, value in zip(values.values(), expected, strict=False):
            assert value is None or each.value == pytest.approx(value, rel=1e-9, abs=1e-12)


def test_one_cause_alone_is_what_is_missing_in_its_place(told: Told) -> None:
    """By hand: a 20 g disc is 10 g at the rim; as a bearing it would brake with 0.010 kg × a, and
    a force sensor that reads so much too low would hide it. At the cart only friction is missing.
    """
    alone = {key: each.value for key, each in told(DISC, noise=0.0).alone.items()}
    assert alone == pytest.approx(
        {
            "friction": 0.008,
            "hidden_mass": 0.0,
            "pulley_mass": 0.010,
            "pulley_force": 0.010 * A,
            "force_zero": -0.010 * A,
        },
        rel=1e-6,
        abs=1e-9,
    )


def test_what_is_counted_in_an_energy_that_is_missing_is_told(told: Told) -> None:
    """An uncertain slope comes into the energy of the whole, a scale only where it is known."""
    exact = {"cart": "420 g", "weight": "80 g", "distance": "0.6 m"}
    for given, sensors, counted in (
        ({}, Sensors(), ("scatter",)),
        ({"slope": "0 deg ± 0.05 deg"}, Sensors(), ("scatter", "track.slope")),
        ({}, Sensors(position_scale=0.01), ("scatter", "scale of positions")),
    ):
        found = told(exact, exact | given, sensors).balance
        assert found is not None
        assert (found.counted, len(found.trials)) == (counted, 10)


# ---- what the resistances are


@pytest.mark.parametrize(
    ("truth", "model", "trials", "zero_u", "expected", "without_inertia"),
    [
        (  # friction, pulley and zero together
            {"friction": "0.012", "pulley": "{kind: pulley, mass: 16 g, radius: 25 mm}"},
            {},
            {"off": zero(0.02)},
            0.0,
            {"friction": 0.012, "pulley_mass": 0.008, "force_zero": 0.020, "hidden_mass": 0.0},
            True,
        ),
        # mass that wasn't weighed, by coasting; friction of 440 g is laid on 420 g
        (
            {"cart": "440 g"},
            {},
            {},
            0.0,
            {"hidden_mass": 0.020, "friction": 0.008 * 44 / 42},
            False,
        ),
        # downhill a cart speeds up after landing; that is no friction
        (
            *({"slope": "-0.6 deg"}, {"slope": "-0.6 deg"}, {}, 0.0),
            *({"friction": 0.008, "hidden_mass": 0.0}, True),
        ),
        # without coasting or a known zero friction can't be told
        (
            *({}, {}, {"only": FORCE}, 0.0),
            *({"friction_at_most": 0.008, "friction": None, "force_zero": None}, True),
        ),
        # a known zero tells them apart: T d − K is friction's, the rest the pulley's
        (DISC, {}, {"only": FORCE}, 0.0005, {"friction": 0.008, "pulley_mass": 0.010}, True),
    ],
    ids=["all", "mass", "slope", "too little", "known zero"],
)
def test_hidden_causes_are_recovered(
    told: Told,
    truth: Numbers,
    model: Numbers,
    trials: Mapping[str, Any],
    zero_u: float,
    expected: Mapping[str, float | None],
    without_inertia: bool,
) -> None:
    found = told(truth, model, Sensors(force_zero=zero_u), **trials)
    assert (found.plain is not None) == without_inertia
    for cause, value in expected.items():
        assert (value is None) == (cause not in found.estimates), cause
        assert value is None or near(found.estimates[cause], value), cause


def test_the_zero_has_its_share_in_the_uncertainty_of_friction(told: Told) -> None:
    """By hand: 0.002 N over m g = 4.1188 N is 0.00049, far more than the scatter gives."""
    found = told(sensors=Sensors(force_zero=0.002), only=FORCE, noise=0.01)
    assert found.estimates["friction"].u == pytest.approx(0.002 / (M * G), rel=0.01)


# ---- what is impossible


@pytest.mark.parametrize(
    ("truth", "trials", "expected", "value", "check"),
    [
        (  # 0.06 N too little: T is then less than m a = 0.631 N, by 0.027 N
            *({}, {"only": FORCE, "off": zero(-0.06, held=False)}),
            *({Impossible.TENSION_TOO_SMALL}, 0.008 * M * G - 0.06, "zero of the force sensor"),
        ),
        (  # typed in: a = 1.503 m/s² and T = 0.60 N, though 0.420 kg × 1.503 m/s² = 0.631 N
            {},
            {"only": ("acceleration", "mean_tension"), "off": {"mean_tension": 0.60 - 0.6643}},
            *({Impossible.TENSION_TOO_SMALL}, 0.60 - 0.420 * 1.503, "zero of the force sensor"),
        ),
        (
            *({}, {"only": FORCE, "off": zero(0.03, held=False)}),
            *({Impossible.TENSION_TOO_LARGE}, -0.03, "calibration of the force sensor"),
        ),
        (
            *(DOWN, {"only": RUN}, {Impossible.ENERGY_GAINED}),
            *((0.0330 - 0.0575) * D, "level of the track"),
        ),
        (
            *(DOWN, {}, {Impossible.SPEEDS_UP_COASTING, Impossible.NEGATIVE_FRICTION}),
            *(None, "level of the track"),
        ),
    ],
    ids=["too small", "typed", "too large", "gained", "coasting"],
)
def test_what_no_resistance_can_give_is_told(
    told: Told,
    truth: Numbers,
    trials: Mapping[str, Any],
    expected: set[Impossible],
    value: float | None,
    check: str,
) -> None:
    found = told(truth, **trials)
    sure = [each for each in found.impossible if each.verdict is Verdict.DIFFER]
    assert expected <= {each.kind for each in sure}
    first = next(each for each in sure if each.kind in expected)
    assert check in first.checks
    if value is not None:
        assert found.impossible[0] == first
        assert first.value.value == pytest.approx(value, abs=0.003)


def test_what_the_uncertainty_may_have_done_is_not_significant(told: Told) -> None:
    """Without friction every loss is zero: about half of them come out negative by chance."""
    none = {"friction": "0"}
    found = [v for seed in range(10) for v in told(none, none, seed=seed, only=FORCE).impossible]
    assert 5 <= len(found) <= 25
    assert sum(value.verdict is Verdict.DIFFER for value in found) <= 3


# ---- which influence


def test_a_sound_measurement_shows_nothing_impossible_and_blames_nothing(told: Told) -> None:
    found = told()
    assert (found.impossible, found.leading) == ((), ())
    assert len(found.suspects) == 8
    assert all(suspect.evidence == () and suspect.needed is None for suspect in found.suspects)


@pytest.mark.parametrize(
    ("truth", "trials", "leading"),
    [
        ({"friction": "0.014"}, {}, [FRICTION, TILT]),
        ({"slope": "0.25 deg"}, {}, [FRICTION, TILT]),
        (DISC, {}, [PULLEY]),
        (DISC, {"off": zero(0.05)}, [PULLEY]),  # a zero that is known to be off
        ({"cart": "440 g"}, {}, [UNWEIGHED]),
    ],
    ids=["friction", "tilt", "pulley", "pulley and zero", "mass"],
)
def test_the_cause_leads_and_what_looks_the_same_stands_beside_it(
    told: Told, truth: Numbers, trials: Mapping[str, Any], leading: list[InfluenceKind]
) -> None:
    """Friction and tilt look the same in a run one way: no measurement here can part them."""
    assert sorted(kinds(told(truth, **trials)), key=list(InfluenceKind).index) == leading


def test_evidence_is_told_piece_by_piece(told: Told) -> None:
    """It isn't always friction. Too fast a run is none: friction can only be taken away as far as
    there is some, and wheels and pulleys never help. Where the force reads 0.05 N too little,
    T d − K is negative, which speaks against what would take energy there.
    """
    assert speaks(told(DISC), FRICTION) == {
        EvidenceKind.SIGN: Speaks.FOR,
        EvidenceKind.SIZE: Speaks.FOR,
        EvidenceKind.PLACE: Speaks.AGAINST,
        EvidenceKind.COASTING: Speaks.AGAINST,
    }
    fast = told(DOWN)
    for kind in (FRICTION, InfluenceKind.WHEELS, PULLEY):
        assert speaks(fast, kind)[EvidenceKind.SIGN] is Speaks.AGAINST
    assert FRICTION not in kinds(fast)
    found = told(DISC, only=FORCE, off=zero(-0.05, held=False))
    assert speaks(found, FRICTION)[EvidenceKind.PLACE] is Speaks.AGAINST
    assert speaks(found, PULLEY)[EvidenceKind.PLACE] is Speaks.FOR


def test_each_influence_says_how_much_of_it_would_be_needed(told: Told) -> None:
    """The truth has 0.014 where the model has 0.008; a tilt of the same effect is 0.006 rad."""
    found = told({"friction": "0.014"}, noise=0.0)
    needed = {each.influence.kind: each.needed for each in found.suspects}
    assert needed[FRICTION] == pytest.approx(0.006, rel=1e-6)
    assert needed[TILT] == pytest.approx(0.006, rel=1e-3)
    assert needed[InfluenceKind.STRING] is None


def test_what_a_given_is_too_well_known_for_speaks_against_an_influence(told: Told) -> None:
    """A tilt of 0.006 rad is needed where the slope is known to 0.05° = 0.000873 rad: 6.88 times.
    A slope given without ± says nothing of itself.
    """
    rough = {"friction": "0.014"}
    found = told(rough, {"slope": "0 deg ± 0.05 deg"}, noise=0.0)
    (tilt,) = [s for s in found.suspects if s.influence.kind is TILT]
    (given,) = [each for each in tilt.evidence if each.kind is EvidenceKind.GIVEN]
    assert given.speaks is Speaks.AGAINST
    assert given.times == pytest.approx(6.88, rel=1e-3)
    assert TILT not in kinds(found)
    assert EvidenceKind.GIVEN not in speaks(told(rough, noise=0.0), TILT)


def test_evidence_of_place_hangs_on_the_zero_while_it_is_unknown(told: Told) -> None:
    found = told({"friction": "0.014"}, only=FORCE)
    place = [each for s in found.suspects for each in s.evidence if each.kind is EvidenceKind.PLACE]
    assert place
    assert all(each.if_zero_is_right for each in place)


def test_the_uncertainty_of_the_prediction_counts(level: Level) -> None:
    """With friction known to ± 0.004 a truth of 0.012 is no gap that calls for a reason."""
    model = level(friction="0.008 ± 0.004")
    predicted = predict(model, STANDARD, seed=1).estimates
    case = Case(scenario=model, gravity=STANDARD)
    found = account_of_discrepancy(trials_of(level(friction="0.012")), predicted, case)
    assert found.gap is not None
    assert (found.gap.verdict, found.leading) == (Verdict.AGREE, ())
    assert near(found.estimates.get("friction"), 0.012)


# ---- what wasn't measured, and what doesn't fit together


def test_a_slope_that_does_not_fit_speed_and_distance_is_noticed(told: Told) -> None:
    sound, cut = (told(off={"acceleration": by}).slope_and_speed for by in (0.0, -0.1))
    assert sound is not None
    assert cut is not None
    assert (verdict_on(sound), verdict_on(cut)) == (Verdict.AGREE, Verdict.DIFFER)
    assert cut.value == pytest.approx(sound.value - 0.1)


def test_an_acceleration_stands_in_for_a_speed_that_was_not_measured(told: Told) -> None:
    """By hand: v² = 2 a d, so m2 g d − ½ (m1 + m2) v² = (m2 g − (m1 + m2) a) d, which is what
    friction of 0.008 takes, and without a tension friction is at most that.
    """
    found = told(noise=0.0, only=("acceleration",))
    assert found.balance is not None
    assert {place: each.value for place, each in found.balance.bare.items()} == pytest.approx(
        {"everything": LOST}, rel=1e-9
    )
    assert found.estimates["friction_at_most"].value == pytest.approx(0.008, rel=1e-9)
    assert found.slope_and_speed is None


def test_trials_without_any_motion_have_no_account(told: Told) -> None:
    found = told(only=("mean_tension",))
    assert (found.balance, found.alone, found.separation) == (None, {}, None)
