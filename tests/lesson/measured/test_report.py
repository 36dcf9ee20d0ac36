"""The report page: what to do and to hand in, in symbols, with nothing worked out."""

import re
from pathlib import Path

import pytest
import yaml

from fallwork.lesson import stepfiles
from fallwork.lesson.document import Lesson
from fallwork.lesson.latex import latex
from fallwork.measurement.view import view_of
from fallwork.scenario import Scenario, load_scenario, with_numbers
from lesson.measured import kit
from lesson.measured.kit import everything, level, prose, report, step, tables, words

STEPS = [
    *("your-masses", "track-and-string", "distance", "force-zero", "signs", "trials"),
    *("window", "how-acceleration", "how-final-speed", "how-distance", "how-tension", "how-work"),
    *("summary", "outliers"),
    *("prediction", "verdict", "rounding", "discrepancy", "influences"),
    *("hand-in", "tables", "questions-to-answer", "how-judged"),
]
SAID = yaml.safe_load(Path(__file__).with_name("reported.yaml").read_text("utf-8"))
MEASURED = stepfiles.FOLDER / "measured"
HEAVY = kit.DEMO / "heavy-pulley.yaml"
ALL_SET_UPS = sorted([*kit.CASES.glob("*.yaml"), *kit.DEMO.glob("*.yaml")])


def pushed(scenario: Scenario) -> bool:
    lab = kit.context(scenario, numbers=False)
    return lab.moves and lab.starts_moving


def questions(lesson: Lesson) -> dict[str, str]:
    return {question.id: found.id for found in lesson.steps for question in found.questions}


def test_the_steps_go_from_the_bench_to_the_report() -> None:
    assert [found.id for found in report(level()).steps] == STEPS


def test_every_question_leads_to_a_step_of_the_report_page() -> None:
    """It is open while students measure and write, unlike trials and solution."""
    found = questions(report(level()))
    assert set(SAID["questions"]) <= set(found)
    for other in ("incline-up", "level-track-frictionless", "push-away"):
        found |= questions(report(load_scenario(kit.DEMO / f"{other}.yaml")))
    files = (f"measured/{file.name.split('.')[0]}" for file in sorted(MEASURED.iterdir()))
    ids = [each for file in files for each in stepfiles._ids(file)]
    asked = [id_ for kind, id_, *_ in ids if kind == "question"]
    assert [each for each in asked if each not in found] == []
    assert found["which-uncertainty"] == "summary"


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


def test_a_mass_that_was_left_out_is_missing_from_the_normal_force_too() -> None:
    """a = (m_h - μ (m_c - m))/(m_c - m + m_h) g; on an air track without the second term."""
    for name, numerator in {
        "level-track": r"(m_\mathrm{h} - \mu \, (m_\mathrm{c} - m_\mathrm{off})) \, g}",
        "level-track-frictionless": r"{m_\mathrm{h} \, g}",
    }.items():
        (slip,) = step(of_demo(name), "your-masses").slips
        assert numerator in latex(slip.formula)


def test_there_is_a_cell_for_each_value_of_one_s_own() -> None:
    (rows,) = tables(step(report(level()), "your-masses"))
    assert rows[0] == ["Quantity", "Given", "Yours", "Standard uncertainty"]
    assert rows[2] == [r"mass of the hanging mass, m_\mathrm{h}", "80.0 g ± 0.1 g", "", ""]


def test_ten_trials_and_each_system_have_their_rows() -> None:
    trials, comparison, systems = tables(step(report(level()), "tables"))
    assert [row[0] for row in trials[1:]] == [
        *map(str, range(1, 11)),
        *("Mean", "Standard deviation", "Standard uncertainty of the mean"),
    ]
    assert [row[0] for row in comparison[1:]] == [
        *("Acceleration", "Mean tension over the distance", "Final speed")
    ]
    assert [row[0] for row in systems[1:]] == [
        "The cart alone",
        "Cart, hanging mass, string and Earth",
    ]


def test_it_is_judged_by_the_course_s_rubric_and_by_what_always_counts() -> None:
    judged = prose(step(report(level()), "how-judged"))
    assert "Every number has its unit." in judged  # of this course
    for always in (
        "sign and its unit",
        "The system is named before its equation",
        "Diagram and equation say the same",
        "The verdict uses the uncertainty",
        "The difference is argued from evidence",
    ):
        assert always in judged


def test_coverage_factors_are_those_of_student_s_t() -> None:
    """NIST/SEMATECH e-Handbook 1.3.6.7.2 (read): 4.303, 2.776, 2.262, 2.093 for 2, 4, 9, 19."""
    (rows,) = tables(step(report(level()), "summary"))
    factors = {int(n): k for n, _, k in rows[1:]}
    assert [factors[n] for n in (3, 5, 10, 20)] == ["4.30", "2.78", "2.26", "2.09"]


def test_no_cause_is_named_without_what_else_it_would_show() -> None:
    (rows,) = tables(step(report(level()), "influences"))
    assert rows[0][-1] == "What else it would show"
    assert all(all(row) for row in rows)
    ways = {row[0]: tuple(row[1:3]) for row in rows[1:]}
    # a = (m2 g − f)/(m1 + m2 + I/r²), T = m1 a + f = m2 (g − a) − I a/r²
    assert ways["More friction at the cart"] == ("smaller", "larger")
    assert ways["A heavy pulley"] == ("smaller", "smaller")


def test_directions_are_told_only_where_they_hold() -> None:
    (rows,) = tables(step(report(load_scenario(kit.CASES / "two-hanging.yaml")), "influences"))
    assert rows[0] == ["Influence", "What else it would show"]


RUNS = re.compile(
    r"record|energ|(?<!at )\bworks?\b|system|fitted|the run|final speed|accelerat|velocity"
)


@pytest.mark.parametrize("path", [p for p in ALL_SET_UPS if "held" in p.stem], ids=str)
def test_what_stays_at_rest_asks_only_for_what_can_be_measured_at_rest(path: Path) -> None:
    lesson = report(load_scenario(path))
    assert not RUNS.findall("\n".join([words(lesson.summary), *map(everything, lesson.steps)]))
    assert "verdict" in [found.id for found in lesson.steps]  # by the one rule
    assert "T_\\mathrm{meas}" in prose(step(lesson, "summary"))


@pytest.mark.parametrize("path", ALL_SET_UPS, ids=lambda path: path.stem)
def test_every_set_up_has_a_report_with_room_for_all_that_is_asked_for(path: Path) -> None:
    """What is to be weighed, whose motion and pull is meant, the speed that a push gives."""
    scenario = load_scenario(path)
    lesson, view = report(scenario), view_of(scenario)
    givens = [row[0] for row in tables(step(lesson, "your-masses"))[0]]
    lab = kit.context(scenario, numbers=False)
    for name in lab.movers:
        assert any(given.startswith(f"mass of {lab.the(name)}") for given in givens)
    filled = step(lesson, "tables")
    assert lab.the(view.moving) in prose(filled)
    assert view.string is None or f"the pull of {lab.the(view.string)}" in prose(filled)
    pushed = lab.starts_moving
    assert ("Speed at the mark in m/s" in tables(filled)[0][0]) == pushed
    ids = [found.id for found in lesson.steps]
    assert {"your-masses", "hand-in", "how-judged"} <= set(ids)
    assert len(set(ids)) == len(ids)
    assert ("how-distance" in ids) == lab.moves
    assert any(symbol.id == "measured.start-speed" for symbol in lesson.symbols) == pushed
    if lab.moves:
        cells = [tuple(row[1:]) for row in tables(step(lesson, "influences"))[0]]
        assert len(set(cells)) == len(cells)


def test_products_of_units_have_one_spelling() -> None:
    """A raised dot, as in the SI Brochure (9th ed., 5.4.1, from memory; a space is allowed too)."""
    pages = [of_demo("heavy-pulley"), kit.worked_alone(load_scenario(HEAVY))]
    told = "\n".join(everything(found) for page in pages for found in page.steps)
    told += "\n".join(f"{given.as_written} {given.in_si}" for given in pages[1].givens)
    assert "N·m" in told
    assert not re.findall("(?<![A-Za-z])(?:[mµ]?N|k?g)[ \u00a0]c?m(?![a-z])", told)


WITH_ZOO = sorted([*ALL_SET_UPS, *(Path(__file__).parents[1] / "zoo").glob("*.yaml")])
PUSHED = [path for path in WITH_ZOO if pushed(load_scenario(path))]


@pytest.mark.parametrize("path", PUSHED, ids=lambda path: path.stem)
def test_pushes_that_differ_are_compared_trial_by_trial(path: Path) -> None:
    """Final speeds scatter as the pushes do; v² - v0² is each trial's own."""
    scenario = load_scenario(path)
    trials, _, *balances = tables(step(report(scenario), "tables"))
    speeds = ["Speed at the mark", "Final speed predicted from it", "Measured minus predicted"]
    assert trials[0][-3:] == [f"{name} in m/s" for name in speeds]
    for rows in balances:
        assert rows[0] == ["Trial", *(system.title for system in scenario.systems)]
        assert [row[0] for row in rows[1:14]] == [row[0] for row in trials[1:]]
    assert bool(balances) == bool(scenario.systems)


@pytest.mark.parametrize("path", PUSHED, ids=lambda path: path.stem)
def test_a_pushed_run_begins_at_a_mark_past_the_hand(path: Path) -> None:
    """Nobody lets go at the same millimetre twice; where the run begins, no hand pushes."""
    told = {found.id: everything(found) for found in report(load_scenario(path)).steps}
    released = "(?:place|before|at|from|after) (?:the|of) release"
    assert not re.search(released, " ".join(told.values()))
    assert "at the mark" in told["trials"]
    assert "where the position passes the mark" in told["window"]
    if "distance" in told:
        assert "past the place where the hand lets go" in told["distance"]


UNREAD = {  # strings that pull on a system of their own, apart from the one with the sensor
    "train": {"The rear cart alone": "the coupling"},
    "train-lift": {"The front cart alone": "the hitch"},
    "between": {"The cart alone": "the front string"},
    "two-weights": {},
    "moving-pulley": {},
}


@pytest.mark.parametrize("name", UNREAD)
def test_no_row_for_an_energy_balance_with_a_pull_that_nothing_measures(name: str) -> None:
    scenario = load_scenario(next(path for path in reversed(WITH_ZOO) if path.stem == name))
    found = step(report(scenario), "tables")
    titles = [system.title for system in scenario.systems]
    rows = [row[0] for row in tables(found)[-1][1:]]
    assert rows == [title for title in titles if title not in UNREAD[name]]
    for title, string in UNREAD[name].items():
        assert f"“{title}” isn't in the table" in prose(found)
        assert f"the work of {string}" in prose(found)


def test_a_train_is_checked_and_coasts_as_a_whole() -> None:
    found = {each.id: everything(each) for each in of_demo("train").steps}
    for told in (found["track-and-string"], found["prediction"]):
        assert "the rear cart and the front cart" in told
    assert "give the front cart a" not in found["track-and-string"]
    alone = kit.worked_alone(load_scenario(kit.DEMO / "train.yaml"))
    hands = [prose(each) for each in alone.steps if "The hand that holds" in prose(each)]
    assert hands
    assert not any("hand that holds the rear" in told for told in hands)


def of_demo(name: str) -> Lesson:
    return report(load_scenario(kit.DEMO / f"{name}.yaml"))


def test_the_report_of_a_slope_asks_for_the_slope_and_not_for_a_level() -> None:
    found = step(of_demo("incline-up"), "track-and-string")
    assert [each.id for each in found.questions] == ["how-exact-is-the-slope", "string-parallel"]


CHANGES = {  # the row of the table, and the numbers that the influence stands for
    "More friction at the cart": ("track.friction", "0.02"),
    "A slope steeper than measured": ("track.slope", "10 deg"),
    "Mass on the cart that wasn't weighed": ("cart.mass", "340 g"),
}


@pytest.mark.parametrize("name", ["incline-up", "incline-down"])
@pytest.mark.parametrize("row", CHANGES)
def test_the_table_of_influences_says_what_the_model_does(name: str, row: str) -> None:
    """Each change by itself, put through the solver: acceleration along the run, and tension."""
    before = load_scenario(kit.DEMO / f"{name}.yaml")
    after = with_numbers(before, dict([CHANGES[row]]))
    shifts = zip(*(_pace_and_pull(scenario) for scenario in (before, after)), strict=True)
    told = next(line for line in tables(step(report(before), "influences"))[0] if line[0] == row)
    assert told[1:3] == ["larger" if new > old else "smaller" for old, new in shifts]


def _pace_and_pull(scenario: Scenario) -> tuple[float, float]:
    phase = kit.context(scenario, numbers=True).phase
    pull = next(f for f in phase.forces if f.name == "tension of string on cart")
    return abs(phase.accelerations["cart"]), pull.size or 0.0


@pytest.mark.parametrize("name", ["push-away", "cases/push-back", "zoo/pushed-up"])
def test_a_stiffer_bearing_shifts_the_pulls_out_and_back_the_other_way_than_the_cart(
    name: str,
) -> None:
    """T_out, T_back = m_c (m_h g ± (μ m_c g + f))/(m_c + m_h) ∓ μ m_c g, with f at the rim.

    On a hanging mass that comes back down T = m (g - a) instead, so out and back change places.
    """
    rows = {row[0]: row[-1] for row in tables(step(_of(name), "influences"))[0]}
    (shown,) = (shows for name, shows in rows.items() if "in the bearing" in name)
    out, back = ("smaller", "larger") if "pushed-up" in name else ("larger", "smaller")
    assert f"{out} on the way out and {back} on the way back" in shown
    assert ("friction at the cart it is the other way round" in shown) == ("cart" in str(rows))


def test_out_and_back_have_tensions_and_works_of_their_own() -> None:
    """T = m_h (g - a) with a larger a on the way out; there the pull points against the motion."""
    lesson = of_demo("push-away")
    trials, comparison, _ = tables(step(lesson, "tables"))
    assert trials[0][1:3] == [
        "Acceleration on the way out in m/s²",
        "Acceleration on the way back in m/s²",
    ]
    ways = [row[0].partition(" on the way ")[2] for row in comparison[1:]]
    assert ways == ["out", "back", "out", "back", ""]


def test_static_friction_is_measured_at_the_weights_where_it_gives_way() -> None:
    """At both limits friction is largest: m_most - m_least = 2 μ m cos θ, from the balance."""
    lesson = of_demo("incline-held")
    trials, comparison = tables(step(lesson, "tables"))
    assert len(trials[0]) == 4  # the trial, tension, two limits
    assert [row[0] for row in comparison[-3:]] == [
        "Largest hanging mass that holds",
        "Smallest hanging mass that holds",
        "Coefficient of static friction",
    ]


def test_a_force_sensor_that_shows_too_much_makes_a_falling_weight_seem_to_gain() -> None:
    """Its account: m g d - T d = K; a larger T leaves more K than work."""
    rows = {row[0]: row[-1] for row in tables(step(of_demo("two-weights"), "influences"))[0]}
    assert (
        "energy seems gained at the right hanging mass"
        in rows["A force sensor that shows too much"]
    )


def test_a_lab_with_a_heavy_pulley_asks_for_more_than_is_given() -> None:
    rows = [row[0] for row in tables(step(of_demo("heavy-pulley"), "influences"))[0]]
    assert "A pulley with more inertia than given" in rows
    assert "A heavy pulley" not in rows


@pytest.mark.parametrize(("name", "where", "told"), SAID["reports"], ids=lambda each: each[:20])
def test_what_a_report_needs_is_told_in_it(name: str, where: str, told: str) -> None:
    assert told in everything(step(_of(name), where))


@pytest.mark.parametrize("name", ["two-weights", "zoo/heavy-pulley", "zoo/incline-down", "train"])
def test_a_wrong_pull_is_told_by_two_balances_that_students_work_out(name: str) -> None:
    """T is inside the whole, so only the balance of the part shifts by (error of T) d."""
    rows = {row[0]: row[-1] for row in tables(step(_of(name), "influences"))[0]}
    shows = rows["A force sensor that shows too much"]
    assert shows.endswith("the energy balance of the whole is unchanged")


def test_the_diameter_is_a_mistake_where_the_inertia_is_divided_by_the_square() -> None:
    """½ m (2r)²/(2r)² = ½ m r²/r²: a diameter in both does no harm."""
    worked = kit.worked_alone(load_scenario(HEAVY))
    assert "a uniform disc that ends where the string runs" in prose(step(worked, "turning-pulley"))
    said = [words(each.done) for each in step(worked, "acceleration").slips if each.id == "P3"]
    assert r"in place of its radius in \frac{I}{r^2}" in said[0]


def _of(name: str) -> Lesson:
    zoo = kit.DEMO.parents[1] / "tests" / "lesson" / "zoo"
    where, _, stem = name.rpartition("/")
    folder = {"zoo": zoo, "cases": kit.CASES, "": kit.DEMO}[where]
    return report(load_scenario(folder / f"{stem}.yaml"))
