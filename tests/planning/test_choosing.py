"""Numbers out of an inventory: what can be built, what is excluded, how the rest is ranked."""

from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import count, permutations
from pathlib import Path

import numpy as np
import pytest
import yaml

from fallwork.errors import table
from fallwork.lesson.answers import answers_of, results, slips
from fallwork.lesson.build import build_lesson
from fallwork.lesson.reviewing import advice
from fallwork.measurement.model import Estimate
from fallwork.measurement.prediction import Case
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.worked import reviewed
from fallwork.planning.buildable import NotOwnedError, buildable
from fallwork.planning.choosing import Field, Task, looked_at
from fallwork.planning.driven import batch, columns, single
from fallwork.planning.picking import CLEAR, picked
from fallwork.scenario import load_course, with_numbers
from fallwork.scenario.numbers import quantities_of
from fallwork.scenario.quantity import parse_quantity

HERE = Path(__file__).parent
COURSE = load_course(HERE.parents[1] / "site-data", record=False)
OWNED = COURSE.inventory
G = Estimate(value=9.80665, u=0.0)
ALONE = yaml.safe_load((HERE / "alone.yaml").read_text("utf-8"))
KINDS = {"range": "force", "far": "length", "fall_height": "length", "heavy_energy": "energy"}
UNITS = {"force": "N", "length": "m", "energy": "J"}


def in_si(values):
    known = {key: KINDS.get(key) for key in values}
    return {
        key: parse_quantity(f"{value} {UNITS[known[key]]}", known[key]) if known[key] else value
        for key, value in values.items()
    }


@cache
def given(name: str) -> tuple[Task, Field]:
    """What is looked at in a case of the table."""
    said = ALONE[name]
    scenario = with_numbers(COURSE.scenarios[said["scenario"]], said.get("numbers", {}))
    owned = replace(OWNED, sensors=replace(OWNED.sensors, **in_si(said.get("sensors", {}))))
    labs = [lab for term in COURSE.terms for lab in term.labs if lab.scenario.id == scenario.id]
    task = Task(
        case=Case(scenario=scenario, gravity=G),
        owned=owned,
        answers=answers_of(scenario, G.value, 3),
        earlier=[lab.variant for lab in labs],
        safety=replace(COURSE.course.safety, **in_si(said.get("safety", {}))),
        tolerance=0.01,
        seed=7,
        most=4000,
    )
    return task, looked_at(task)


def nothing(*_):
    yield from ((), ())


def answers_with(task, numbers):
    return task.answers(columns(with_numbers(task.case.scenario, numbers))).rights


@pytest.mark.parametrize("name", table("planning", "conditions"))
def test_each_condition_excludes_alone(name):
    task, looked = given(name)
    assert looked.excluded[name][1] > 0
    if name in ("run", "earlier"):
        return
    # By the solver of single cases nothing else is wrong with such numbers either.
    count = np.sum([*looked.broken.values()], axis=0)
    at = int(np.flatnonzero(looked.broken[name] & (count == 1))[0])
    scenario = with_numbers(task.case.scenario, looked.alike.texts(at))
    course = replace(COURSE.course, safety=task.safety)
    data = replace(COURSE, course=course, inventory=task.owned)
    found = [each for each in reviewed([scenario], G, data)[0] if each.verdict != "fits"]
    assert {each.aspect for each in found} == {name}


@pytest.mark.parametrize("name", COURSE.scenarios)
def test_many_at_once_are_what_single_ones_are(name, thorough):
    scenario = COURSE.scenarios[name]
    task = Task(
        case=Case(scenario=scenario, gravity=G),
        owned=OWNED,
        answers=answers_of(scenario, G.value, 3),
        safety=COURSE.course.safety,
        tolerance=0.01,
        seed=3,
        most=3000,
    )
    looked = looked_at(task)
    some = looked.alike.at(looked.order[: 40 if thorough else 3])
    many, answers = batch(task.case)(some.values), task.answers(some.values)
    for at in range(len(some)):
        other = with_numbers(scenario, some.texts(at))
        one = single(Case(scenario=other, gravity=G))({})
        for ours, theirs in zip(many, one, strict=True):
            keys = range(len(ours)) if isinstance(ours, list) else ours
            parts = isinstance(ours, dict | list)
            pairs = [(ours[key], theirs[key]) for key in keys] if parts else [(ours, theirs)]
            for mine, single_one in pairs:
                expected = pytest.approx(float(single_one), rel=1e-9, abs=1e-12, nan_ok=True)
                if np.isfinite(np.broadcast_to(mine, len(some))[at]):
                    assert np.broadcast_to(mine, len(some))[at] == expected
        apparatus = apparatus_of(other, G.value)
        lesson = build_lesson(other, apparatus, solve(apparatus), figures=3, numbers=True)
        for right in results(lesson):
            found = np.broadcast_to(answers.rights[right.of.id], len(some))[at]
            assert found == pytest.approx(right.value, rel=1e-9)
        wrong = {(each.slip.id, each.of.id): each.value for each in slips(lesson)}
        for slip, of, value in answers.wrongs:
            if (slip, of) in wrong:
                found = np.broadcast_to(value, len(some))[at]
                assert found == pytest.approx(wrong[slip, of], rel=1e-9)


@pytest.mark.parametrize("name", ["time", "readings"])
def test_each_part_of_a_run_that_turns_round_has_to_last(name):
    # Out with 0.50 m/s: after t = v (M + m)/((m + μ M) g) it turns round; of 50 readings a second.
    task, looked = given("room")
    v, d = (looked.alike.values[f"run.{each}"] for each in ("start", "distance"))
    cart, weight = (looked.alike.values[f"{each}.mass"] for each in ("cart", "weight"))
    out = -v * (cart + weight) / ((weight + 0.010 * cart) * 9.80665)
    back = np.sqrt(2 * (d - v * out / 2) / ((weight - 0.010 * cart) * 9.80665 / (cart + weight)))
    short = (out < 0.5) & (back >= 0.5)  # 25 readings
    assert np.array_equal(looked.broken[name] & (back >= 0.5), short)
    at = int(np.flatnonzero(short)[0])
    scenario = with_numbers(task.case.scenario, looked.alike.texts(at))
    first, second = (each for each in reviewed([scenario], G, COURSE)[0] if each.aspect == name)
    assert [first.verdict, second.verdict] == ["low", "fits"]
    assert " way out" in advice([first, second], scenario.nouns)[0]


def test_what_rises_flies_on_after_the_landing():
    # The left hanging mass goes up by d + v²/(2 g) = 2 d m_r/(m_l + m_r), here from 0.90 m.
    scenario = with_numbers(COURSE.scenarios["two-weights"], {"run.distance": "0.900 m"})
    found = {each.aspect: each for each in reviewed([scenario], G, COURSE)[0]}
    whole = 2 * 0.900 * 0.220 / (0.180 + 0.220)
    assert found["rise"].value == pytest.approx(0.90 - whole, rel=1e-6)
    assert found["rise"].verdict == "low"
    (words,) = advice([found["rise"]], scenario.nouns)
    assert words.startswith("The height of the table minus the rise of the left hanging mass, its")
    assert " is −0.090\u00a0m, so it may meet" in words
    # Where a cart draws it up and nothing lands, the rise is that of the run: 0.600 m.
    (down,) = reviewed([COURSE.scenarios["incline-down"]], G, COURSE)
    found = {each.aspect: each for each in down}
    assert found["rise"].value == pytest.approx(0.90 - 0.600)


def test_where_little_is_good_what_lies_beside_it_is_looked_at(monkeypatch):
    task, looked = given("mistakes")
    assert looked.drawn
    monkeypatch.setattr("fallwork.planning.choosing.SCARCE", 0)
    bare = looked_at(task)
    assert looked.kept.sum() / looked.tried > 2 * bare.kept.sum() / bare.tried > 0


def test_where_little_is_left_an_example_is_an_earlier_one(monkeypatch):
    task, _ = given("mistakes")
    before = with_numbers(task.case.scenario, {"cart.mass": "340.0 g", "weight.mass": "90.0 g"})
    looked = looked_at(replace(task, most=1000, earlier=[before]))
    (pick,) = picked(looked, 1, nothing)
    texts = {path: f"{q.number} {q.unit}" for path, q in quantities_of(before)}
    assert pick.example == {path: texts[path] for path in pick.numbers}
    monkeypatch.setattr("fallwork.planning.picking.SCARCE", 0)
    (other,) = picked(looked, 1, nothing)
    assert other.example != pick.example


def test_every_bench_can_build_it_at_once():
    looked = given("uncertainty")[1]
    counts = {**OWNED.masses, **OWNED.carts, **OWNED.hangers}
    for at in range(0, len(looked.alike), 97):
        used, masses = Counter(), looked.alike.texts(at)
        for path, words in looked.alike.built(at).items():
            grams = 0.0
            for part in filter(None, words.split(" + ")):
                number, _, name = part.rpartition(" ")
                used[name] += int(number or 1)
                grams += int(number or 1) * counts[name].mass.value * 1000
            assert not grams or masses[path] == f"{grams:.1f} g"
        assert all(OWNED.benches * n <= counts[name].count for name, n in used.items())
    assert len(buildable(replace(OWNED, benches=1), COURSE.scenarios["train"], 1)) > 10_000


def test_where_nothing_moves_the_distance_stays():
    assert [*given("slope")[1].alike.values] == ["block.mass", "weight.mass", "board.slope"]


def test_a_carrier_may_carry_nothing():
    bare = {n: replace(each, carries=()) for n, each in {**OWNED.carts, **OWNED.hangers}.items()}
    kinds = {kind: {n: bare[n] for n in getattr(OWNED, kind)} for kind in ("carts", "hangers")}
    found = buildable(replace(OWNED, **kinds), COURSE.scenarios["level-track"], 1)
    masses = {tuple(found.texts(at).values())[:2] for at in range(len(found))}
    assert masses == {("200.0 g", "5.0 g"), ("200.0 g", "50.0 g")}


def test_what_the_lab_lacks_is_told():
    scenario = COURSE.scenarios["train"]
    with pytest.raises(NotOwnedError, match="not enough for 30 benches at once"):
        buildable(replace(OWNED, benches=30), scenario, 1)
    track = replace(OWNED.tracks["long-track"], length=parse_quantity("1.49 m", "length"))
    with pytest.raises(NotOwnedError, match=r"once: cart track ≥ 1\.50 m;"):
        buildable(replace(OWNED, tracks={"short-track": track}), scenario, 1)
    few = {name: replace(cart, count=12) for name, cart in OWNED.carts.items()}
    with pytest.raises(NotOwnedError):  # two carts a bench
        buildable(replace(OWNED, carts=few), scenario, 1)


def test_proposals_differ_in_every_answer_and_are_the_same_again():
    task, looked = given("mistakes")
    picks = picked(looked, 3, nothing)
    assert picked(looked_at(task), 3, nothing) == picks
    lists = [answers_with(task, each) for pick in picks for each in (pick.numbers, pick.example)]
    for own, other in permutations(lists, 2):
        assert all(abs(own[key][0] / other[key][0] - 1) > 0.0099 for key in looked.varying)


def test_an_example_is_clearly_other_numbers():
    task, looked = given("mistakes")
    (pick,) = picked(looked, 1, nothing)
    one, other = (answers_with(task, each) for each in (pick.numbers, pick.example))
    off = [abs(one[k] - other[k]) / max(abs(one[k]), abs(other[k])) for k in looked.varying]
    masses = [float(each["cart.mass"][:5]) for each in (pick.numbers, pick.example)]
    assert min(masses) / max(masses) <= 1 - CLEAR
    assert CLEAR <= pick.off <= np.min(off)
    # Where all that is left is near, the farthest is taken.
    few = looked.order[:2]
    broken = {**looked.broken, "speed": ~np.isin(np.arange(len(looked.alike)), few)}
    alone = {"before": {}, "task": replace(task, earlier=())}
    left = replace(looked, broken=broken, score=np.array([1.0, 0.0]), **alone)
    (pick,) = picked(left, 1, nothing)
    assert pick.example == looked.alike.texts(few[1])
    assert pick.off < CLEAR


def test_what_there_is_to_say_of_a_proposal_passes_it_over():
    task, looked = given("mistakes")
    first = picked(looked, 1, nothing)[0]

    def says(*words):
        return lambda numbers, _: iter(words if numbers == first.numbers else ((), ()))

    for shown, told in ((["on a page"], ()), ((), ["not this one"])):
        (second,) = picked(looked, 1, says(shown, told))
        assert (second.numbers != first.numbers, second.words) == (True, ())
    both = [["on a page"], ["never"]]
    assert picked(looked, 1, lambda *_: iter(((), both[1])))[0].words == ("never",)
    asked = count(1)
    late = picked(looked, 1, lambda *_: iter((["on a page"] * (next(asked) < 5), ())))
    assert late[0].numbers == first.numbers  # with another example
    # What pages show is no proposal, unless nothing new is asked for.
    assert picked(looked, 1, lambda *_: iter(both)) == []
    worn = looked_at(replace(task, without=("earlier",)))
    assert picked(worn, 1, lambda *_: iter(both))[0].words == ("on a page", "never")


def test_where_nothing_is_left_the_nearest_says_what_to_relax():
    task, _ = given("mistakes")
    none = replace(task, safety=replace(task.safety, fall_height=parse_quantity("0.1 m", "length")))
    looked = looked_at(none)
    assert not looked.kept.any()
    assert looked.nearest == ["drop"]
    assert looked_at(replace(none, without=("drop",))).kept.any()


def test_settings_have_the_unit_and_the_decimals_of_the_scenario():
    for own, first in (("0.600 m", "0.100 m"), ("60.0 cm", "10.0 cm"), ("600 mm", "100 mm")):
        scenario = with_numbers(COURSE.scenarios["level-track"], {"run.distance": own})
        found = buildable(OWNED, scenario, 1)
        assert first in {each.texts(at)["run.distance"] for each in [found] for at in range(400)}
