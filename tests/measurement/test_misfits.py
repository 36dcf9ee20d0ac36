"""Records that aren't of their lab are named, with the likely reason; good ones hardly ever are."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from math import radians
from pathlib import Path

import numpy as np
import pytest

from fallwork.measurement.analysis import analyse
from fallwork.measurement.inputs import with_values
from fallwork.measurement.limits import limits_of
from fallwork.measurement.misfits import doubtful
from fallwork.measurement.model import Analysis, Record
from fallwork.measurement.settings import Settings
from fallwork.measurement.simulate import Behaviour, simulate
from fallwork.pages.trials import settings_of
from fallwork.scenario import Measured, load_course, load_scenario
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


IN = "the numbers under {} are probably in {}"
CASES: list[tuple[Callable[[Record], Record], str]] = [
    (partial(changed, channel="velocity", factor=100.0), IN.format("velocity", "cm/s")),
    (partial(changed, channel="time", factor=1000.0), IN.format("time", "ms")),
    (partial(changed, channel="force", factor=1000.0), IN.format("force", "mN")),
    (partial(changed, channel="force", factor=1 / 0.00980665), IN.format("force", "g")),
    (
        lambda record: replace(record, velocity=record.force, force=record.velocity),
        "the columns of velocity and force are probably swapped",
    ),
    (
        partial(changed, channel="force", factor=-1.0),
        "the sensor was probably turned round, or its sign changed",
    ),
]


@pytest.mark.parametrize(("spoil", "likely"), CASES, ids=[each[-12:] for _, each in CASES])
def test_the_likely_reason_is_told(spoil: Callable[[Record], Record], likely: str) -> None:
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


# ---- records of another apparatus, in a lab of 512 g, 90 g and 0.600 m

BENCH = with_values(SCENARIOS["level-track"], {"cart.mass": 0.512, "weight.mass": 0.090})
OTHERS = {  # what is otherwise, and what says so
    "hanging mass": ({"weight.mass": 0.080}, "a force before release of 0.7"),
    "cart": ({"cart.mass": 0.612}, "an acceleration of 1."),
    "slope": ({"track.slope": radians(2)}, "an acceleration of 1."),
    "distance": ({"run.distance": 0.720}, "a distance of 0.7"),
}


def with_foreign(other: str, count: int, layout: tuple[str, ...]) -> Analysis:
    """Four trials, ``count`` of them of another apparatus."""
    ways = Behaviour(nudge_share=0.0)
    scenarios = [with_values(BENCH, OTHERS[other][0]), BENCH]
    foreign, good = (
        simulate(each, GRAVITY, trials=4, seed=seed, behaviour=ways)
        for seed, each in enumerate(scenarios)
    )
    records = [shown(each.record, layout) for each in (*foreign[:count], *good[count:])]
    return analyse(records, settings_of(BENCH, GRAVITY, Measured()))


@pytest.mark.parametrize("layout", [("velocity", "force"), ("position",)])
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
    found = with_foreign(other, count, ("velocity", "force"))
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
    made = simulate(with_values(BENCH, {"weight.mass": 0.080}), GRAVITY, trials=2, seed=1)
    records = [replace(each.record, force=each.record.force + 0.3) for each in made]
    for zero in ("held", "none", "slack"):
        found = analyse(records, settings_of(BENCH, GRAVITY, Measured(zero=zero)))
        assert len(found.set_aside) == 2, zero


def test_what_the_authors_include_counts_and_what_they_exclude_is_not_looked_into() -> None:
    records, why = trials(), "the sensor was new"
    spoiled = [changed(records[0], "force", 1000.0), *records[1:]]
    settings = settings_of(SCENARIOS["level-track"], GRAVITY, Measured())
    for word in ("1", "all"):
        found = analyse(spoiled, replace(settings, include={word: why}))
        assert (found.set_aside, found.summary["mean_tension"].n) == ({}, 6)
        assert found.exceptions[0].startswith("trial-01 counts, though: a tension of ")
        assert found.exceptions[0].endswith(f"probably in mN). Reason: {why}")
    found = analyse(spoiled, replace(settings, exclude={"1": why}))
    assert (found.set_aside, found.trials[0].excluded) == ({}, why)


def test_without_a_lab_nothing_is_compared() -> None:
    records = trials()
    found = analyse([changed(each, "force", 1000.0) for each in records], Settings())
    assert found.set_aside == {}


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("kept", [1, 3])
def test_a_column_with_a_few_readings_speaks_against_nothing(kept: int) -> None:
    made = simulate(BENCH, GRAVITY, trials=2, seed=1, behaviour=Behaviour(position_rate=50))
    records = [each.record for each in made]
    few = [np.where(np.arange(len(r.time)) < kept, r.position, np.nan) for r in records]
    holed = [replace(record, position=column) for record, column in zip(records, few, strict=True)]
    assert analyse(holed, settings_of(BENCH, GRAVITY, Measured())).set_aside == {}


@pytest.mark.parametrize("file", sorted(ZOO.glob("*.yaml")), ids=lambda file: file.stem)
def test_every_kind_of_set_up_has_limits(file: Path) -> None:
    """Also where the cart that is watched stays while others move: v² = 2 a d says nothing then."""
    scenario = load_scenario(file)
    limits = limits_of(scenario, GRAVITY.value)
    assert all(each.low <= each.value <= each.high for each in limits.values())
