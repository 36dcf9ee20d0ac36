"""What a lab holds back and another page shows; worked examples chosen so that they don't."""

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from fallwork.planning.results import NoExampleError, example_in, results_of
from fallwork.planning.revealed import Beside, Revealed, RevealedError, check_revealed, revealed
from fallwork.scenario import (
    CourseData,
    Lab,
    Measured,
    Scenario,
    Withdrawal,
    load_course,
    load_scenario,
    numbers_of,
    with_numbers,
)

COURSE = load_course(Path(__file__).parents[1] / "scenario" / "sound")
GIVEN = COURSE.terms[0].labs[0]  # opens on 1 February 2027, its solution on the 15th
DEMO = Path(__file__).parents[2] / "site-data" / "scenarios"
LATER = timedelta(days=364)
NOW = GIVEN.opens + LATER  # a year on: the lab is given again and has just opened
OTHERS = {"cart.mass": "430.0 g", "weight.mass": "95.0 g", "run.distance": "0.480 m"}
LAB = replace(GIVEN, example=with_numbers(GIVEN.variant, OTHERS))  # nothing in common
OTHER = {"cart_mass": "455.0 g", "weight_mass": "70.0 g", "run_distance": "0.480 m"}
MAKE_UP = replace(LAB, id="make-up", due=LAB.due + timedelta(days=2))
GONE = replace(LAB, withdrawn=Withdrawal(at=NOW - timedelta(days=1), because="misprinted"))
# The same words for the same numbers of another set-up are a coincidence.
ANOTHER = replace(LAB.scenario, id="other")
TOGETHER = replace(COURSE.terms[0], labs=(LAB, MAKE_UP))
GRAVITY = 9.81
CHANGED = ("block", "cart", "glider", "hanging")  # whose masses an example has otherwise
EVERY = pytest.mark.parametrize("scenario", COURSE.scenarios.values(), ids=COURSE.scenarios)


def again(lab: Lab = LAB, later: timedelta = LATER, **numbers: str) -> Lab:
    """The lab with later dates and other numbers."""
    texts = {path.replace("_", "."): text for path, text in numbers.items()}
    dates: dict[str, Any] = {
        key: getattr(lab, key) + later for key in ("opens", "due", "solution_opens")
    }
    return replace(lab, variant=with_numbers(lab.variant, texts), **dates)


def terms(*labs: Lab) -> CourseData:
    """A course with each of these in a term of its own."""
    (term,) = COURSE.terms
    given = (replace(term, id=f"term-{at}", labs=(lab,)) for at, lab in enumerate(labs, 1))
    return replace(COURSE, terms=tuple(given))


def elsewhere(data: CourseData, now: datetime = NOW) -> list[Revealed]:
    """What pages of other labs show."""
    return [each for each in revealed(data, now) if each.of != each.key]


def names(found: Revealed) -> list[str]:
    return [each.partition(": ")[0] for each in found.results]


@pytest.mark.parametrize("mass", ["512.0 g", "512.1 g"])  # the same, and the same to three figures
def test_a_lab_given_again_with_other_dates_alone_is_refused(mass):
    data = terms(LAB, again(cart_mass=mass))
    with pytest.raises(RevealedError):
        check_revealed(data, NOW)
    (found,) = (each for each in elsewhere(data) if each.everything)
    assert (found.key, found.of) == (("term-2", "cart"), ("term-1", "cart"))
    # a = (m_h - mu m_c) g / (m_c + m_h) by hand, with 512 g, 80 g, mu = 0.008 and 9.81 m/s²
    assert "acceleration of the cart: 1.26 m/s²" in found.results


def test_what_the_distance_leaves_as_it_was_is_named():
    data = terms(LAB, again(run_distance="0.480 m"))
    (found,) = elsewhere(data)
    kept = {"acceleration of the cart", "tension of the string on the cart"}
    assert kept <= {*names(found)}
    assert "time of the run" not in names(found)
    check_revealed(data, NOW)  # a note, not an error


@pytest.mark.parametrize(
    ("distance", "met"),  # the 0.550 m of last term gave 1.1763 m/s by hand
    [("0.555 m", True), ("0.560 m", False)],  # 1.1816 m/s and 1.1869 m/s
)
def test_a_result_counts_as_met_within_its_last_figure(distance, met):
    found = elsewhere(terms(LAB, again(run_distance=distance)))[0]
    assert "the solution of cart in term-1, open" in str(found)
    assert ("final velocity of the cart" in names(found)) == met


SHORTER = again(later=-LATER, run_distance="0.480 m")
NOTHING = {
    "other numbers, though the cart coasts with the same μg": (terms(LAB, again(**OTHER)), NOW),
    "a make-up while both are held back": (replace(COURSE, terms=(TOGETHER,)), LAB.opens),
    "what was taken down": (terms(GONE, again()), NOW),
    "what is solved": (terms(LAB, again()), again().solution_opens),
    "labs of other kinds": (terms(replace(SHORTER, scenario=ANOTHER), LAB), LAB.opens),
}


@pytest.mark.parametrize("case", NOTHING)
def test_nothing_is_shown_by(case):
    assert elsewhere(*NOTHING[case]) == []


def test_a_make_up_and_the_example_of_another_lab_give_as_much_away():
    make_up = again(later=timedelta(days=7))
    data = terms(LAB, make_up)
    check_revealed(data, LAB.opens)  # nothing stands on the site yet
    for now, ahead in ((LAB.opens, True), (LAB.solution_opens, False)):
        with pytest.raises(RevealedError):
            check_revealed(data, now, ahead=ahead)
    check_revealed(data, make_up.solution_opens, ahead=True)
    other = replace(again(cart_mass="455.0 g", later=-LATER), example=LAB.variant)
    with pytest.raises(RevealedError, match="the worked example of cart in term-1"):
        check_revealed(terms(other, LAB), LAB.opens)


def test_a_lab_beside_others_is_seen_both_ways():
    other = again(cart_mass="455.0 g", weight_mass="70.0 g", run_distance="0.480 m", later=-LATER)
    make_up = replace(again(other, LATER), id="make-up", example=LAB.variant)
    (term,) = COURSE.terms
    data = replace(COURSE, terms=(replace(term, labs=(LAB, make_up)),))
    every = [each for each in revealed(data, LAB.opens - timedelta(days=1)) if each.of != each.key]
    assert [(e.key[1], e.of[1], e.everything) for e in every] == [("cart", "make-up", True)]
    for lab in (LAB, make_up):  # the one that holds back, and the one that shows
        assert [*Beside(data, term.id, lab).revealed(lab)] == every
    bare = replace(make_up, example=other.example)
    assert [e for e in Beside(data, term.id, make_up).revealed(bare) if e.of != e.key] == []


def test_trials_with_the_same_numbers_and_an_example_s_results_are_worth_a_note():
    tried = replace(LAB, measured=Measured(), data_opens=LAB.due, solution_opens=NOW + 2 * LATER)
    data = terms(tried, again())
    (found,) = (each for each in elsewhere(data) if each.key[0] == "term-2")
    assert "the trials of cart in term-1" in str(found)
    assert "shows measured values for every result" in str(found)
    check_revealed(data, NOW)
    # The example changes the hanging mass alone, so the cart presses on the track as before: m g.
    (found,) = revealed(COURSE, LAB.opens)
    assert "normal force of the track on the cart" in names(found)
    assert not any("tension" in name for name in names(found))
    # When one weight has landed, the other one flies on, in the lab as in the example.
    weights = load_scenario(DEMO / "two-weights.yaml")
    example = with_numbers(weights, {"left-weight.mass": "150.0 g"})
    lab = replace(LAB, scenario=weights, variant=weights, example=example)
    (found,) = revealed(terms(lab), LAB.opens)
    assert not any("acceleration" in name for name in names(found))


# ---- examples: other numbers, and no result that the lab has too
def chosen(scenario: Scenario, figures: int = 3) -> Scenario:
    lab = replace(GIVEN, id=scenario.id, scenario=scenario, variant=scenario, example=None)
    data = replace(COURSE, course=replace(COURSE.course, significant_figures=figures))
    return example_in(data, "", lab)


def digits(scenario: Scenario, figures: int) -> set[str]:
    """What the results look like, without sign and unit; zeros and g left out."""
    values = [abs(result.value) for result in results_of(scenario, GRAVITY).values()]
    told = (value for value in values if value > 1e-9 and abs(value - GRAVITY) > 1e-9)
    return {f"{value:.{figures - 1}e}" for value in told}


@EVERY
@pytest.mark.parametrize("figures", [2, 3, 4])
def test_a_chosen_example_shares_no_result_with_the_lab(scenario, figures):
    try:
        example = chosen(scenario, figures)
    except NoExampleError:
        assert figures == 2  # a hundred values at two figures leave too little room
        return
    assert digits(example, figures) & digits(scenario, figures) == set()


@EVERY
def test_every_mass_of_a_chosen_example_is_another_and_the_same_each_time(scenario):
    example = chosen(scenario)
    assert example == chosen(scenario)
    own, others = numbers_of(scenario), numbers_of(example)
    for name, thing in scenario.objects.items():
        if thing.kind in CHANGED:
            mass, other = (of[f"{name}.mass"].split(" ")[0] for of in (own, others))
            assert abs(float(other) / float(mass) - 1) > 0.05
            assert len(other.partition(".")[2]) == len(mass.partition(".")[2])
    assert len(results_of(example, GRAVITY)) == len(results_of(scenario, GRAVITY))


def test_where_nothing_can_be_changed_the_term_has_to_say():
    # To one figure two sets of results always meet somewhere.
    with pytest.raises(NoExampleError) as caught:
        chosen(COURSE.scenarios["cart"], figures=1)
    assert str(caught.value) == (
        f"{COURSE.root}/terms/2027-spring.yaml:5:14: no worked example for cart was found whose "
        "results differ from the lab's; give its numbers instead of auto, e.g. "
        "{weight.mass: 120.0 g}"
    )
