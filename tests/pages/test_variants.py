"""Variants of a lab, whose answers are held back, recorded and given out with the lab's. By hand, a
= (m_h - μ m_c) g / (m_c + m_h) and T = m_h (g - a).
"""

import json
import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from fallwork.commands.notes import on_lab
from fallwork.errors import BadInput
from fallwork.lesson import answers
from fallwork.mechanics.course import gravity_of
from fallwork.pages import variants
from fallwork.pages.build import build_pages
from fallwork.pages.context import Context
from fallwork.pages.heldback import held_back
from fallwork.pages.schedule import SOLUTION
from fallwork.pages.worked import worked
from fallwork.planning import published, results
from fallwork.planning.revealed import RevealedError, check_revealed
from fallwork.scenario import Correction, with_numbers
from fallwork.site.audit import Audit
from pages.history import DAY, in_spring, lab, pages, start

BARE = lab("level", start(2))
SETS = {"bench-1": {"weight.mass": "110.0 g"}, "bench-2": {"cart.mass": "430.0 g"}}
LAB = replace(
    BARE, variants={name: with_numbers(BARE.variant, each) for name, each in SETS.items()}
)
DATA = in_spring(LAB)
KEY = ("2027-spring", "level")
BEFORE, RUNNING, OVER = start(2) - DAY, start(2) + DAY, LAB.solution_opens
pytestmark = pytest.mark.usefixtures("lessons_once")


def page(name, now, edition="student"):
    return pages(DATA, now, edition)[f"2027-spring/level/{name}.md"]


def of_bench_1():
    variant, g = LAB.variants["bench-1"], gravity_of(DATA.course)
    cart, weight = (variant.objects[name].mass.value for name in ("cart", "weight"))
    a = (weight - variant.surfaces["track"].friction.value * cart) * g / (cart + weight)
    return a, weight * (g - a)


def test_staff_have_a_review_of_each():
    heavy = {**LAB.variants, "bench-2": with_numbers(BARE.variant, {"weight.mass": "480.0 g"})}
    bad = replace(LAB, variants=heavy, places={**LAB.places, "variants.bench-2": LAB.places[""]})
    data = in_spring(bad)
    notes = pages(data, RUNNING, "staff")["2027-spring/level/notes.md"]
    assert "- bench-2: " in notes
    told = [words for _, words in on_lab(data.terms[0], bad, data)]
    assert any(words.startswith("level, variant bench-2: ") for words in told)


def test_the_same_numbers_twice_are_asked_about():
    sets = {"a": LAB.variants["bench-1"], "b": BARE.variant, "c": LAB.variants["bench-1"]}
    places = {**BARE.places, **{f"variants.{name}": BARE.places[""] for name in sets}}
    data = in_spring(twice := replace(BARE, variants=sets, places=places))
    told = [
        words for _, words in on_lab(data.terms[0], twice, data) if " are the numbers " in words
    ]
    assert [words.partition(", so")[0] for words in told] == [
        "level, variant b: These are the numbers of the lab itself",
        "level, variant c: These are the numbers of variant a",
    ]


def test_answers_that_marking_can_t_tell_are_named():
    # The distance leaves a and T as they are; 0.5 % more mass all over leaves a, v and t.
    sets = {"short": {"run.distance": "0.450 m"}, "own": SETS["bench-1"] | SETS["bench-2"]}
    sets["heavy"] = {"cart.mass": "514.6 g", "weight.mass": "80.4 g"}
    found = {name: with_numbers(BARE.variant, each) for name, each in sets.items()}
    places = {**BARE.places, **{f"variants.{name}": BARE.places[""] for name in sets}}
    data = in_spring(given := replace(BARE, variants=found, places=places))
    told = [words for _, words in on_lab(data.terms[0], given, data) if "Marking can’t" in words]
    told = [words.partition(" variant ")[2] for words in told]
    assert [words.partition(": ")[0] for words in told] == ["short", "heavy", "heavy"]
    assert "acceleration of the cart" in told[0]
    assert "normal force" not in told[0]  # the same cart, as everyone sees
    assert ["the lab itself" in each for each in told] == [True, True, False]
    notes = pages(data, RUNNING, "staff")["2027-spring/level/notes.md"]
    assert all(f"- {each}" in notes for each in told)


def test_bounds_of_what_strikes_hold_for_every_variant():
    wide = {"all": {"weight.mass": "110.0 g", "cart.mass": "512.0 g"}}
    alone = replace(BARE, variant=with_numbers(BARE.variant, wide["all"]))
    both, one = (
        pages(in_spring(each), RUNNING)["2027-spring/level/index.md"].split("## Safety")[1]
        for each in (LAB, alone)
    )
    assert both.split("## Symbols")[0] == one.split("## Symbols")[0]
    assert (
        both != pages(in_spring(BARE), RUNNING)["2027-spring/level/index.md"].split("## Safety")[1]
    )


@pytest.mark.parametrize(
    ("now", "found", "early"), [(BEFORE, True, True), (RUNNING, True, False), (OVER, False, False)]
)
def test_what_people_write_may_not_name_their_answers_nor_early_their_numbers(now, found, early):
    looking = Audit(held_back(DATA, now), gravity=gravity_of(DATA.course), root=Path(), harmless={})
    _, pull = of_bench_1()
    told = [*looking.of_text("content/tips.md", f"At bench 1 the tension is {pull:.3f} N.")]
    assert bool(told) is found
    told = [*looking.of_text("content/tips.md", "At bench 1 hang 110.0 g.")]
    assert bool(told) is early


@pytest.mark.parametrize(
    ("numbers", "says"),
    [
        ({"weight.mass": "3.0 g"}, "level, variant bench-1: nothing moves; "),
        ({"track.friction": "0"}, "level, variant bench-1: track.friction is 0 ± 0.002; with the"),
        ({"run.start": "0.3 m/s"}, "level, variant bench-1: the cart starts at 0.300 m/s and"),
        ({"run.start": "-0.3 m/s"}, "level, variant bench-1: the cart starts at 0.300 m/s and"),
        ({"run.distance": "0.3 m", "weight.mass": "150 g", "track.friction": "0.02"}, ""),
    ],
)
def test_what_the_prelab_doesnt_say_is_refused(numbers, says):
    given = replace(BARE, variants={"bench-1": with_numbers(BARE.variant, numbers)})
    data = in_spring(replace(given, places={**BARE.places, "variants.bench-1": BARE.places[""]}))
    if says:
        with pytest.raises(BadInput, match=re.escape(says)):
            build_pages(data, now=BEFORE, edition="student")
    else:
        variants.check_variants(data)


def test_their_answers_and_mistakes_are_those_of_a_whole_lesson_of_each():
    (given,) = Context(DATA, OVER, telling=False).labs()
    for name, each in variants.found(given.page(SOLUTION)).items():
        other = LAB.by_variant[name]
        lesson = worked(other, SOLUTION, other.variant, DATA.course, telling=False).lesson
        whole = {
            (one.of.id, one.slip and one.slip.id): one.value for one in answers.results(lesson)
        }
        whole |= {(one.of.id, one.slip.id): one.value for one in answers.slips(lesson) if one.slip}
        mine = {(one.of.id, one.slip and one.slip.id): one.value for one in each}
        assert mine == pytest.approx(whole, rel=1e-9)


def test_staff_look_the_numbers_of_every_variant_up():
    told = json.loads(
        pages(DATA, RUNNING, "staff")["search/2027-spring/level.js"].partition("]=")[2]
    )
    _, pull = of_bench_1()
    assert told["variants"]["bench-1"]["given"] == {"mass.weight": "0.1100 kg"}
    assert told["variants"]["bench-1"]["right"]["tension.string"] == pytest.approx(pull, rel=5e-5)


def test_its_numbers_stand_in_the_order_of_the_file():
    new = {"cart.mass": "430 g", "track.friction": "0.009", "weight.mass": "90 g"}
    new |= {"run.distance": "0.55 m"}
    data = in_spring(replace(BARE, variants={"one": with_numbers(BARE.variant, new)}))
    text = pages(data, RUNNING, "staff")["search/2027-spring/level.js"]
    given = [*json.loads(text.partition("]=")[2])["variants"]["one"]["given"]]
    assert given == ["mass.cart", "mass.weight", "friction.cart", "distance"]


def test_a_variant_that_has_been_given_out_changes_with_a_correction_alone():
    record = published.published_by(DATA, RUNNING)[KEY]
    assert record.variant["variants.bench-1"] == "weight.mass 110.0 g ± 0.1 g"
    _, pull = of_bench_1()
    assert record.results["variants.bench-1, driven, tension of string on cart"] == f"{pull:.6g} N"
    other = with_numbers(BARE.variant, {"weight.mass": "95.0 g"})
    changed = replace(LAB, variants={**LAB.variants, "bench-1": other})
    made = Correction(
        at=RUNNING,
        field="variants.bench-1",
        was="weight.mass 110.0 g ± 0.1 g",
        because="weighed again",
    )
    corrected = replace(changed, corrections=(made,))
    gone = replace(LAB, variants={"bench-2": LAB.variants["bench-2"]})
    for each, says in (
        (changed, "variants.bench-1 was published as weight.mass 110.0 g ± 0.1 g and would now be"),
        (
            gone,
            "variants.bench-1 was published as weight.mass 110.0 g ± 0.1 g and would now be gone",
        ),
        (corrected, ""),
    ):
        data = replace(in_spring(each), published={KEY: record})
        if says:
            with pytest.raises(published.ChangedError, match=says):
                published.check_published(data, RUNNING + DAY)
        else:
            published.check_published(data, RUNNING + DAY)
    told = pages(in_spring(corrected), RUNNING + DAY)["2027-spring/level/index.md"]
    assert (
        "variant, bench-1, before weight.mass 110.0 g ± 0.1 g, now weight.mass 95.0 g ± 0.1 g"
        in told
    )


def test_a_correction_of_the_lab_s_own_number_is_none_of_a_variant_that_has_the_same():
    of = LAB.variants["bench-1"]
    said = {"bench-1": replace(of, places={**of.places, "weight.mass": BARE.places[""]})}
    given = replace(LAB, variants=LAB.variants | said)
    record = published.published_by(in_spring(given), RUNNING)[KEY]
    was, now = "90.0 g ± 0.1 g", {"weight.mass": "110.0 g"}
    made = Correction(at=RUNNING, field="weight.mass", was=was, because="weighed again")
    own = with_numbers(BARE.variant, now)
    others = {**said, "bench-2": with_numbers(own, SETS["bench-2"])}
    corrected = replace(given, variant=own, variants=others, corrections=(made,))
    published.check_published(replace(in_spring(corrected), published={KEY: record}), RUNNING + DAY)


def test_a_variant_s_answers_may_not_stand_elsewhere_before_its_solution():
    later = timedelta(days=364)
    dates = {key: getattr(LAB, key) + later for key in ("opens", "due", "solution_opens")}
    again = replace(LAB, variant=LAB.variants["bench-1"], variants={}, **dates)
    data = in_spring(LAB)
    terms = (data.terms[0], replace(data.terms[0], id="2028-spring", labs=(again,)))
    with pytest.raises(RevealedError, match="the solution of level, variant bench-1 in 2027"):
        check_revealed(replace(data, terms=terms), again.opens)
    turned = replace(BARE, variants={"a": BARE.variant}, variant=LAB.variants["bench-2"], **dates)
    terms = (in_spring(BARE).terms[0], replace(data.terms[0], id="2028-spring", labs=(turned,)))
    with pytest.raises(RevealedError, match="level, variant a: the solution of level in 2027"):
        check_revealed(replace(data, terms=terms), turned.opens)


def test_a_chosen_example_has_no_result_of_a_variant():
    chosen = results.example_in(DATA, "2027-spring", replace(BARE, example=None))
    given = replace(BARE, example=None, variants={"a": chosen})
    other = results.example_in(in_spring(given), "2027-spring", given)
    gravity = gravity_of(DATA.course)
    key = "driven, tension of string on cart"
    pulls = [results.results_of(each, gravity)[key].value for each in (chosen, other)]
    assert abs(pulls[0] / pulls[1] - 1) > 0.001
