"""Before release nothing on the students' pages depends on anything that is held back."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fallwork.errors import BadInput
from fallwork.pages import build as pages_build
from fallwork.pages import schedule, scriptdata, worked
from fallwork.pages.build import build_pages
from fallwork.pages.context import Context, LabPage
from fallwork.pages.made import Made
from fallwork.scenario import Correction, CourseData, Withdrawal, load_course, trials, with_numbers
from fallwork.scenario.term import Lab, Recording, Section, Term
from pages import interference
from pages.history import BASE, DAY, course, in_spring, lab, mean, start, taken, term
from pages.interference import built, differences, each_alone

pytestmark = [pytest.mark.drawn, pytest.mark.usefixtures("lessons_once")]
SCENARIOS = load_course(Path(__file__).parents[1] / "scenario" / "sound").scenarios
FACTORS = (0.61, 1.37)
UNITS = {
    "acceleration": ("m/s²", "acceleration"),
    "tension": ("N", "force"),
    "final_speed": ("m/s", "speed"),
}
TRIALS = trials.Measured(
    acceleration=mean("acceleration", "1.41 m/s² ± 0.01 m/s²", 9),
    tension=taken("force", "0.75 N", "0.76 N", "0.74 N"),
    whose="simulation",
)
DEMO = load_course(Path(__file__).parents[2] / "site-data", record=False)
LABS = {f"{term.id}/{each.id}": (term, each) for term in DEMO.terms for each in term.labs}
SHARE = 12  # of the numbers, one in so many is tried in an everyday run
RUNNING = start(2) + DAY
ONE = in_spring(lab("level", start(2), measured=TRIALS))
FOLDER = "2027-spring/level"


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
    said = [
        Correction(at=opens + DAY, field=field, was="1.234", because="It was 1.234.")
        for field in ("results", "measured")
    ]
    filmed = Recording(
        title="Run",
        address="https://media.example.org/a",
        at=opens + draw(st.integers(-3, 20)) * DAY,
        marks={"tension": 190},
    )
    other = with_numbers(BASE.terms[0].labs[0].variant, {"weight.mass": "77.0 g"})
    return lab(
        name,
        opens,
        draw(st.sampled_from(("512.0 g", "498.0 g"))),
        variants=draw(st.sampled_from(({}, {"bench-1": other}))),
        data_opens=draw(st.sampled_from((None, opens + data * DAY))),
        due=opens + due * DAY,
        solution_opens=opens + solution * DAY,
        sections=draw(st.sampled_from(({}, {"a": section}))),
        measured=draw(st.sampled_from((None, TRIALS))),
        recordings=draw(st.sampled_from(((), (filmed,)))),
        withdrawn=draw(st.sampled_from((None, Withdrawal(at=gone, because="It was bent.")))),
        corrections=draw(st.sampled_from(((), tuple(said)))),
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


@pytest.fixture
def unchecked(monkeypatch) -> None:
    """What is told to authors, of other labs and of marks on recordings, shows on no page."""
    monkeypatch.setattr(pages_build, "check_revealed", lambda *_: None)
    monkeypatch.setattr(pages_build.asked, "check_recordings", lambda *_: None)


@pytest.mark.usefixtures("unchecked")
@settings(
    max_examples=settings.default.max_examples // 10,  # each builds a course three times
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(data=courses(), days=st.integers(-5, 120), factor=st.sampled_from(FACTORS))
def test_what_is_held_back_does_not_show_through(data, days, factor, monkeypatch):
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
    return in_spring(replace(one, example=with_numbers(scenario, masses)))


def test_no_set_up_shows_its_results_before_the_solution(thorough, monkeypatch):
    for name in list(SCENARIOS)[:: 1 if thorough else 3]:
        assert differences(given_as(name), start(2) + DAY, 1.37, monkeypatch) == [], name


# ---- the demo course: every number of every lab, alone
def alone(name: str, **changes: object) -> CourseData:
    """The demo course with this lab only."""
    term_of, given = LABS[name]
    return replace(DEMO, terms=(replace(term_of, labs=(replace(given, **changes),)),))


@pytest.mark.usefixtures("unchecked")
@pytest.mark.parametrize("name", LABS)
def test_before_a_lab_opens_none_of_its_numbers_shows(name, thorough):
    given = LABS[name][1]
    changes = [
        (key, what, other)
        for key, numbers in (("variant", given.variant), ("example", given.example))
        for what, other in each_alone(numbers or given.variant)
    ]
    assert len(changes) > 20
    now = given.opens_first - DAY
    plain = built(alone(name), now)
    for key, what, other in changes[:: 1 if thorough else SHARE]:
        # Of other numbers there may be no such variants: nor do these show.
        changed = alone(name, **{key: other}, **({"variants": {}} if key == "variant" else {}))
        assert built(changed, now) == plain, (key, what)


@pytest.mark.usefixtures("unchecked")
@pytest.mark.parametrize("days", [-1, 1])
def test_before_they_are_open_no_value_of_a_trial_shows(days, thorough):
    name = "2026-autumn/level-track-make-up"
    given = LABS[name][1]
    now = given.opens_first + days * DAY
    changes: list[trials.Measured | None] = [None]
    for key, values in given.measured.values.items():
        for at, quantity in enumerate(values):
            unit, kind = UNITS[key]
            close = f"{quantity.value * 1.003:.4f}" if quantity else "1.1"
            for new in (*taken(kind, f"{close} {unit}", f"-1.2 {unit}"), None):
                one = (*values[:at], new, *values[at + 1 :])
                changes.append(replace(given.measured, **{**given.measured.values, key: one}))
    plain = built(alone(name), now)
    for other in changes[:: 1 if thorough else 3 * SHARE]:
        assert built(alone(name, measured=other), now) == plain


def test_records_that_are_held_back_are_not_even_read(monkeypatch):
    name = "2026-autumn/level-track"
    demo, given = alone(name), LABS[name][1]
    assert len(given.measured.files) == 10
    assert differences(demo, given.trials_open - DAY, 0.61, monkeypatch) == []
    # Once they are open the same replacement does show: those files aren't there.
    other = interference.with_other_numbers(demo, given.trials_open - DAY, 0.61)
    with pytest.raises(BadInput, match=r"another\.csv:1:1: there is no such file"):
        build_pages(other, now=given.trials_open, edition="student")


# ---- the test itself: dependencies that are planted have to be found
def test_other_results_are_other_results_and_after_the_solution_none_is_replaced(monkeypatch):
    solution = interference.solve(worked.apparatus_of(BASE.scenarios["level"], 9.81))
    before, after = (each.phases[0] for each in (solution, interference.otherwise(solution, 2.0)))
    twice, works = 2 * before.accelerations["cart"], {}
    assert twice < after.accelerations["cart"] == pytest.approx(twice, rel=2e-3)
    for one, other in zip(before.forces, after.forces, strict=True):
        works.setdefault(abs(one.work), set()).add(abs(other.work))
    assert {len(others) for others in works.values()} == {1}
    assert differences(ONE, start(2) + 14 * DAY, 1.37, monkeypatch) == []


def test_arrows_to_scale_are_found(monkeypatch):
    draw = worked.draw
    monkeypatch.setattr(worked, "draw", lambda scene: draw(replace(scene, numbers=True)))
    found = differences(ONE, RUNNING, 1.37, monkeypatch)
    assert f"{FOLDER}/figures/prelab-diagram-cart.svg" in found


def test_a_date_that_depends_on_a_trial_is_found(monkeypatch):
    text = pages_build.calendar

    def with_trials(context: Context) -> str:
        found = [str(each.lab.measured and each.lab.measured.values) for each in context.labs()]
        return f"{text(context)}X-TRIALS:{sum(map(ord, found[0]))}\r\n"

    monkeypatch.setattr(pages_build, "calendar", with_trials)
    assert differences(ONE, RUNNING, 1.37, monkeypatch) == []  # they aren't handed to it
    monkeypatch.setattr(pages_build, "opened", lambda data, *_: data)
    assert "calendar.ics" in differences(ONE, RUNNING, 1.37, monkeypatch)


def test_a_result_among_what_scripts_calculate_with_is_found(monkeypatch):
    relations = scriptdata._relations

    def with_secret(page: LabPage) -> dict[str, Any]:
        solution = page.given.page(schedule.SOLUTION).shown.setup.solution
        return {**relations(page), "value": solution.phases[0].duration}

    monkeypatch.setattr(scriptdata, "_relations", with_secret)
    found = differences(ONE, RUNNING, 1.37, monkeypatch)
    assert {f"{FOLDER}/prelab.md", f"{FOLDER}/report.md"} <= {*found}


def test_an_address_that_comes_too_early_is_found(monkeypatch):
    listings = pages_build.step_listings

    def with_secret(labs: Iterable[Made]) -> Any:
        found, (given, *_) = tuple(listings(labs)), (each.given for each in labs)
        slow = (
            given.site.worked(given, schedule.SOLUTION).setup.solution.phases[0].duration or 0
        ) < 1
        return found if slow else (*found, replace(found[-1], path="step/level/after-a-second"))

    monkeypatch.setattr(pages_build, "step_listings", with_secret)
    assert "step/level/after-a-second.md" in differences(ONE, RUNNING, 1.37, monkeypatch)


@pytest.mark.usefixtures("unchecked")
def test_numbers_that_are_handed_over_too_early_are_found(monkeypatch):
    # By the drawing of the slope, the words for rest and motion, and what is said of friction.
    name = "2026-autumn/incline-up"
    given = LABS[name][1]
    monkeypatch.setattr(pages_build, "opened", lambda data, *_: data)
    now = given.opens_first - DAY
    plain = built(alone(name), now)
    wanted = {  # the change -> a file in which it shows
        "track.slope: 7.5225 deg ± 0.05 deg": "figures/index-sketch.svg",
        "weight.mass: 5.5 g ± 0.1 g": "index.md",
        "track.friction: 0 ± 0.002": "index.md",
    }
    changes = dict(each_alone(given.variant))
    for what, file in wanted.items():
        other, path = built(alone(name, variant=changes[what]), now), f"{name}/{file}"
        assert other[path] != plain[path], what
