"""What trials of a kind bring about in words, as ``said.yaml`` lists it."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from fallwork.lesson import Lesson
from fallwork.lesson.measured import Evidence, quality
from fallwork.measurement.model import Analysis, Estimate, Trial
from fallwork.measurement.separation import Unknown
from fallwork.measurement.summaries import Sensors, summaries, summarise, summary_given
from fallwork.measurement.typed import analysis_of
from fallwork.scenario import Measured, Quantity
from lesson.kit import lesson_from
from lesson.measured import kit
from lesson.measured.kit import account, against, judged, level, measured, trials_with, usual
from lesson.test_words import assert_said

SAID = yaml.safe_load(Path(__file__).with_name("said.yaml").read_text("utf-8"))
FORCES = ("mean_tension", "work_of_tension", "mean_tension_over_time", "force_held")
MOTION = ("acceleration", "final_speed", "distance", "travel_time")
SMALL, LARGE = Estimate(value=0.001, u=0.01), Estimate(value=0.001, u=0.0001)
BELOW = Estimate(value=-0.001, u=0.002)


def whose(name: str, *, recorded: bool = False) -> Evidence:
    real = tuple(replace(each, record=None, run=None) for each in usual().analysis.trials)
    analysis = usual().analysis if recorded else replace(usual().analysis, trials=real)
    return replace(usual(), whose=name, analysis=analysis)


def otherwise(**found: Any) -> Evidence:
    """Quiet trials with parts of the account of the difference put in."""
    evidence = account()
    assert evidence.judgement is not None
    told = evidence.judgement.discrepancy
    changes = {name: replace(getattr(told, name), **each) for name, each in found.items()}
    judgement = replace(evidence.judgement, discrepancy=replace(told, **changes))
    return replace(evidence, judgement=judgement)


def beside(u: float, **values: float) -> Mapping[str, Mapping[str, Estimate]]:
    return {"beside": {place: Estimate(value=value, u=u) for place, value in values.items()}}


def typed(*values: float | None, excluded: str = "", **more: Any) -> Evidence:
    """Accelerations without records, one a trial; ``excluded`` is the name of one."""
    trials = tuple(
        Trial(
            name=str(number),
            estimates={} if value is None else {"acceleration": Estimate(value=value, u=0.0)},
            excluded="the cable dragged" if str(number) == excluded else None,
        )
        for number, value in enumerate(values, start=1)
    )
    counted = [trial for trial in trials if trial.excluded is None]
    analysis = Analysis(
        trials=trials,
        summary=summaries(counted),
        summary_with_excluded=summaries(trials) if excluded else {},
    )
    return Evidence(analysis=replace(analysis, **more))


def with_scale() -> Evidence:
    found = typed(1.49, 1.50, 1.51)
    estimates = {t.name: t.estimates["acceleration"] for t in found.analysis.trials}
    summary = summarise("acceleration", estimates, {"scale of positions": 0.008})
    return typed(1.49, 1.50, 1.51, summary={"acceleration": summary})


def with_first(**changes: Any) -> Evidence:
    """The first trial otherwise."""
    first, *others = usual().analysis.trials
    trials = (replace(first, **changes), *others)
    return judged(level(), replace(usual().analysis, trials=trials))


def calmer() -> Evidence:
    """Accelerations that their records know better."""
    calm = [
        replace(each, estimates={**each.estimates, "acceleration": replace(known, u=known.u / 10)})
        for each in usual().analysis.trials
        for known in [each.estimates["acceleration"]]
    ]
    return replace(usual(), analysis=replace(usual().analysis, trials=tuple(calm)))


ALIKE = Quantity(kind="acceleration", value=1.5, number="1.50", unit="m/s²")
MEAN = summary_given("acceleration", Estimate(value=1.497, u=0.006), 10)
TRIALS: Mapping[str, Callable[[], Evidence]] = {
    # predicted: 1.503 m/s², 1.343 m/s
    "agree": lambda: against(measured(acceleration=1.505)),
    "too small": lambda: against(measured(acceleration=1.2)),
    "too large": lambda: against(measured(acceleration=1.8)),
    "six too small": lambda: against(measured(6, acceleration=1.2)),
    "six above": lambda: against(measured(6, acceleration=1.51)),
    "six below": lambda: against(measured(6, acceleration=1.49)),
    "slow": lambda: against(measured(final_speed=1.25, distance=0.6)),
    "fast": lambda: against(measured(final_speed=1.45, distance=0.6)),
    "no force": lambda: against(measured(acceleration=1.5, final_speed=1.34)),
    "rough": lambda: against(kit.trials(("track.friction", "0.011 ± 0.002"))),
    "exact givens": lambda: against(usual().analysis, kit.without_uncertainty(level())),
    "usual": usual,
    "quiet": account,
    "rougher": lambda: account(("track.friction", "0.020")),
    "known scales": lambda: account(sensors=Sensors(position_scale=0.004, force_scale=0.01)),
    "heavy pulley": kit.heavy_pulley,
    "low force": lambda: trials_with(
        lambda _, name, each: replace(each, value=each.value * (0.93 if name in FORCES else 1))
    ),
    "motion alone": lambda: trials_with(lambda _, name, each: each if name in MOTION else None),
    "one without work": lambda: trials_with(
        lambda trial, name, each: (
            None if (trial.name, name) == ("trial-01", "work_of_tension") else each
        )
    ),
    "loss without a place": lambda: otherwise(
        balance=beside(0.00104, pulled=0.0009, elsewhere=0.0016, everything=0.0025)
    ),
    "negative by chance": lambda: otherwise(
        separation={"settled": {Unknown.ELSEWHERE: BELOW}}, plain={"settled": {}}
    ),
    "one column alone": lambda: otherwise(
        separation={"settled": dict.fromkeys(Unknown, SMALL)},
        plain={"settled": {**dict.fromkeys(Unknown, SMALL), Unknown.ELSEWHERE: LARGE}},
    ),
    "known zero": lambda: account(sensors=Sensors(force_zero=0.002)),
    "braked": lambda: trials_with(
        lambda _, name, each: replace(
            each, value=each.value - (0.05 if name == "coasting_acceleration" else 0)
        )
    ),
    "alike": lambda: against(
        analysis_of(Measured(acceleration=(ALIKE,) * 4), level(), kit.GRAVITY)
    ),
    "typed": lambda: typed(1.49, 1.50, 1.51),
    "one missing": lambda: typed(1.023, None, 1.029, 1.036),
    "one excluded": lambda: typed(1.49, 1.50, 1.51, 2.00, excluded="4"),
    "one far off": lambda: typed(1.49, 1.50, 1.51, 1.50, 1.49, 1.51, 2.00),
    "means alone": lambda: typed(summary={"acceleration": MEAN}),
    "shared effect": with_scale,
    "window by hand": lambda: with_first(window=(0.5, 1.4), window_by_hand=True),
    "calm records": calmer,
    "lighter": lambda: judged(level(("weight.mass", "100.0 g ± 0.1 g")), usual().analysis),
    "simulated records of a bench": lambda: whose("bench", recorded=True),
}


@cache
def page(kind: str, shown: str) -> Lesson:
    evidence = TRIALS[kind]() if kind in TRIALS else whose(kind)
    scenario = level(*kit.QUIET)
    match shown:
        case "data":
            return kit.data(scenario, evidence)
        case "staff":
            setting = kit.context(level(), numbers=True)
            return replace(lesson_from(level()), steps=quality(setting, evidence))
    return kit.solution(scenario, evidence)


@pytest.mark.parametrize("row", SAID, ids=lambda row: f"{row['trials']}, {row['at']}")
def test_the_pages_say_what_the_trials_bring_about(row: dict[str, Any]) -> None:
    assert_said(row, page(row["trials"], row.get("page", "")))
