"""Trials of every set-up of the demo course make pages, and nothing on them is wrongly measured."""

from pathlib import Path

import pytest

from fallwork.measurement.model import Estimate
from fallwork.measurement.simulate import csv_of, simulate
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.trials import evidence_of
from fallwork.scenario import Lab, Measured, load_scenario
from pages.history import course, lab, pages, start, term

DEMO = Path(__file__).parents[2] / "site-data/scenarios"
GRAVITY = Estimate(value=9.80665, u=0.0)  # m/s², 3rd CGPM (1901)
NOW = start(12)


def moves(file: Path) -> bool:
    return solve(apparatus_of(load_scenario(file), GRAVITY.value)).moves


def with_trials(file: Path, folder: Path) -> Lab:
    """A lab of the scenario's own numbers with the records of three simulated trials."""
    scenario = load_scenario(file)
    records = folder / "trials.csv"
    records.write_text(csv_of(simulate(scenario, GRAVITY, trials=3, seed=6)), encoding="utf-8")
    measured = Measured(pattern="trials.csv", files=(records,))
    numbers = {"scenario": scenario, "variant": scenario, "example": scenario}
    return lab(file.stem, start(2), data_opens=start(2), measured=measured, **numbers)


MOVING = [file.stem for file in sorted(DEMO.glob("*.yaml")) if moves(file)]
EVERYDAY = ("heavy-pulley", "train", "pulley-on-a-string")  # and those that are read below


def assert_made(name: str, folder: Path) -> None:
    given = with_trials(DEMO / f"{name}.yaml", folder)
    built = pages(course(term("2027-spring", given)), NOW)
    assert "The trials are simulated." in built[f"2027-spring/{name}/data.md"]
    assert "{#comparison-acceleration" in built[f"2027-spring/{name}/solution.md"]
    assert f"2027-spring/{name}/data/records.csv" in built


@pytest.mark.in_full
def test_trials_make_pages_with_every_figure_and_uncertainty(tmp_path: Path) -> None:
    assert_made("push-away", tmp_path)


def test_trials_of_every_kind_of_run_make_pages(tmp_path: Path, thorough: bool) -> None:
    """Formulas hold, since printing checks both sides."""
    for name in MOVING if thorough else EVERYDAY:
        assert_made(name, tmp_path)


def test_where_nothing_lands_the_distance_is_called_given(tmp_path: Path) -> None:
    given = with_trials(DEMO / "incline-down.yaml", tmp_path)
    built = pages(course(term("2027-spring", given)), NOW)
    assert "{#comparison-acceleration" in built["2027-spring/incline-down/solution.md"]
    page = built["2027-spring/incline-down/data.md"]
    assert "Nothing lands or stops where this run ends" in page
    assert r"T_\mathrm{trial} \, d_\mathrm{given}" in page
    assert "Distance in m" not in page


def test_where_nothing_slackens_the_force_is_zeroed_by_the_known_pull(tmp_path: Path) -> None:
    lab_ = with_trials(DEMO / "two-weights.yaml", tmp_path)
    notes = evidence_of(lab_, GRAVITY).analysis.notes
    assert any("force zeroed by" in note and "before release" in note for note in notes)


def test_a_run_that_turns_round_says_that_it_was_followed_on_its_way_back(tmp_path: Path) -> None:
    given = with_trials(DEMO / "push-away.yaml", tmp_path)
    built = pages(course(term("2027-spring", given)), NOW)
    data, solution = (built[f"2027-spring/push-away/{page}.md"] for page in ("data", "solution"))
    assert "a line was fitted to the run back, from the turn on" in data
    assert "{#how-tension" not in data
    assert "{#comparison-tension" not in solution
    assert "The acceleration rounded before it was used" not in solution
    assert "The trials lack what an energy balance needs" not in solution  # they have what it takes
