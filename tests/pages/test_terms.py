"""Corrections, withdrawals, renamed steps; where a step stands; what an audit is told."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from cases import cases
from fallwork.pages.build import addresses
from fallwork.pages.heldback import HeldBack, held_back, open_records, written
from fallwork.pages.worked import evidence_of, gravity_estimate
from fallwork.scenario import Correction, CourseData, Excluded, Measured, Withdrawal, load_course
from fallwork.scenario.term import Recording
from pages import history
from pages.history import DAY, course, in_spring, lab, mean, pages, start, taken, term

SPRING = term("2027-spring", lab("level", start(2)), lab("make-up", start(3), "498.0 g"))
TAKEN = Withdrawal(at=start(2) + 5 * DAY, because="The track was bent.")
GONE = history.in_spring(lab("level", start(2), withdrawn=TAKEN))
AUTUMN = term("2027-autumn", lab("level", start(9), "533.0 g"))
BOTH = course(term("2027-spring", lab("level", start(2))), AUTUMN)
KNOWN = replace(BOTH, course=replace(BOTH.course, url="https://lab.example.org/"))
DEMO = load_course(Path(__file__).parents[2] / "site-data")
RECORD = Path("trials/2027-spring/level/trial-01.csv")
TRIALS = Measured(acceleration=mean("acceleration", "1.41 m/s² ± 0.01 m/s²", 9), files=(RECORD,))
LAB = lab("level", start(2), data_opens=start(2) + 5 * DAY, measured=TRIALS)
DATA = course(term("2027-spring", LAB), term("2027-autumn", lab("level", start(9), "533.0 g")))
ALL = ["prelab", "worked example", "bench sheet", "report", "trials", "solution"]
BALANCE, BENT = ["The balance was off."], ["The track is bent."]


def test_an_extension_is_told_to_nobody():
    granted = replace(SPRING.labs[0], extended_to=start(2) + 12 * DAY)
    plain, extended = (pages(course(term("t", one)), start(2)) for one in (SPRING.labs[0], granted))
    assert extended == plain


# ---- corrections
@pytest.mark.parametrize(("field", "days", "told"), cases(__file__, "corrections"))
def test_a_correction_of_what_is_held_back_waits_for_its_page(field, days, told):
    said = Correction(at=start(2) + DAY, field=field, was="1.23 m/s²", because="It was 1.23.")
    values = taken("acceleration", *["1.22 m/s²"] * 5)
    one = lab(
        "level",
        start(2),
        corrections=(said,),
        data_opens=start(2) + 5 * DAY,
        measured=Measured(acceleration=values, whose="simulation"),
    )
    built = pages(history.in_spring(one), start(2) + days * DAY)
    assert [path for path, page in built.items() if "1.23" in page and path.endswith(".md")] == [
        f"2027-spring/level/{name}.md" for name in told
    ]
    assert "version 2" not in built["2027-spring/level/prelab.md"]


# ---- withdrawal: what its pages say stands in told.yaml


def test_a_withdrawn_lab_keeps_its_addresses_and_is_before_as_it_always_was():
    plain = history.in_spring(lab("level", start(2)))
    assert pages(GONE, start(2) + 4 * DAY) == pages(plain, start(2) + 4 * DAY)
    before, after = ({*addresses(GONE, start(month))} for month in (2, 3))
    assert before == after
    assert "2027-spring/level/prelab.html#tension" in before


# ---- where a step stands, and all addresses


@pytest.mark.parametrize("data", [BOTH, KNOWN])
def test_addresses_are_the_pages_and_steps_of_the_site(data):
    now = start(9) + DAY
    built = {path.replace(".md", ".html"): text for path, text in pages(data, now).items()}
    held = {
        f"{path}{anchor}"
        for path, page in built.items()
        for anchor in ("", *(f"#{each}" for each in history.anchors(page, former=True)))
        if path.endswith((".html", ".ics"))
    }
    assert {*addresses(data, now)} == held


# ---- what an audit is told: what is held back, and what people wrote
def held(what: str, now: datetime, data: CourseData = DATA) -> HeldBack:
    (found,) = (each for each in held_back(data, now) if each.what.startswith(what))
    return found


@pytest.mark.parametrize(
    ("days", "left", "records"), [(-31, 6, []), (0, 2, []), (5, 1, [RECORD]), (14, 0, [RECORD])]
)
def test_what_is_held_back_grows_less_with_time(days, left, records):
    now = start(2) + days * DAY
    found = held_back(DATA, now)
    names = [each.what for each in found if each.page.startswith("2027-spring/level/")]
    assert names == [f"{what} of level in 2027-spring" for what in ALL[len(ALL) - left :]]
    assert list(open_records(DATA, now)) == records


def test_the_answers_of_a_solution_are_the_closed_form_s_and_nothing_given():
    # a = (m_h - mu m_c) g / (m_c + m_h), by hand, with 512 g, 90 g and mu = 0.008
    a = (0.090 - 0.008 * 0.512) * 9.80665 / 0.602
    answers = held("solution of level in 2027-spring", start(2)).answers
    (found,) = (each for each in answers if each.quantity == "acceleration of the cart")
    assert (found.value, found.unit) == (pytest.approx(a), "m/s²")
    # Once the string is slack the counterweight falls freely, with the g that every page names.
    scenario = DEMO.scenarios["pulley-on-a-string"]
    one = replace(LAB, scenario=scenario, variant=scenario, example=scenario, measured=None)
    free = in_spring(one)
    solution = held("solution", start(2), free)
    values = {each.quantity: abs(each.value) for each in solution.answers}
    assert "acceleration of the counterweight" in values
    assert "acceleration of the counterweight while coasting" not in values
    assert 9.80665 not in values.values()


def test_a_page_is_held_back_with_drawings_and_files_and_records_when_they_can_be_read(tmp_path):
    solution = held("solution of level in 2027-spring", start(2))
    assert solution.page == "2027-spring/level/solution.html"
    folder = "2027-spring/level"
    trials = held("trials of level in 2027-spring", start(2))
    assert [(each.value, each.unit) for each in trials.answers] == [(1.41, "m/s²")]
    assert solution.files == (f"{folder}/figures/solution-", f"{folder}/solution/")
    missing = replace(LAB, measured=Measured(files=(tmp_path / "trial-01.csv",)))
    assert held("trials", start(2), in_spring(missing)).answers == ()


def test_a_recording_is_held_back_with_its_lab_and_until_its_date():
    early = Recording(title="How", address="https://media.example.org/a", at=start(1))
    late = replace(early, title="The landing", address="https://media.example.org/b", at=start(3))
    data = in_spring(lab("level", start(2), recordings=(early, late)))
    for now, titles in ((start(1), ["How", "The landing"]), (start(2), ["The landing"])):
        held = [each for each in held_back(data, now) if "recording" in each.what]
        assert [each.what for each in held] == [
            f"the recording “{title}” of level in 2027-spring" for title in titles
        ]
    assert held_back(data, start(4)) == ()


def test_the_means_of_records_are_held_back_with_the_trials():
    """Means by hand: over the values that ``fallwork trials`` finds in each record."""
    one = next(lab for term in DEMO.terms for lab in term.labs if lab.id == "level-track")
    trials = held("trials of level-track in", one.opens, DEMO)
    found = evidence_of(one, gravity_estimate(DEMO.course)).analysis.counted
    means = {each.quantity: each.value for each in trials.answers}
    for name in ("acceleration", "final_speed", "mean_tension"):
        values = [trial.estimates[name].value for trial in found]
        label = f"mean {name.removeprefix('mean_').replace('_', ' ')}"
        assert means[label] == pytest.approx(sum(values) / len(values))
    assert "mean distance" not in means  # given


def test_numbers_are_held_back_until_a_lab_opens_and_two_figures_tell_something_then():
    # Not those that its scenario has too, nor those that another lab shows.
    names = {each.quantity for each in held("prelab of level in 2027-autumn", start(2)).answers}
    assert names == {"cart.mass"}  # 533 g; all others are those of the spring
    assert "run.distance" not in names
    assert "prelab of level in 2027-autumn" not in {e.what for e in held_back(DATA, start(9))}
    autumn = "solution of level in 2027-autumn"
    assert {each.figures for each in held(autumn, start(2)).answers} == {3}
    assert {each.figures for each in held(autumn, start(9)).answers} == {2}


def words(now: datetime) -> dict[str, str]:
    said = (
        Correction(at=start(2) + 2 * DAY, field="cart.mass", because=BALANCE[0]),
        Correction(at=start(2) + 2 * DAY, field="results", because="It was 1.26 m/s²."),
    )
    gone = Withdrawal(at=start(2) + 4 * DAY, because=BENT[0])
    missed = Measured(excluded=(Excluded(trial="3", because="It was nudged."),))
    filmed = Recording(title="How it was done", address="https://a.example.org/", at=gone.at)
    changed = replace(LAB, title="A level track", corrections=said, withdrawn=gone, measured=missed)
    data = in_spring(replace(changed, recordings=(filmed,)))
    return {text: str(place) for place, text in written(data, now)}


def test_what_people_wrote_is_read_where_it_stands():
    said = words(start(2))
    assert said["A level track"].endswith("2027-spring.yaml:3:3")
    assert said[DATA.course.title].endswith("course.yaml:1:1")
    assert said[LAB.scenario.title].partition(":")[0].endswith("level.yaml")
    assert set(said) >= {system.title for system in LAB.scenario.systems}


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        (-1, set()),
        (1, {*BALANCE}),  # a page says so whatever the date that is given
        (5, {*BALANCE, *BENT, "How it was done"}),
    ],
)
def test_words_are_read_once_a_page_says_them(days, expected):
    late = {"How it was done", "It was 1.26 m/s².", "It was nudged."} | {*BALANCE, *BENT}
    assert late & set(words(start(2) + days * DAY)) == expected
