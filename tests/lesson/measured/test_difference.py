"""The account of the difference: planted causes, and what the page says of them."""

import re
from collections.abc import Mapping
from dataclasses import replace

import pytest

from fallwork.lesson.measured import Evidence
from fallwork.measurement import Analysis, Estimate, Sensors, summaries
from fallwork.measurement.separation import Unknown
from fallwork.scenario import Pulley, Quantity
from lesson.measured import kit
from lesson.measured.kit import judged, level, prose, solution, step, tables, trials

FORCES = ("mean_tension", "work_of_tension", "mean_tension_over_time", "force_held")
FRICTION = "More friction at the cart than the model has"
QUIET = (("track.friction", "0.008 ± 0.0002"), ("track.slope", "0 deg ± 0.005 deg"))


def account(*truth: tuple[str, str], **more: object) -> Evidence:
    """Trials in which ``truth`` holds, against the usual model."""
    return judged(level(*QUIET), trials(*QUIET, *truth, seed=11), **more)  # type: ignore[arg-type]


def heavy_pulley() -> Evidence:
    """Trials over a pulley whose inertia the model leaves out."""
    scenario = level(*QUIET)
    pulley = scenario.objects["pulley"]
    assert isinstance(pulley, Pulley)
    heavy = replace(
        pulley,
        mass=Quantity(kind="mass", value=0.020, number="20", unit="g"),
        radius=Quantity(kind="length", value=0.025, number="25", unit="mm"),
    )
    truth = replace(scenario, objects={**scenario.objects, "pulley": heavy})
    return judged(scenario, kit.trials_of(truth, seed=11))


def said(evidence: Evidence, name: str) -> str:
    return prose(step(solution(level(*QUIET), evidence), name))


def test_a_heavy_pulley_shows_away_from_the_cart() -> None:
    """20 g as a disc: 10 g at the rim, of which ½ × 0.010 kg × v² ≈ 0.0089 J are missing."""
    evidence = heavy_pulley()
    words = said(evidence, "discrepancy")
    missing = re.search(r"Away from the cart ([\d.]+) J ± [\d.]+ J are missing", words)
    assert missing is not None
    assert float(missing[1]) == pytest.approx(0.0087, abs=0.0025)
    assert "At the cart the energy that is missing is what the friction of the model takes" in words


def test_the_pulley_s_share_is_a_difference_of_two_accounts() -> None:
    shown = {s.id: s.value for s in solution(level(*QUIET), heavy_pulley()).symbols}
    whole, cart, rest = (shown[f"measured.missing.{key}"] for key in ("all", "pulled", "rest"))
    assert rest == pytest.approx(whole - cart)  # type: ignore[operator]


def test_more_friction_shows_at_the_cart() -> None:
    words = said(account(("track.friction", "0.020")), "discrepancy")
    assert re.search(r"At the cart more energy went than .* takes, by 0\.0\d+ J", words)
    assert "Away from the cart no loss can be detected" in words


def test_each_influence_has_its_size_and_what_speaks_for_and_against() -> None:
    found = step(solution(level(*QUIET), heavy_pulley()), "influences")
    (rows,) = tables(found)
    assert rows[0][1:] == [
        *("Change of the acceleration in m/s²", "Change of the tension in N"),
        "Needed to explain the difference",
    ]
    assert "A pulley of 5.0 g, a uniform disc" in [row[0] for row in rows]
    told = dict(line.split(". For it: ") for line in prose(found).splitlines() if "For it:" in line)
    pulley, friction = told["The inertia of the pulley"], told[FRICTION]
    assert "energy is missing where it takes it" in pulley.split(". Against it: ")[0]
    assert "no energy is missing where it takes it" in friction.split(". Against it: ")[1]


def test_the_page_does_not_always_answer_friction() -> None:
    words = said(heavy_pulley(), "influences")
    leading = words.split("nothing against")[-1]
    assert "the inertia of the pulley" in leading
    assert "more friction at the cart" not in leading


def test_without_a_gap_nothing_asks_for_a_cause() -> None:
    """An influence is then told by how much of it would have been noticed."""
    agree = solution(level(), kit.usual())
    assert "by itself it asks for no cause" in prose(step(agree, "influences"))
    (rows,) = tables(step(agree, "influences"))
    assert rows[0][-1] == "Would just be noticed"
    # 0.1° of tilt: g × (m1/(m1 + m2)) × sin 0.1° = 9.80665 × 0.84 × 0.001745 = 0.0144 m/s².
    tilt = next(row for row in rows if row[0].startswith("The track tilted by 0.10°"))
    assert tilt[1] == "−0.014"


def test_what_the_influences_take_for_granted_is_said() -> None:
    words = prose(step(solution(level(), kit.usual()), "influences"))
    for assumed in ("Wheels are uniform discs", "The pulley is a uniform disc", "The string is"):
        assert assumed in words


def test_a_tension_that_is_too_small_is_named_as_such_with_what_to_look_at() -> None:
    """A force sensor that reads 7 % low at a cart whose friction is small."""
    analysis = trials(*QUIET, seed=11)
    low = tuple(
        replace(
            trial,
            estimates={
                name: replace(each, value=each.value * (0.93 if name in FORCES else 1.0))
                for name, each in trial.estimates.items()
            },
        )
        for trial in analysis.trials
    )
    evidence = judged(level(*QUIET), Analysis(trials=low, summary=summaries(low)))
    words = said(evidence, "impossible")
    assert "The mean tension is smaller than the cart needs for its acceleration" in words
    assert "on a level track that is its mass times its acceleration" in words
    assert re.search(r"The tension minus that is −0\.0\d+ N ± 0\.00\d+ N", words)
    assert "below zero by more than its limit at 95 %" in words
    assert "Look first at: the zero of the force sensor" in words


def test_what_can_t_be_told_apart_is_said_with_what_would_settle_it() -> None:
    kept = ("acceleration", "final_speed", "distance", "travel_time")
    bare = tuple(
        replace(t, estimates={name: t.estimates[name] for name in kept})
        for t in trials(*QUIET, seed=11).trials
    )
    evidence = judged(level(*QUIET), Analysis(trials=bare, summary=summaries(bare)))
    words = said(evidence, "told-apart")
    assert "Only sums of effects are determined." in words
    together = "friction at the cart (with any tilt), unaccounted-for inertia of the cart"
    assert f"Known only together: {together}" in words
    assert "also measure how the velocity changes while it coasts without a pull" in words


def test_the_budget_names_the_measurement_to_improve() -> None:
    """With 0.002 for the friction coefficient: 0.002 × 9.80665 × 0.84 = 0.0165 m/s² of 0.0178."""
    found = step(solution(level(), kit.usual()), "budget")
    (rows,) = tables(found)
    name = "Coefficient of friction of the track, 0.008 ± 0.002"
    friction = next(row for row in rows if row[0] == name)
    assert friction[1].startswith("0.016 (8")
    assert rows[0][1] == "Acceleration in m/s²"
    # Halving a share of 85 % or so: √(1 − 3/4 × 0.85) = 0.60 of the uncertainty is left.
    fall = re.search(r"would fall: acceleration from (\S+) m/s² to (\S+) m/s²", prose(found))
    assert fall is not None
    assert float(fall[2]) / float(fall[1]) == pytest.approx(0.60, abs=0.04)
    assert prose(found).count("the largest share comes from") == 1
    assert (
        "comes from the prediction: better known values would sharpen it more than further trials"
        in prose(found)
    )


def test_exact_givens_leave_no_budget() -> None:
    exact = [("cart.mass", "420 g"), ("weight.mass", "80 g"), ("run.distance", "0.6 m")]
    exact += [("track.friction", "0.008"), ("track.slope", "0 deg")]
    scenario = kit.without_uncertainty(level(*exact))
    found = step(solution(scenario, judged(scenario, trials())), "budget")
    assert "so the prediction counts as exact" in prose(found)


def test_a_known_zero_of_the_force_sensor_enters() -> None:
    evidence = account(sensors=Sensors(force_zero=0.002))
    (rows,) = tables(step(solution(level(*QUIET), evidence), "told-apart"))
    assert "The zero of the force sensor" in [row[0] for row in rows]


def numbers(rows: list[list[str]], column: int) -> dict[str, float]:
    """The values in a column of a table by the heads of its rows."""
    return {
        row[0]: float(row[column].split(" ")[0].replace("−", "-"))
        for row in rows[1:]
        if row[column]
    }


def test_one_cause_at_a_time_has_the_sign_and_size_of_what_is_missing_in_its_place() -> None:
    """By hand: what is missing over d as a force, over d a as a mass, over m g d as µ."""
    evidence = heavy_pulley()
    missing, causes = tables(step(solution(level(*QUIET), evidence), "discrepancy"))
    at, alone = numbers(missing, 1), numbers(causes, 1)
    means = {name: each.mean for name, each in evidence.analysis.summary.items()}
    d, a = means["distance"], means["final_speed"] ** 2 / means["distance"] / 2
    rest = at["Elsewhere: pulley, string, air"]
    bearing = "Friction in the bearing of the pulley, as a force at its rim"
    assert alone[bearing] == pytest.approx(rest / d, rel=0.02)
    rim = alone["Inertia of the pulley, as a mass at its rim"]
    assert rim == pytest.approx(1000 * rest / (d * a), rel=0.02)
    zero = alone["Zero of the force sensor, nothing lost elsewhere"]
    assert zero == pytest.approx(-rest / d, rel=0.02)
    friction = "Friction at the cart, as its coefficient (in the model 0.008 ± 0.0002)"
    assert alone[friction] == pytest.approx(at["At the cart"] / (0.420 * 9.80665 * d), rel=0.02)


def test_the_sources_of_its_uncertainty_are_named_and_no_others() -> None:
    words = said(account(), "discrepancy")
    assert (
        "After ± stands the standard uncertainty, from the scatter of the trials, the mass of the "
        "cart, the mass of the hanging mass, the slope of the track and the coefficient of "
        "friction of the track. Scales of sensors aren't in it, because nothing is "
        "known of them here."
    ) in words
    scaled = said(account(sensors=Sensors(position_scale=0.004, force_scale=0.01)), "discrepancy")
    assert (
        "the scatter of the trials, the scale of positions, the scale of forces, the mass" in scaled
    )
    assert "aren't in it" not in scaled


def test_two_accelerations_that_differ_say_by_how_much() -> None:
    found = trials(*QUIET, seed=11)
    off = tuple(
        replace(t, estimates={**t.estimates, "acceleration": Estimate(value=1.2, u=0.001)})
        for t in found.trials
    )
    analysis = replace(found, trials=off, summary=summaries(off))
    words = said(judged(level(*QUIET), analysis), "discrepancy")
    apart = re.search(r"the slope minus the other is −([\d.]+) m/s² ± ([\d.]+) m/s²", words)
    assert apart is not None
    speed, distance = (analysis.summary[q].mean for q in ("final_speed", "distance"))
    assert float(apart[1]) == pytest.approx(speed**2 / (2 * distance) - 1.2, abs=0.002)


def test_a_trial_that_lacks_a_value_is_named_where_means_are_over_the_others() -> None:
    found = trials(*QUIET, seed=11)
    first, *others = found.trials
    without = {q: each for q, each in first.estimates.items() if q != "work_of_tension"}
    some = (replace(first, estimates=without), *others)
    evidence = judged(level(*QUIET), replace(found, trials=some, summary=summaries(some)))
    lacks = f"{first.called} lacks a value that is needed"
    assert f"These are means over 9 trials: {lacks}." in said(evidence, "discrepancy")
    assert f"as means over 9 trials ({lacks}):" in said(evidence, "cart-alone-measured")
    assert "lacks" not in said(evidence, "all-moving-measured")  # which needs no force


def test_trials_on_one_side_of_an_energy_balance_are_explained_where_they_are_told() -> None:
    """Ten on one side: 2 × (1/2)¹⁰ is 1 in 512; no other step speaks of energies."""
    found = trials(("track.friction", "0.011 ± 0.002"))
    words = prose(step(solution(level(), judged(level(), found)), "cart-alone-measured"))
    assert "zero, which chance from trial to trial does only once in 512 cases." in words
    assert "Trial by trial" not in words


def test_a_loss_that_shows_only_altogether_is_said_to_have_no_place() -> None:
    """More than its limit altogether, less in each place: no sentence may deny the loss."""
    found = discrepancy_with(pulled=0.0009, elsewhere=0.0016, everything=0.0025, u=0.00104)
    words = prose(step(solution(level(*QUIET), found), "discrepancy"))
    assert "Altogether 0.0025 J ± 0.0010 J more are missing than the friction" in words
    assert "In which of the two places, these trials can't tell" in words


def discrepancy_with(*, pulled: float, elsewhere: float, everything: float, u: float) -> Evidence:
    """The usual trials with another balance put in beside the model's friction."""
    evidence = account()
    judgement = evidence.judgement
    assert judgement is not None
    assert judgement.discrepancy.balance is not None
    balance = replace(
        judgement.discrepancy.balance,
        pulled_beside=Estimate(value=pulled, u=u),
        elsewhere_beside=Estimate(value=elsewhere, u=u),
        everything_beside=Estimate(value=everything, u=u),
    )
    told = replace(judgement.discrepancy, balance=balance)
    return replace(evidence, judgement=replace(judgement, discrepancy=told))


def judged_with(evidence: Evidence, **settled: Mapping[Unknown, Estimate]) -> Evidence:
    """The evidence with other values in the columns of what is settled."""
    judgement = evidence.judgement
    assert judgement is not None
    columns = {
        name: replace(getattr(judgement.discrepancy, name), settled=values)
        for name, values in settled.items()
    }
    told = replace(judgement.discrepancy, **columns)
    return replace(evidence, judgement=replace(judgement, discrepancy=told))


def test_a_negative_resistance_within_its_limit_is_called_chance() -> None:
    """The demo lab: the pulley comes out below nothing by less than its limit."""
    evidence = judged(level(), trials(seed=8))
    judgement = evidence.judgement
    assert judgement is not None
    separation = judgement.discrepancy.separation
    assert separation is not None
    below = Estimate(value=-0.001, u=0.002)
    found = judged_with(evidence, separation={**separation.settled, Unknown.ELSEWHERE: below})
    words = prose(step(solution(level(), found), "told-apart"))
    assert re.search(r"negative, but consistent with zero: .*resistance elsewhere", words)
    assert "significantly negative" not in words


def test_every_column_is_looked_at() -> None:
    """What is significant only without extra inertia is said of that column."""
    evidence = judged(level(), trials(seed=8))
    judgement = evidence.judgement
    assert judgement is not None
    plain = judgement.discrepancy.plain
    assert plain is not None
    small, large = Estimate(value=0.001, u=0.01), Estimate(value=0.001, u=0.0001)
    found = judged_with(
        evidence,
        separation=dict.fromkeys(Unknown, small),
        plain=dict.fromkeys(plain.settled, small) | {Unknown.ELSEWHERE: large},
    )
    words = prose(step(solution(level(), found), "told-apart"))
    assert "In the first column nothing differs significantly from zero (95 %)." in words
    assert (
        "In the last column this differs significantly from zero (95 %): resistance elsewhere"
        in words
    )


def test_each_measurement_s_sum_is_shown_where_nothing_is_known_by_itself() -> None:
    kept = ("acceleration", "final_speed", "distance", "mean_tension", "work_of_tension")
    bare = tuple(
        replace(t, estimates={name: t.estimates[name] for name in kept})
        for t in trials(*QUIET, seed=11).trials
    )
    evidence = judged(level(*QUIET), Analysis(trials=bare, summary=summaries(bare)))
    (rows,) = tables(step(solution(level(*QUIET), evidence), "told-apart"))
    assert [row[0] for row in rows[1:]] == [
        *("The force on the string during the run", "Final speed and distance")
    ]
    # The work of friction over the distance: 0.008 × 0.420 kg × 9.80665 m/s² = 0.0330 N.
    assert numbers(rows, 2)["Final speed and distance"] == pytest.approx(0.0330, abs=0.004)
