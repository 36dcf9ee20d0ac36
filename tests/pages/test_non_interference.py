"""Before release nothing on the students' pages depends on anything that is held back."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fallwork.errors import BadInput
from fallwork.pages import build_pages, calendar, labpages, steppages, worked
from fallwork.pages.context import Context
from fallwork.pages.schedule import SOLUTION
from fallwork.scenario import CourseData, Lab, Term, load_course, with_numbers
from fallwork.scenario.model import GivenMean, Measured, Section, Withdrawal
from fallwork.scenario.quantity import parse_quantity
from pages.history import BASE, DAY, course, lab, start, term
from pages.interference import differences, scaled, with_other_numbers, worked_once

SCENARIOS = load_course(Path(__file__).parents[1] / "scenario" / "sound").scenarios
FACTORS = (0.61, 1.37)
MEAN = GivenMean(value=parse_quantity("1.41 m/s² ± 0.01 m/s²", "acceleration"), n=9)
EACH = tuple(parse_quantity(f"{number} N", "force") for number in (0.75, 0.76, 0.74))
TRIALS = Measured(values={"acceleration": MEAN, "tension": EACH}, whose="simulation")


@pytest.fixture(scope="module", autouse=True)
def _quick() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch, worked_once(patch):
        yield


@st.composite
def labs(draw: st.DrawFn, name: str) -> Lab:
    """A lab with dates, sections, trials and perhaps a withdrawal, in any order that may be."""
    opens = start(2) + draw(st.integers(0, 60)) * DAY
    data = draw(st.integers(0, 10))
    due = draw(st.integers(data, 20))
    solution = due + draw(st.integers(1, 9))
    section = Section(
        id="a",
        title="A",
        opens=opens - draw(st.integers(0, 3)) * DAY,
        data_opens=opens + data * DAY,
        due=opens + due * DAY,
    )
    gone = opens + draw(st.integers(1, 90)) * DAY
    return lab(
        name,
        opens,
        draw(st.sampled_from(("512.0 g", "498.0 g"))),
        data_opens=draw(st.sampled_from((None, opens + data * DAY))),
        due=opens + due * DAY,
        solution_opens=opens + solution * DAY,
        sections=draw(st.sampled_from(({}, {"a": section}))),
        measured=draw(st.sampled_from((None, TRIALS))),
        withdrawn=draw(st.sampled_from((None, Withdrawal(at=gone, because="It was bent.")))),
    )


@st.composite
def courses(draw: st.DrawFn) -> CourseData:
    """One lab, or two in one term or in two."""
    terms: list[Term] = []
    one, two, twice = {"a": 1}, {"a": 1, "b": 1}, {"a": 2}  # labs by term
    for name, count in draw(st.sampled_from((one, one, two, twice))).items():
        given = (draw(labs(f"level-{number}")) for number in range(count))
        terms.append(term(f"2027-{name}", *given))
    return course(*terms)


@settings(
    max_examples=100,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(data=courses(), days=st.integers(-5, 120), factor=st.sampled_from(FACTORS))
def test_what_is_held_back_does_not_show_through(
    data: CourseData, days: int, factor: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = start(2) + timedelta(days=days, hours=5)
    assert differences(data, now, factor, monkeypatch) == []


def given_as(name: str) -> CourseData:
    """A course in which this set-up runs, its example with other masses."""
    scenario = SCENARIOS[name]
    masses = {
        f"{each}.mass": f"{1234.5 * thing.mass.value:.1f} g"
        for each, thing in scenario.objects.items()
        if getattr(thing, "mass", None)
    }
    one = lab("level", start(2), measured=TRIALS)
    one = replace(one, scenario=scenario, variant=scenario)
    return course(term("2027-spring", replace(one, example=with_numbers(scenario, masses))))


@pytest.mark.parametrize("name", SCENARIOS)
def test_no_set_up_shows_its_results_before_the_solution(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert differences(given_as(name), start(2) + DAY, 1.37, monkeypatch) == []


def test_records_that_are_held_back_are_not_even_read(monkeypatch: pytest.MonkeyPatch) -> None:
    demo = load_course(Path(__file__).parents[2] / "site-data")
    demo = replace(demo, published={})  # whether or not a site has been made of it here
    labs = (each for term in demo.terms for each in term.labs)
    given = next(each for each in labs if each.id == "level-track")
    demo = replace(demo, terms=(replace(demo.terms[0], labs=(given,)),))
    assert given.measured is not None
    assert len(given.measured.files) == 10
    assert differences(demo, given.trials_open - DAY, 1.37, monkeypatch) == []
    # Once they are open the same replacement does show: those files aren't there.
    other = with_other_numbers(demo, given.trials_open - DAY, 1.37)
    with pytest.raises(BadInput, match=r"another\.csv:1:1: there is no such file"):
        build_pages(other, now=given.trials_open, edition="student")


# ---- the test itself: dependencies that are planted have to be found

RUNNING = start(2) + DAY
ONE = course(term("2027-spring", lab("level", start(2), measured=TRIALS)))
FOLDER = "2027-spring/level"


def test_other_results_are_other_results() -> None:
    solution = worked.solve(worked.apparatus_of(BASE.scenarios["level"], 9.81))
    before, after = (each.phases[0] for each in (solution, scaled(solution, 2.0)))
    assert after.accelerations["cart"] == 2 * before.accelerations["cart"]
    assert [force.work for force in after.forces] == [2 * (f.work or 0) for f in before.forces]


def test_after_the_solution_is_open_nothing_is_replaced(monkeypatch: pytest.MonkeyPatch) -> None:
    assert differences(ONE, start(2) + 14 * DAY, 1.37, monkeypatch) == []


def test_arrows_to_scale_are_found(monkeypatch: pytest.MonkeyPatch) -> None:
    draw = worked.draw

    def to_scale(slot: Any, **inputs: Any) -> Any:
        return draw(slot, **{**inputs, "to_scale": True})

    monkeypatch.setattr(worked, "draw", to_scale)
    found = differences(ONE, RUNNING, 1.37, monkeypatch)
    assert f"{FOLDER}/figures/prelab-diagram-cart.svg" in found


def test_an_axis_that_ends_at_a_result_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    draw = worked.draw

    def with_axis(slot: Any, **inputs: Any) -> Any:
        figure = draw(slot, **inputs)
        speed = max(abs(v or 0) for v in inputs["solution"].phases[0].end_velocities.values())
        return replace(figure, svg=figure.svg.replace("<svg ", f'<svg data-end="{speed:.0f}" ', 1))

    monkeypatch.setattr(worked, "draw", with_axis)
    assert f"{FOLDER}/figures/index-sketch.svg" in differences(ONE, RUNNING, 4.0, monkeypatch)


def test_a_safety_note_with_a_computed_speed_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    build = worked.build_lesson

    def with_speed(scenario: Any, apparatus: Any, solution: Any, **more: Any) -> Any:
        lesson = build(scenario, apparatus, solution, **more)
        fast = any((v or 0) > 2.0 for v in solution.phases[0].end_velocities.values())
        note = ("Stop the cart with both hands.",) if fast else ("Stop the cart.",)
        return replace(lesson, safety=(*lesson.safety, note))

    monkeypatch.setattr(worked, "build_lesson", with_speed)
    found = differences(ONE, RUNNING, 4.0, monkeypatch)
    assert {f"{FOLDER}/index.md", f"{FOLDER}/prelab.md"} <= set(found)


def test_a_link_to_a_page_that_depends_on_a_result_is_found(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    links = Context.page_links

    def with_next(self: Context, given: Any, *, here: str) -> Any:
        found = links(self, given, here=here)
        steps = self.worked(given, SOLUTION).solution.phases[0].duration or 0
        return found if steps < 1 else found[:-1]

    monkeypatch.setattr(Context, "page_links", with_next)
    assert f"{FOLDER}/prelab.md" in differences(ONE, RUNNING, 1.37, monkeypatch)


def test_a_date_that_depends_on_a_trial_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    text = calendar.calendar

    def with_trials(context: Context) -> str:
        found = [str(each.lab.measured and each.lab.measured.values) for each in context.labs()]
        return f"{text(context)}X-TRIALS:{sum(map(ord, found[0]))}\r\n"

    monkeypatch.setattr(calendar, "calendar", with_trials)
    assert "calendar.ics" in differences(ONE, RUNNING, 1.37, monkeypatch)


def test_an_address_that_comes_too_early_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    listings = steppages.step_listings

    def with_secret(context: Context) -> Any:
        found = listings(context)
        given = next(context.labs())
        slow = (context.worked(given, SOLUTION).solution.phases[0].duration or 0) < 1
        return found if slow else (*found, replace(found[-1], id="after-a-second"))

    monkeypatch.setattr(steppages, "step_listings", with_secret)
    assert "step/level/after-a-second.md" in differences(ONE, RUNNING, 1.37, monkeypatch)


def test_an_overview_that_shows_numbers_too_early_is_found(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    givens = labpages.lists.givens
    monkeypatch.setattr(labpages.notices, "version", lambda *_: None)
    monkeypatch.setattr(labpages.lists, "overview_symbols", givens)
    assert f"{FOLDER}/index.md" in differences(ONE, start(1), 1.37, monkeypatch)
