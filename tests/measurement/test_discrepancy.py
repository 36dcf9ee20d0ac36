"""Hidden causes in the truth come out of the trials; what neglected influences do."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from math import radians, sin
from typing import Any

import pytest

from cases import cases
from fallwork.measurement.discrepancy import Discrepancy, account_of_discrepancy
from fallwork.measurement.influences import Influence, InfluenceKind, influences_of, with_string
from fallwork.measurement.model import Analysis, Estimate, Outcome
from fallwork.measurement.prediction import Case, View, predict, view_of
from fallwork.measurement.statistics import Verdict, coverage_factor
from fallwork.measurement.summaries import Sensors, summary_given
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import Scenario
from measurement.kit import STANDARD, trials_of, truth_of
from mechanics.kit import level_track, rig

Level = Callable[..., Scenario]
CASES = cases(__file__, "discrepancy")
DISC = "{kind: pulley, mass: 20 g, radius: 25 mm}"
NUMBERS = {"G": 9.80665, "M": 0.420, "W": 0.080, "D": 0.600}
NUMBERS["A"] = (0.080 - 0.008 * 0.420) * 9.80665 / 0.510
RUN = ("acceleration", "final_speed", "distance", "travel_time")
ONLY = {"run": RUN, "force": (*RUN, "mean_tension", "work_of_tension")}
PULLS = {"mean_tension": 1.0, "work_of_tension": 0.600}
FORCES = {**PULLS, "force_held": 1.0, "force_slack": 1.0}
Kind = InfluenceKind
G, M, W, MU = 9.80665, 0.420, 0.080, 0.008
TILTED = M * G * sin(radians(0.1))  # N


def number(given: float | str) -> float:
    """A number, or an expression of some."""
    return float(eval(given, dict(NUMBERS)) if isinstance(given, str) else given)


def account(level: Level, case: Mapping[str, Any]) -> Discrepancy:
    truth, model = (
        {k: DISC if v == "DISC" else v for k, v in case.get(w, {}).items()}
        for w in ("truth", "model")
    )
    off = {name: number(value) for name, value in case.get("shifts", {}).items()}
    for key, forces in (("zero", FORCES), ("pulls", PULLS)):
        off |= {name: each * case[key] for name, each in forces.items() if key in case}
    only = case.get("only", ())
    only = ONLY[only] if isinstance(only, str) else only
    luck = {key: case[key] for key in ("noise", "seed") if key in case}
    analysis, given = trials_of(level(**truth), only=only, off=off, **luck), level(**model)
    expected = {name: Estimate(value=value, u=0.0) for name, value in truth_of(given).items()}
    if "predicted" in case:
        expected = predict(given, STANDARD, seed=1).estimates
    sensors = Sensors(**case.get("sensors", {}))
    known = Case(scenario=given, gravity=STANDARD, sensors=sensors)
    return account_of_discrepancy(analysis, expected, known)


@pytest.mark.parametrize("name", CASES)
def test_what_is_hidden_in_the_trials_is_told(level, name):
    case, found = CASES[name], account(level, CASES[name])
    balance, suspects = found.balance, {s.influence.kind.value: s for s in found.suspects}
    sure = {k: each for k, each in found.impossible.items() if each.verdict is Verdict.DIFFER}
    for key in {"bare", "beside"} & case.keys():
        places = {place: each.value for place, each in getattr(balance, key).items()}
        expected = {place: number(each) for place, each in case[key].items()}
        assert places == pytest.approx(expected, rel=1e-9, abs=1e-12)
    if "alone" in case:
        alone = {cause: number(each) for cause, each in case["alone"].items()}
        values = {cause: each.value for cause, each in found.alone.items()}
        assert values == pytest.approx(alone, rel=1e-6, abs=1e-9)
    fits = [each.settled for each in (found.separation, found.plain) if each]
    settled = {unknown.name: each for fit in fits for unknown, each in fit.items()}
    for key, values in (("estimates", found.estimates), ("settled", settled)):
        for cause, value in case.get(key, {}).items():
            assert (value is None) == (cause not in values), cause
            if value is not None:  # within k × u, or 3 u where that is more
                each = values[cause]
                limit = max(coverage_factor(each.dof), 3) * (each.u or 1e-9)
                assert abs(each.value - number(value)) <= limit, cause
    for kind, pieces in case.get("evidence", {}).items():
        assert pieces.items() <= suspects[kind].evidence.items(), kind
    for kind, value in case.get("needed", {}).items():
        assert suspects[kind].needed == (None if value is None else pytest.approx(value, rel=0.01))
    told = {
        "plain": found.plain is not None,
        "impossible": [kind.value for kind in sure],
        "leading": [each.influence.kind.value for each in found.leading],
        "counted": list(balance.counted) if balance else [],
    }
    assert {k: v for k, v in told.items() if k in case} == {k: case[k] for k in told if k in case}
    if "value" in case:
        (kind, value), *_ = sure.items()
        assert case["check"] in kind.checks
        assert value.value == pytest.approx(number(case["value"]), abs=0.003)
    if "times" in case:
        times = [each.times for each in found.suspects if each.times]
        assert times == [pytest.approx(case["times"], rel=1e-2)]


def test_without_a_gap_nothing_is_weighed_and_without_motion_there_is_no_account(level):
    suspects = account(level, {}).suspects
    assert [(suspect.evidence, suspect.needed) for suspect in suspects] == [({}, None)] * 8
    found = account(level, {"only": ["mean_tension"]})
    assert (found.balance, found.alone, found.separation) == (None, {}, None)


def test_a_zero_that_is_unknown_or_known_has_its_share(level):
    # By hand: 0.002 N over m g = 4.1188 N is 0.00049, far more than the scatter gives.
    found = account(level, {"sensors": {"force_zero": 0.002}, "only": "force", "noise": 0.01})
    assert found.estimates["friction"].u == pytest.approx(0.002 / (0.420 * 9.80665), rel=0.01)
    found = account(level, {"truth": {"friction": "0.014"}, "only": "force"})
    assert {each.zero_known for each in found.suspects if "place" in each.evidence} == {False}
    truth, typed = truth_of(level()), ("acceleration", "mean_tension")
    means = {q: Outcome(value=truth[q], u=None, step=0.001) for q in typed}
    analysis = Analysis(trials=(), summary={q: summary_given(m, 5) for q, m in means.items()})
    case = Case(scenario=level(), gravity=STANDARD, sensors=Sensors(force_zero=0.002))
    assert account_of_discrepancy(analysis, {}, case).separation is None


def test_slopes_that_do_not_fit_are_noticed_and_chance_is_not_significant(level):
    cases = ({"shifts": {"acceleration": by}} for by in (0.0, -0.1))
    sound, cut = (account(level, case).slope_and_speed for case in cases)
    assert sound
    assert cut
    assert (sound.verdict, cut.verdict) == (Verdict.AGREE, Verdict.DIFFER)
    assert cut.value == pytest.approx(sound.value - 0.1)
    # Without friction every loss is zero: about half of them come out negative by chance.
    none = {"truth": {"friction": "0"}, "model": {"friction": "0"}, "only": "force"}
    seeds = [account(level, {**none, "seed": seed}).impossible for seed in range(10)]
    found = [each for one in seeds for each in one.values()]
    assert 5 <= len(found) <= 25
    assert sum(each.verdict is Verdict.DIFFER for each in found) <= 3


# ---- what an influence does
CHANGED = {  # acceleration of the level track; a tilt changes µN by 1 − cos 0.1° only
    Kind.FRICTION: (W - (MU + 0.002) * M) * G / (M + W),
    Kind.TILT: ((W - MU * M) * G - TILTED) / (M + W),
    Kind.WHEELS: (W - MU * M) * G / (M + W + 4 * 0.006 / 2),
    Kind.UNWEIGHED: (W - MU * (M + 0.010)) * G / (M + W + 0.010),
    Kind.PULLEY_INERTIA: (W - MU * M) * G / (M + W + 0.005 / 2),
    Kind.PULLEY_BEARING: ((W - MU * M) * G - 0.002) / (M + W),
    Kind.GRAVITY: (W - MU * M) * (G + 0.01) / (M + W),
}


def effects(scenario: Scenario) -> dict[Kind, Influence]:
    found = influences_of(apparatus_of(scenario, G), view_of(scenario))
    return {each.kind: each for each in found}


def test_what_each_does_to_acceleration_and_tension_and_while_coasting(level):
    """By T = w (g − a) and T = m a + µ m g; only what rubs or tilts shows while coasting."""
    found = effects(level())
    plain = (W - MU * M) * G / (M + W)
    for kind, changed in CHANGED.items():
        assert found[kind].effects["acceleration"] == pytest.approx(changed - plain, rel=1e-4), kind
    for kind, mass in ((Kind.FRICTION, -W), (Kind.PULLEY_INERTIA, M)):
        each = found[kind].effects
        assert each["mean_tension"] == pytest.approx(mass * each["acceleration"])
    shown = {Kind.FRICTION: -0.002 * G, Kind.TILT: -TILTED / M}
    for kind in found.keys() - {Kind.GRAVITY, Kind.WHEELS}:
        told = found[kind].effects["coasting_acceleration"]
        assert told == pytest.approx(shown.get(kind, 0.0), rel=1e-4, abs=1e-12)
    assert [kind.place for kind in (Kind.TILT, Kind.GRAVITY)] == ["pulled", "elsewhere"]
    assert [found[kind].least for kind in (Kind.FRICTION, Kind.WHEELS)] == [-MU, 0.0]


def test_string_mass_against_the_exact_motion():
    """Of a string of 0.02 kg and 2 m 0.2 m hang before and 1.2 m after 1 m of fall, on average
    0.7 m or 0.007 kg: v = 1.83980324158 m/s (closed form with cosh, confirmed by integration).
    """
    plain = level_track(0.5, 0.1, distance=1.0)
    pulley = replace(plain.pulleys["pulley"], radius=0.02)
    heavy, turning = with_string(plain.bodies["weight"], pulley, 0.02, pulls=0.007, whole=0.020)
    bodies = {**plain.bodies, "weight": heavy}
    loaded = replace(plain, bodies=bodies, pulleys={"pulley": turning})
    speed = solve(loaded).phases[0].end_velocities["cart"]
    assert speed == pytest.approx(1.83980324158, rel=1e-11)


@pytest.mark.parametrize("slope", ["0 deg", "4 deg"])
def test_the_sensor_does_not_see_what_the_string_needs(level, slope):
    """The sensor sits between cart and string, so it reads what the cart needs with the new a."""
    string = effects(level(slope=slope))[Kind.STRING].effects
    assert string["mean_tension"] == pytest.approx(M * string["acceleration"], rel=1e-9)


def test_no_influence_is_neglected_that_is_there_and_a_tilt_counts_against_the_motion(level):
    wheels = "420.0 g ± 0.1 g, wheels: {count: 4, mass: 6 g}"
    scenario = level(cart=wheels, pulley="{kind: pulley, mass: 20 g, radius: 25 mm}")
    assert not {Kind.WHEELS, Kind.PULLEY_INERTIA} & effects(scenario).keys()
    # Pulled backwards, a cart is slowed down by a back that is higher.
    backwards = rig(
        *(f"cart cart {M} friction={MU}", f"hanging weight {W}", "fixed pulley", "track track"),
        string="weight pulley cart",
        run="weight distance=0.6",
    )
    found = influences_of(backwards, View(moving="cart", string="string", pulled="cart"))
    (tilt,) = [each for each in found if each.kind is Kind.TILT]
    assert tilt.effects["acceleration"] == pytest.approx(-TILTED / 0.5, rel=1e-4)
