"""The report page: what to do and to hand in, in symbols, with nothing worked out."""

import re
from pathlib import Path

import pytest

from fallwork.lesson import stepfiles
from fallwork.lesson.words import without_echo
from fallwork.measurement.prediction import view_of
from fallwork.scenario import Scenario, with_numbers
from lesson.kit import DEMO, lesson_from, scenario_of
from lesson.measured import kit
from lesson.measured.kit import everything, level, prose, report, step, tables, words

STEPS = [
    *("your-masses", "track-and-string", "distance", "signs", "trials"),
    *("window", "how-acceleration", "how-distance", "how-tension"),
    *("summary", "prediction", "verdict", "discrepancy", "influences"),
    *("hand-in", "questions-to-answer", "how-judged"),
]
MEASURED = stepfiles.FOLDER / "measured"
HEAVY = DEMO / "heavy-pulley.yaml"
ALL_SET_UPS = sorted([*kit.CASES.glob("*.yaml"), *DEMO.glob("*.yaml")])


def test_the_steps_go_from_the_bench_to_the_report() -> None:
    assert [found.id for found in report(level()).steps] == STEPS


def test_every_question_leads_to_a_step_of_the_report_page() -> None:
    """It is open while students measure and write, unlike trials and solution."""
    pages = ("level-track", "incline-up", "level-track-frictionless", "push-away")
    found = {
        question.id
        for name in pages
        for each in report(scenario_of(DEMO / f"{name}.yaml")).steps
        for question in each.questions
    }
    files = (f"measured/{file.name.split('.')[0]}" for file in sorted(MEASURED.iterdir()))
    ids = [each for file in files for each in stepfiles._ids(file)]
    assert [id_ for kind, id_, *_ in ids if kind == "question" and id_ not in found] == []


def test_every_slip_with_data_stands_at_a_step() -> None:
    found = [each.id for where in report(level()).steps for each in where.slips]
    assert {f"S{number}" for number in range(1, 13)} <= {*found}


def test_nothing_on_the_page_has_a_value() -> None:
    lesson = report(level())
    assert lesson.kind == "symbols"
    assert all(symbol.value is None and not symbol.written for symbol in lesson.symbols)
    assert all(slip.value is None for found in lesson.steps for slip in found.slips)


def test_other_masses_change_nothing_but_the_table_of_givens() -> None:
    heavier = level(("cart.mass", "700.0 g"), ("weight.mass", "35.0 g"))
    before, after = report(level()), report(heavier)
    assert before.steps[1:] == after.steps[1:]
    assert tables(before.steps[0]) != tables(after.steps[0])


RUNS = re.compile(
    r"record|energ|(?<!at )\bworks?\b|system|fitted|the run|final speed|accelerat|velocity"
)


@pytest.mark.parametrize("path", [p for p in ALL_SET_UPS if "held" in p.stem], ids=str)
def test_what_stays_at_rest_asks_only_for_what_can_be_measured_at_rest(path: Path) -> None:
    lesson = report(scenario_of(path))
    assert not RUNS.findall("\n".join([words(lesson.summary), *map(everything, lesson.steps)]))
    assert "verdict" in [found.id for found in lesson.steps]  # by the one rule
    assert "T_\\mathrm{meas}" in prose(step(lesson, "summary"))


@pytest.mark.parametrize("path", ALL_SET_UPS, ids=lambda path: path.stem)
def test_every_set_up_has_a_report_with_room_for_all_that_is_asked_for(path: Path) -> None:
    """What is to be weighed, whose motion and pull is meant, the speed that a push gives."""
    scenario = scenario_of(path)
    lesson, view = report(scenario), view_of(scenario)
    givens = [row[0] for row in tables(step(lesson, "your-masses"))[0]]
    lab = kit.context(scenario, numbers=False)
    for name in lab.movers:
        mass = without_echo(f"mass of {lab.the(name)}")
        assert any(given.startswith(mass) for given in givens)
    filled = step(lesson, "hand-in")
    assert lab.the(view.moving) in prose(filled)
    assert view.string is None or f"the pull of {lab.the(view.string)}" in prose(filled)
    pushed = lab.starts_moving
    assert ("Speed at the mark" in " ".join(tables(filled)[0][0])) == pushed
    ids = [found.id for found in lesson.steps]
    assert {"your-masses", "hand-in", "how-judged"} <= set(ids)
    assert len(set(ids)) == len(ids)
    assert ("how-distance" in ids) == lab.moves
    assert any(symbol.id == "measured.start-speed" for symbol in lesson.symbols) == pushed
    if lab.moves:
        cells = [tuple(row[1:]) for row in tables(step(lesson, "influences"))[0]]
        assert len(set(cells)) == len(cells)
        assert all(map(all, cells))


def test_products_of_units_have_one_spelling() -> None:
    """A raised dot, as in the SI Brochure (9th ed., 5.4.1, from memory; a space is allowed too)."""
    pages = [report(scenario_of(HEAVY)), lesson_from(scenario_of(HEAVY))]
    told = "\n".join(everything(found) for page in pages for found in page.steps)
    told += "\n".join(f"{given.as_written} {given.in_si}" for given in pages[1].givens)
    assert "N·m" in told
    assert not re.findall("(?<![A-Za-z])(?:[mµ]?N|k?g)[ \u00a0]c?m(?![a-z])", told)


WITH_ZOO = sorted([*ALL_SET_UPS, *(Path(__file__).parents[1] / "zoo").glob("*.yaml")])
LABS = {path: kit.context(scenario_of(path), numbers=False) for path in WITH_ZOO}
PUSHED = [path for path, lab in LABS.items() if lab.moves and lab.starts_moving]


@pytest.mark.parametrize("path", PUSHED, ids=lambda path: path.stem)
def test_pushes_that_differ_are_compared_trial_by_trial_from_a_mark_past_the_hand(
    path: Path,
) -> None:
    """Nobody lets go at the same millimetre twice; where the run begins, no hand pushes. Final
    speeds scatter as the pushes do; v² - v0² is each trial's own.
    """
    scenario = scenario_of(path)
    lesson = report(scenario)
    trials, _, *balances = tables(step(lesson, "hand-in"))
    speeds = ["Speed at the mark", "Predicted final speed", "Measured minus predicted"]
    assert [re.sub(", .*v_.*,", "", head) for head in trials[0][-3:]] == [
        f"{name} in m/s" for name in speeds
    ]
    for rows in balances:
        assert rows[0][:3] == ["Trial", "Time in s", "Distance in m"]
        titles = [system.title for system in scenario.systems]
        assert rows[0][len(rows[0]) - len(titles) :] == titles
        assert [row[0] for row in rows[1:14]] == [row[0] for row in trials[1:]]
    assert len(balances) == 1
    told = {found.id: everything(found) for found in lesson.steps}
    released = "(?:place|before|at|from|after) (?:the|of) release"
    assert not re.search(released, " ".join(told.values()))
    assert "at the mark" in told["trials"]
    assert "where the position passes the mark" in told["window"]
    if "distance" in told:
        assert "past the place where the hand lets go" in told["distance"]


CHANGES = {  # the row of the table, and the numbers that the influence stands for
    "More friction at the cart": ("track.friction", "0.02"),
    "A slope steeper than measured": ("track.slope", "10 deg"),
    "Mass on the cart that wasn't weighed": ("cart.mass", "340 g"),
}


@pytest.mark.parametrize("name", ["incline-up", "incline-down"])
@pytest.mark.parametrize("row", CHANGES)
def test_the_table_of_influences_says_what_the_model_does(name: str, row: str) -> None:
    """Each change by itself, put through the solver: acceleration along the run, and tension."""
    before = scenario_of(DEMO / f"{name}.yaml")
    after = with_numbers(before, dict([CHANGES[row]]))
    shifts = zip(*(_pace_and_pull(scenario) for scenario in (before, after)), strict=True)
    told = next(line for line in tables(step(report(before), "influences"))[0] if line[0] == row)
    assert told[1:3] == ["larger" if new > old else "smaller" for old, new in shifts]


def _pace_and_pull(scenario: Scenario) -> tuple[float, float]:
    phase = kit.context(scenario, numbers=True).phase
    pull = next(f for f in phase.forces if f.name == "tension of string on cart")
    return abs(phase.accelerations["cart"]), pull.size or 0.0
