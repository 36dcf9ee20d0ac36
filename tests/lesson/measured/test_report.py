"""The report page holds nothing worked out; what trials of a kind bring about in words."""

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache, partial
from pathlib import Path
from typing import Any

import pytest

from cases import cases
from fallwork.lesson import measured, stepfiles, words
from fallwork.lesson.document import Lesson
from fallwork.measurement import model, prediction, summaries
from fallwork.measurement.separation import Unknown
from fallwork.measurement.typed import analysis_of
from fallwork.scenario import Measured, Scenario, with_numbers
from fallwork.scenario.quantity import parse_quantity
from lesson.kit import DEMO, lab_of, lesson_from, scenario_of
from lesson.measured import kit
from lesson.test_words import assert_said

STEPS = [
    *("your-masses", "track-and-string", "distance", "signs", "trials"),
    *("window", "how-acceleration", "how-distance", "how-tension"),
    *("summary", "prediction", "verdict", "discrepancy", "influences"),
    *("hand-in", "questions-to-answer", "how-judged"),
]
MEASURED = stepfiles.FOLDER / "measured"
HEAVY = DEMO / "heavy-pulley.yaml"
ALL_SET_UPS = sorted([*kit.CASES.glob("*.yaml"), *DEMO.glob("*.yaml")])
WITH_ZOO = sorted([*ALL_SET_UPS, *(Path(__file__).parents[1] / "zoo").glob("*.yaml")])
LABS = {path: lab_of(path, numbers=False) for path in WITH_ZOO}
PUSHED = [path for path, lab in LABS.items() if lab.moves and lab.starts_moving]
SAID = cases(__file__, "said")
LARGE = model.Estimate(value=0.001, u=0.0001)
EVERY = dict.fromkeys(Unknown, model.Estimate(value=0.001, u=0.01))
BELOW = model.Estimate(value=-0.001, u=0.002)
LOST = ("trial-01", "work_of_tension")
MEAN = summaries.summary_given(model.Estimate(value=1.497, u=0.006), 10)


def test_the_steps_go_from_the_bench_to_the_report_and_every_slip_with_data_is_there():
    assert [found.id for found in kit.report(kit.level()).steps] == STEPS
    found = [each.id for where in kit.report(kit.level()).steps for each in where.slips]
    assert {f"S{number}" for number in range(1, 13)} <= {*found}


def test_every_question_leads_to_a_step_of_the_report_page():
    """It is open while students measure and write, unlike trials and solution."""
    pages = "incline-up level-track-frictionless push-away train two-weights incline-held"
    found = {
        question.id
        for name in pages.split()
        for each in kit.report(scenario_of(DEMO / f"{name}.yaml")).steps
        for question in each.questions
    }
    files = (f"measured/{file.name.split('.')[0]}" for file in sorted(MEASURED.iterdir()))
    ids = [each for file in files for each in stepfiles._ids(file)]
    assert [id_ for kind, id_, *_ in ids if kind == "question" and id_ not in found] == []


def test_nothing_on_the_page_has_a_value_and_other_masses_change_the_givens_alone():
    lesson = kit.report(kit.level())
    assert lesson.kind == "symbols"
    assert all(symbol.value is None and not symbol.written for symbol in lesson.symbols)
    assert all(slip.value is None for found in lesson.steps for slip in found.slips)
    heavier = kit.level(("cart.mass", "700.0 g"), ("weight.mass", "35.0 g"))
    before, after = kit.report(kit.level()), kit.report(heavier)
    assert before.steps[1:] == after.steps[1:]
    assert kit.tables(before.steps[0]) != kit.tables(after.steps[0])


RUNS = re.compile(
    r"record|energ|(?<!at )\bworks?\b|system|fitted|the run|final speed|accelerat|velocity"
)


@pytest.mark.parametrize("path", [p for p in ALL_SET_UPS if "held" in p.stem], ids=str)
def test_what_stays_at_rest_asks_only_for_what_can_be_measured_at_rest(path):
    lesson = kit.report(scenario_of(path))
    assert not RUNS.findall(
        "\n".join([kit.words(lesson.summary), *map(kit.everything, lesson.steps)])
    )
    assert "verdict" in [found.id for found in lesson.steps]  # by the one rule
    assert "T_\\mathrm{meas}" in kit.prose(kit.step(lesson, "summary"))


@pytest.mark.parametrize("path", ALL_SET_UPS, ids=lambda path: path.stem)
def test_every_set_up_has_a_report_with_room_for_all_that_is_asked_for(path):
    """What is to be weighed, whose motion and pull is meant, the speed that a push gives."""
    scenario = scenario_of(path)
    lesson, view = kit.report(scenario), prediction.view_of(scenario)
    givens = [row[0] for row in kit.tables(kit.step(lesson, "your-masses"))[0]]
    lab = lab_of(scenario, numbers=False)
    for name in lab.movers:
        mass = words.without_echo(f"mass of {lab.the(name)}")
        assert any(given.startswith(mass) for given in givens)
    filled = kit.step(lesson, "hand-in")
    assert lab.the(view.moving) in kit.prose(filled)
    assert view.string is None or f"the pull of {lab.the(view.string)}" in kit.prose(filled)
    pushed = lab.starts_moving
    assert ("Speed at the mark" in " ".join(kit.tables(filled)[0][0])) == pushed
    ids = [found.id for found in lesson.steps]
    assert {"your-masses", "hand-in", "how-judged"} <= set(ids)
    assert len(set(ids)) == len(ids)
    assert ("how-distance" in ids) == lab.moves
    assert any(symbol.id == "measured.start-speed" for symbol in lesson.symbols) == pushed
    if lab.moves:
        cells = [tuple(row[1:]) for row in kit.tables(kit.step(lesson, "influences"))[0]]
        assert len(set(cells)) == len(cells)
        assert all(map(all, cells))


def test_products_of_units_have_one_spelling():
    """A raised dot, as in the SI Brochure (9th ed., 5.4.1, from memory; a space is allowed too)."""
    pages = [kit.report(scenario_of(HEAVY)), lesson_from(scenario_of(HEAVY))]
    told = "\n".join(kit.everything(found) for page in pages for found in page.steps)
    told += "\n".join(f"{given.as_written} {given.in_si}" for given in pages[1].givens)
    assert "N·m" in told
    assert not re.findall("(?<![A-Za-z])(?:[mµ]?N|k?g)[ \u00a0]c?m(?![a-z])", told)


@pytest.mark.parametrize("path", PUSHED, ids=lambda path: path.stem)
def test_pushes_that_differ_are_compared_trial_by_trial_from_a_mark_past_the_hand(path):
    """Nobody lets go at the same millimetre twice; v² - v0² is each trial's own."""
    scenario = scenario_of(path)
    lesson = kit.report(scenario)
    trials, _, *balances = kit.tables(kit.step(lesson, "hand-in"))
    speeds = ["Speed at the mark", "Predicted final speed", "Measured minus predicted"]
    assert [re.sub(", .*v_.*,", "", head) for head in trials[0][-3:]] == [
        f"{name} in m/s" for name in speeds
    ]
    for rows in balances:
        # Friction acts on the way out and on the way back; gravity counts from start to end.
        ways = (", out,", ", back,") if "Acceleration, out, in m/s²" in trials[0] else ("",)
        heads = ["Trial", "Time in s", *(f"Distance{way} in m" for way in ways)]
        assert rows[0][: len(heads)] == heads
        titles = [system.title for system in scenario.systems]
        assert rows[0][len(rows[0]) - len(titles) :] == titles
        assert [row[0] for row in rows[1:14]] == [row[0] for row in trials[1:]]
    assert len(balances) == 1
    told = {found.id: kit.everything(found) for found in lesson.steps}
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
def test_the_table_of_influences_says_what_the_model_does(name, row):
    """Each change by itself, put through the solver: acceleration along the run, and tension."""
    before = scenario_of(DEMO / f"{name}.yaml")
    after = with_numbers(before, dict([CHANGES[row]]))
    shifts = zip(*(_pace_and_pull(scenario) for scenario in (before, after)), strict=True)
    told = next(
        line for line in kit.tables(kit.step(kit.report(before), "influences"))[0] if line[0] == row
    )
    assert told[1:3] == ["larger" if new > old else "smaller" for old, new in shifts]


def _pace_and_pull(scenario: Scenario) -> tuple[float, float]:
    phase = lab_of(scenario, numbers=True).phase
    pull = next(f for f in phase.forces if f.name == "tension of string on cart")
    return abs(phase.accelerations["cart"]), pull.size or 0.0


# ---- what trials of a kind bring about in words, as ``said.yaml`` lists it
def whose(name: str, *, recorded: bool = False) -> measured.Evidence:
    real = tuple(replace(each, record=None, run=None) for each in kit.usual().analysis.trials)
    analysis = kit.usual().analysis if recorded else replace(kit.usual().analysis, trials=real)
    return replace(kit.usual(), whose=name, analysis=analysis)


def otherwise(**found: Any) -> measured.Evidence:
    """Quiet trials with parts of the account of the difference put in."""
    evidence = kit.account()
    told = evidence.judgement.discrepancy
    changes = {name: replace(getattr(told, name), **each) for name, each in found.items()}
    judgement = replace(evidence.judgement, discrepancy=replace(told, **changes))
    return replace(evidence, judgement=judgement)


def beside(u: float, **values: float) -> Mapping[str, Mapping[str, model.Estimate]]:
    return {"beside": {place: model.Estimate(value=value, u=u) for place, value in values.items()}}


def with_scale() -> measured.Evidence:
    found = kit.typed(1.49, 1.50, 1.51)
    estimates = {t.name: t.estimates["acceleration"] for t in found.analysis.trials}
    summary = summaries.summarise(estimates, {"scale of positions": 0.008})
    return kit.typed(1.49, 1.50, 1.51, summary={"acceleration": summary})


def with_first(**changes: Any) -> measured.Evidence:
    first, *others = kit.usual().analysis.trials
    trials = (replace(first, **changes), *others)
    return kit.judged(kit.level(), replace(kit.usual().analysis, trials=trials))


def calmer() -> measured.Evidence:
    """Accelerations that their records know better."""
    calm = [
        replace(each, estimates={**each.estimates, "acceleration": replace(known, u=known.u / 10)})
        for each in kit.usual().analysis.trials
        for known in [each.estimates["acceleration"]]
    ]
    return replace(kit.usual(), analysis=replace(kit.usual().analysis, trials=tuple(calm)))


def made(case: Mapping[str, Any]) -> measured.Evidence:
    """As ``trials.yaml`` says it."""
    match case:
        case {"equal": values}:
            return kit.against(kit.measured(case.get("count", 3), **values))
        case {"typed": values}:
            return kit.typed(*values, excluded=case.get("excluded", ""))
        case {"written": numbers}:
            given = tuple(parse_quantity(f"{number} m/s²", "acceleration") for number in numbers)
            return kit.against(analysis_of(Measured(acceleration=given), kit.level(), kit.GRAVITY))
        case {"truth": truth}:
            return kit.account(*truth.items(), sensors=summaries.Sensors(**case.get("sensors", {})))
    only, times, plus = (case.get(key, {}) for key in ("only", "times", "plus"))
    return kit.trials_with(
        lambda _, name, each: (
            replace(each, value=each.value * times.get(name, 1) + plus.get(name, 0))
            if not only or name in only
            else None
        )
    )


TRIALS: Mapping[str, Callable[[], measured.Evidence]] = {
    **{name: partial(made, case) for name, case in cases(__file__, "trials").items()},
    "rough": lambda: kit.against(kit.trials(("track.friction", "0.011 ± 0.002"))),
    "exact givens": lambda: kit.against(kit.usual().analysis, kit.without_uncertainty(kit.level())),
    "usual": kit.usual,
    "heavy pulley": kit.heavy_pulley,
    "one without work": lambda: kit.trials_with(
        lambda trial, name, each: None if (trial.name, name) == LOST else each
    ),
    "loss without a place": lambda: otherwise(
        balance=beside(0.00104, pulled=0.0009, elsewhere=0.0016, everything=0.0025)
    ),
    "negative by chance": lambda: otherwise(
        separation={"settled": {Unknown.ELSEWHERE: BELOW}}, plain={"settled": {}}
    ),
    "one column alone": lambda: otherwise(
        separation={"settled": EVERY}, plain={"settled": EVERY | {Unknown.ELSEWHERE: LARGE}}
    ),
    "means alone": lambda: kit.typed(summary={"acceleration": MEAN}),
    "shared effect": with_scale,
    "window by hand": lambda: with_first(window=(0.5, 1.4), window_by_hand=True),
    "calm records": calmer,
    "lighter": lambda: kit.judged(
        kit.level(("weight.mass", "100.0 g ± 0.1 g")), kit.usual().analysis
    ),
    "simulated records of a bench": lambda: whose("bench", recorded=True),
}


@cache
def page(kind: str, shown: str) -> Lesson:
    evidence = TRIALS[kind]() if kind in TRIALS else whose(kind)
    scenario = kit.level(*kit.QUIET)
    match shown:
        case "data":
            return kit.data(scenario, evidence)
        case "staff":
            setting = lab_of(kit.level(), numbers=True)
            return replace(lesson_from(kit.level()), steps=measured.quality(setting, evidence))
    return kit.solution(scenario, evidence)


@pytest.mark.parametrize("row", SAID, ids=lambda row: f"{row['trials']}, {row['at']}")
def test_the_pages_say_what_the_trials_bring_about(row):
    assert_said(row, page(row["trials"], row.get("page", "")))
