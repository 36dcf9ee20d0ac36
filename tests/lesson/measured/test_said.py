"""What trials of a kind bring about in words, as ``said.yaml`` lists it."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml

from fallwork.lesson.measured import Evidence
from fallwork.measurement.model import Estimate
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.separation import Unknown
from lesson.measured import kit
from lesson.measured.kit import account, against, level, measured, trials_with, usual

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
    "simulated records of a bench": lambda: whose("bench", recorded=True),
}


@pytest.mark.parametrize("row", SAID, ids=lambda row: f"{row['trials']}, {row['step']}")
def test_the_pages_say_what_the_trials_bring_about(row: dict[str, Any]) -> None:
    kind = row["trials"]
    evidence = TRIALS[kind]() if kind in TRIALS else whose(kind)
    page = kit.data if row.get("page") else kit.solution
    text = kit.prose(kit.step(page(level(*kit.QUIET), evidence), row["step"]))
    assert [each for each in row.get("says", []) if each not in text] == []
    assert [each for each in row.get("not", []) if each in text] == []
