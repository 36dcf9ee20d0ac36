"""Records that aren't of their lab are named, with the likely reason; good ones hardly ever are."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from fallwork.measurement.analysis import Settings, analyse
from fallwork.measurement.model import Analysis, Record
from fallwork.measurement.simulate import Behaviour, simulate
from fallwork.pages.trials import settings_of
from fallwork.scenario import load_course
from fallwork.scenario.model import Measured
from measurement.spoiling import GRAVITY, TRIALS, lab, shown

ALL_LABS, SOME_LABS = 250, 12  # of twenty records each
GOOD_NAMED = 1 / 200  # at most
SCENARIOS = load_course(Path(__file__).parents[2] / "site-data").scenarios
MOVING = [each for name, each in SCENARIOS.items() if name != "incline-held"]


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of many labs."""

    good: int
    good_named: list[str]
    spoiled_missed: list[str]
    used: list[str]  # spoiled ones in a mean


@pytest.fixture(scope="module")
def outcome(thorough: bool) -> Outcome:
    """5,000 records of all layouts, or 240 of them; one in twenty is spoiled."""
    named: list[str] = []
    missed: list[str] = []
    used: list[str] = []
    labs = ALL_LABS if thorough else SOME_LABS
    for number in range(labs):
        random = np.random.default_rng([20270301, number])
        scenario = MOVING[random.integers(len(MOVING))]
        made = lab(scenario, random)
        found = analyse(made.records, made.settings)
        about = f"{scenario.id}, lab {number}, {made.layout}"
        for trial in found.trials:
            if trial.set_aside and trial.name != made.spoiled:
                named.append(f"{about}: {trial.name} {trial.misfit}")
            if not trial.set_aside and trial.name == made.spoiled:
                missed.append(f"{about}: {made.how}")
        used += [about for each in found.summary.values() if each.n > TRIALS - 1]
    return Outcome(good=labs * (TRIALS - 1), good_named=named, spoiled_missed=missed, used=used)


def test_every_spoiled_record_is_named(outcome: Outcome) -> None:
    assert outcome.spoiled_missed == []


def test_hardly_a_good_record_is_named(outcome: Outcome) -> None:
    assert len(outcome.good_named) <= GOOD_NAMED * outcome.good, outcome.good_named


def test_nothing_is_concluded_from_a_record_that_is_named(outcome: Outcome) -> None:
    assert outcome.used == []


# ---- the likely reasons

LAYOUT = ("velocity", "force")


def trials(count: int = 6, **behaviour: float) -> list[Record]:
    ways = Behaviour(nudge_share=0.0, **behaviour)
    made = simulate(SCENARIOS["level-track"], GRAVITY, trials=count, seed=5, behaviour=ways)
    return [each.record for each in made]


def analysed(records: list[Record], **said: object) -> Analysis:
    settings = settings_of(SCENARIOS["level-track"], GRAVITY, Measured(**said))
    return analyse(records, settings)


def changed(record: Record, channel: str, factor: float) -> Record:
    return replace(record, **{channel: factor * getattr(record, channel)})


def swapped(record: Record) -> Record:
    return replace(record, velocity=record.force, force=record.velocity)


CASES: dict[str, tuple[Callable[[Record], Record], str]] = {
    "cm/s": (
        partial(changed, channel="velocity", factor=100.0),
        "the numbers under velocity are probably in cm/s",
    ),
    "ms": (
        partial(changed, channel="time", factor=1000.0),
        "the numbers under time are probably in ms",
    ),
    "mN": (
        partial(changed, channel="force", factor=1000.0),
        "the numbers under force are probably in mN",
    ),
    "g": (
        partial(changed, channel="force", factor=1 / 0.00980665),
        "the numbers under force are probably in g",
    ),
    "swapped": (swapped, "the columns of velocity and force are probably swapped"),
    "sign": (
        partial(changed, channel="force", factor=-1.0),
        "the sensor was probably turned round, or its sign changed",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_the_likely_reason_is_told(case: str) -> None:
    spoil, likely = CASES[case]
    records = [shown(each, LAYOUT) for each in trials()]
    found = analysed([*records[:3], spoil(records[3]), *records[4:]])
    (misfit,) = found.set_aside.values()
    assert misfit.likely == likely
    assert {each.n for each in found.summary.values()} == {5}


def test_a_velocity_in_another_unit_beside_positions_is_named_too() -> None:
    """It is used for nothing, but the record says two things."""
    records = trials()
    found = analysed([changed(records[0], "velocity", 100.0), *records[1:]])
    assert found.set_aside["trial-01"].likely == "the numbers under velocity are probably in cm/s"


def test_a_run_over_another_distance_is_told_with_both() -> None:
    longer = replace(SCENARIOS["level-track"].run.distance, value=0.72)
    scenario = SCENARIOS["level-track"]
    other = replace(scenario, run=replace(scenario.run, distance=longer))
    made = simulate(other, GRAVITY, trials=2, seed=5)
    found = analysed([each.record for each in made])
    assert found.summary == {}
    misfit = found.set_aside["trial-01"]
    assert misfit.off == ("a distance of 0.720 m where the lab has 0.600 m",)
    assert misfit.likely == "probably a run over another distance, or one whose end was found wrong"


def test_what_the_authors_include_counts_with_its_reason() -> None:
    records = trials()
    spoiled = [changed(records[0], "force", 1000.0), *records[1:]]
    why = "the sensor was new"
    for word in ("1", "all"):
        settings = replace(
            settings_of(SCENARIOS["level-track"], GRAVITY, Measured()), include={word: why}
        )
        found = analyse(spoiled, settings)
        assert found.set_aside == {}
        assert found.summary["mean_tension"].n == 6
        assert found.exceptions[0].startswith("trial-01 counts, though: a tension of ")
        assert found.exceptions[0].endswith(f"probably in mN). Reason: {why}")


def test_what_the_authors_exclude_is_not_looked_into() -> None:
    records = trials()
    spoiled = [changed(records[0], "force", 1000.0), *records[1:]]
    settings = settings_of(SCENARIOS["level-track"], GRAVITY, Measured())
    found = analyse(spoiled, replace(settings, exclude={"1": "the sensor was new"}))
    assert found.set_aside == {}
    assert found.trials[0].excluded == "the sensor was new"


def test_without_a_lab_nothing_is_compared() -> None:
    records = trials()
    found = analyse([changed(each, "force", 1000.0) for each in records], Settings())
    assert found.set_aside == {}
