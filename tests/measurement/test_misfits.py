"""Records that aren't of their lab are named, with the likely reason; good ones hardly ever are."""

from collections.abc import Sequence
from dataclasses import replace
from math import radians
from pathlib import Path

import numpy as np
import pytest

from fallwork.measurement.analysis import analyse
from fallwork.measurement.limits import limits_of
from fallwork.measurement.misfits import doubtful
from fallwork.measurement.model import Analysis, Record
from fallwork.measurement.prediction import with_values
from fallwork.measurement.simulate import Behaviour, simulate
from fallwork.pages.worked import settings_of
from fallwork.scenario import Excluded, Measured, Scenario, load_course, load_scenario
from fallwork.scenario.trials import Included
from measurement.spoiling import GRAVITY, TRIALS, lab, shown

ZOO = Path(__file__).parents[1] / "lesson/zoo"
ALL_LABS, SOME_LABS = range(250), (*range(10), 99, 112)  # of twenty records each; the hardest two
GOOD_NAMED = 1 / 200  # at most
SCENARIOS = load_course(Path(__file__).parents[2] / "site-data").scenarios
MOVING = [each for name, each in SCENARIOS.items() if name != "incline-held"]


def test_every_spoiled_record_is_named_and_hardly_a_good_one(thorough: bool) -> None:
    """5,000 records of all layouts, or 240 of them; one in twenty is spoiled, and four good ones of
    each lab are looked at alone too. Nothing is concluded from a record that is named.
    """
    named, few, missed, used = list[str](), list[str](), list[str](), list[str]()
    labs = ALL_LABS if thorough else SOME_LABS
    for number in labs:
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
        four = [each for each in made.records if each.name != made.spoiled][:4]
        names = {each.name for each in four}
        windows = {name: span for name, span in made.settings.windows.items() if name in names}
        alone = analyse(four, replace(made.settings, windows=windows))
        few += [f"{about}: {trial.name} {trial.misfit}" for trial in alone.trials if trial.misfit]
    assert (missed, used) == ([], [])
    assert len(named) <= GOOD_NAMED * len(labs) * (TRIALS - 1), named
    assert len(few) <= GOOD_NAMED * len(labs) * 4, few


# ---- the likely reasons

LEVEL = SCENARIOS["level-track"]
BENCH = with_values(LEVEL, {"cart.mass": 0.512, "weight.mass": 0.090})  # over 0.600 m
LAYOUT = ("velocity", "force")


def records_of(scenario: Scenario, count: int = 6, seed: int = 5, **ways: float) -> list[Record]:
    behaviour = Behaviour(**{"nudge_share": 0.0, **ways})
    made = simulate(scenario, GRAVITY, trials=count, seed=seed, behaviour=behaviour)
    return [each.record for each in made]


def analysed(records: Sequence[Record], scenario: Scenario = LEVEL, **said: object) -> Analysis:
    return analyse(records, settings_of(scenario, GRAVITY, Measured(**said)))


def changed(record: Record, channel: str, factor: float) -> Record:
    return replace(record, **{channel: factor * getattr(record, channel)})


IN = "the numbers under {} are probably in {}"
SWAPPED = "the columns of velocity and force are probably swapped"
CASES = {  # channel and factor that make the mistake
    IN.format("velocity", "cm/s"): ("velocity", 100.0),
    IN.format("time", "ms"): ("time", 1000.0),
    IN.format("force", "mN"): ("force", 1000.0),
    IN.format("force", "g"): ("force", 1 / 0.00980665),
    "the sensor was probably turned round, or its sign changed": ("force", -1.0),
    SWAPPED: ("", 1.0),
}


@pytest.mark.parametrize("likely", CASES, ids=lambda likely: likely[-12:])
def test_the_likely_reason_is_told(likely: str) -> None:
    records = [shown(each, LAYOUT) for each in records_of(LEVEL)]
    good = records[3]
    wrong = replace(good, velocity=good.force, force=good.velocity)
    if likely != SWAPPED:
        wrong = changed(good, *CASES[likely])
    found = analysed([*records[:3], wrong, *records[4:]])
    assert [misfit.likely for misfit in found.set_aside.values()] == [likely]
    assert {each.n for each in found.summary.values()} == {5}


def test_a_velocity_in_another_unit_beside_positions_is_named_too() -> None:
    """It is used for nothing, but the record says two things."""
    records = records_of(LEVEL)
    found = analysed([changed(records[0], "velocity", 100.0), *records[1:]])
    assert found.set_aside["trial-01"].likely == IN.format("velocity", "cm/s")


# ---- records of another apparatus

OTHERS = {  # what is otherwise, and what says so
    "hanging mass": ({"weight.mass": 0.080}, "a force before release of 0.7"),
    "cart": ({"cart.mass": 0.612}, "an acceleration of 1."),
    "slope": ({"track.slope": radians(2)}, "an acceleration of 1."),
    "distance": ({"run.distance": 0.720}, "a distance of 0.7"),
}


def with_foreign(other: str, count: int, layout: tuple[str, ...]) -> Analysis:
    """Four trials, ``count`` of them of another apparatus."""
    foreign = records_of(with_values(BENCH, OTHERS[other][0]), 4, seed=0)
    records = (*foreign[:count], *records_of(BENCH, 4, seed=1)[count:])
    return analysed([shown(each, layout) for each in records], BENCH)


@pytest.mark.parametrize("layout", [LAYOUT, ("position",)])
@pytest.mark.parametrize("other", OTHERS)
def test_one_foreign_trial_of_four_is_named(other: str, layout: tuple[str, ...]) -> None:
    found = with_foreign(other, 1, layout)
    (misfit,) = found.set_aside.values()
    said = OTHERS[other][1] if other != "hanging mass" or "force" in layout else "an acceleration"
    assert misfit.off[0].startswith(said)
    assert misfit.by_result is said.startswith("an acceleration")
    assert found.summary["acceleration"].n == 3


@pytest.mark.parametrize("count", [2, 4])
@pytest.mark.parametrize("other", OTHERS)
def test_what_the_lab_knows_of_itself_names_any_number_and_a_result_none(
    other: str, count: int
) -> None:
    """A result that isn't the predicted one is a finding: its authors are asked, no more."""
    found = with_foreign(other, count, LAYOUT)
    if other in ("hanging mass", "distance"):
        assert list(found.set_aside) == [f"trial-0{at}" for at in range(1, count + 1)]
        return
    assert found.set_aside == {}
    if count == 2:
        assert "the trials fall into two groups, 2 with about 1." in found.doubts[0]
    said = doubtful(found, limits_of(BENCH, GRAVITY.value))
    assert ("% below the 1.40 m/s² of this lab's numbers" in "".join(said)) == (count == 4)


def test_the_pull_before_release_needs_no_zero() -> None:
    """It is set against the slack string, or the slack string against it."""
    records = records_of(with_values(BENCH, {"weight.mass": 0.080}), 2)
    off = [replace(each, force=each.force + 0.3) for each in records if each.force is not None]
    for zero in ("held", "none", "slack"):
        assert len(analysed(off, BENCH, zero=zero).set_aside) == 2, zero


def test_what_the_authors_include_counts_and_what_they_exclude_is_not_looked_into() -> None:
    records, why = records_of(LEVEL), "the sensor was new"
    spoiled = [changed(records[0], "force", 1000.0), *records[1:]]
    for word in ("1", "all"):
        found = analysed(spoiled, included=(Included(trial=word, because=why),))
        assert (found.set_aside, found.summary["mean_tension"].n) == ({}, 6)
        assert found.exceptions[0].startswith("trial-01 counts, though: a tension of ")
        assert found.exceptions[0].endswith(f"probably in mN). Reason: {why}")
    found = analysed(spoiled, excluded=(Excluded(trial="1", because=why),))
    assert (found.set_aside, found.trials[0].excluded) == ({}, why)
    assert analyse(spoiled).set_aside == {}  # without a lab nothing is compared


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("kept", [1, 3])
def test_a_column_with_a_few_readings_speaks_against_nothing(kept: int) -> None:
    holed = [
        replace(r, position=np.where(np.arange(len(r.time)) < kept, r.position, np.nan))
        for r in records_of(BENCH, 2, position_rate=50)
        if r.position is not None
    ]
    assert analysed(holed, BENCH).set_aside == {}


@pytest.mark.parametrize("file", sorted(ZOO.glob("*.yaml")), ids=lambda file: file.stem)
def test_every_kind_of_set_up_has_limits(file: Path) -> None:
    """Also where the cart that is watched stays while others move: v² = 2 a d says nothing then."""
    scenario = load_scenario(file)
    limits = limits_of(scenario, GRAVITY.value)
    assert all(each.low <= each.value <= each.high for each in limits.values())
