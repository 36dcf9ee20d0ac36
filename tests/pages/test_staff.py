"""The staff edition; every question of ``questions.yaml`` leads to a step that is open."""

import html
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from fallwork.lesson.answers import results, slips
from fallwork.lesson.stepfiles import FOLDER as FILES
from fallwork.pages.asked import passes
from fallwork.pages.build import addresses
from fallwork.pages.context import Context
from fallwork.pages.schedule import SOLUTION
from fallwork.scenario import CourseData, load_course
from pages.history import DAY, course, head, in_spring, lab, pages, start, term

DATA = in_spring(lab("level", start(2), extended_to=start(2) + 12 * DAY))
TWO_TERMS = course(
    term("2027-spring", lab("level", start(2))),
    term("2027-autumn", lab("level", start(9), "471.0 g")),
)
RUNNING = start(2) + DAY
FOLDER = "2027-spring/level"
LESSON = (
    Context(DATA, RUNNING, "staff").worked(next(Context(DATA, RUNNING).labs()), SOLUTION).lesson
)


def staff(name: str) -> str:
    return pages(DATA, RUNNING, "staff")[f"{FOLDER}/{name}.md"]


def entry(step: str) -> str:
    """What the steps page says of one step."""
    return next(
        each
        for each in staff("steps").split('<div class="fw-entry" markdown="1">')[1:]
        if f"{{#{step}}}" in each
    )


def test_every_page_is_marked_as_one_for_staff_who_see_what_is_held_back() -> None:
    mine, theirs = pages(DATA, RUNNING, "staff"), pages(DATA, RUNNING)
    for path, page in mine.items():
        if path.endswith(".md"):
            assert "staff: true\n" in head(page), path
            assert "robots: noindex\n" in head(page), path
    assert f"[Steps to look up and send]({FOLDER}/steps.md)\n" in mine["index.md"]
    assert "steps.md" not in theirs["index.md"]
    more = {f"{FOLDER}/{name}" for name in ("solution", "steps", "notes")}
    assert {f"{path}.md" for path in more} <= mine.keys() - theirs.keys()
    assert {f"{path}.md" for path in more} & pages(DATA, start(6)).keys() == {
        f"{FOLDER}/solution.md"
    }
    assert "staff:" not in "".join(pages(DATA, start(6)).values())
    solution = f"{FOLDER}/solution.html"
    there = [solution in addresses(DATA, RUNNING, edition) for edition in ("student", "staff")]
    assert there == [False, True]


def test_every_step_of_every_page_is_there_once_with_its_questions() -> None:
    there = re.findall(r"^### .* \{#(.*)\}$", staff("steps"), re.MULTILINE)
    assert there[: len(LESSON.steps)] == [step.id for step in LESSON.steps]
    assert len(there) == len(set(there))
    for page in next(Context(DATA, RUNNING, "staff").labs()).pages:
        for step in page.steps:
            for question in step.questions:
                text = html.unescape(entry(step.id))
                assert question.asked.split("?")[0] in text
                (there,) = re.findall(rf">{FOLDER}/(.*).html#q-{question.id}</code>", text)
                assert f'<div id="q-{question.id}"' in html.unescape(staff(there))


def test_what_follows_from_a_slip_is_worked_out_for_marking() -> None:
    # Friction left out: a = m_h g / (m_c + m_h) = 1.4661 m/s2. Then T = m_h (g - a) = 0.7507 N,
    # v = √(2 a d) = 1.2699 m/s, t = v/a = 0.8662 s, W = T d = 0.4129 J.
    table = staff("marking").split("{#following}")[1].split("## ")[0]
    row = next(line for line in table.split("\n") if line.startswith(r"| $1.47\,"))
    cells = [float(each) for each in re.findall(r"\$(-?[\d.]+)\\,", row)]
    assert cells[:5] == [1.47, 0.751, 1.27, 0.866, 0.413]
    for symbol in ("{T}$", "$v$", "$t$"):
        assert symbol in table.split("The columns are: ")[1]


def test_slips_and_results_stand_among_the_numbers_in_the_order_of_their_size() -> None:
    table = staff("steps").split("## Numbers")[1]
    assert len(slips(LESSON)) > 10
    linked = [each.count("solution.md#") for each in (staff("marking"), table)]
    assert min(linked) >= len(slips(LESSON))
    sizes = [abs(float(size)) for size in re.findall(r"^\| \$(-?[\d.]+)\\,", table, re.MULTILINE)]
    assert len(sizes) > 20
    assert sizes == sorted(sizes)


@pytest.mark.parametrize(("digits", "accepts"), [(3, ["A5", "T10"]), (5, [])])
def test_wrong_values_that_are_accepted_are_marked(digits: int, accepts: list[str]) -> None:
    # At 1 %: a = 1.3877 m/s2 with friction of both masses, right 1.3994 m/s2 (0.8 % off);
    # T = 0.7506 N with the acceleration without friction, right 0.7567 N (0.8 % off).
    every = (*results(LESSON), *slips(LESSON))
    close = [one.slip.id for one in every if one.slip and passes(one, every, digits)]
    assert close == accepts
    assert staff("marking").count("$, accepted |") == 2  # at three figures
    lines = [line for line in staff("marking").splitlines() if "$, accepted |" in line]
    assert [re.findall("[| ]([A-Z][0-9]+): ", line) for line in lines] == [["A5"], ["T10"]]


def test_what_students_can_search_is_what_is_open_to_them() -> None:
    mine, theirs = (
        json.loads(pages(DATA, RUNNING, edition)[f"search/{FOLDER}.js"].split("]=", 1)[1])
        for edition in ("staff", "student")
    )
    opens = "Monday 15 February 2027, 01:00"  # UTC+1
    assert [f"{FOLDER}/solution.html", "Solution", opens] in mine["pages"]
    assert {held for _, _, held in theirs["pages"]} == {""}
    assert not {"working", "measured", "of", "variants"} & theirs.keys()
    told = {row[0] for part in ("working", "measured") for row in mine[part]["results"] if row[3:]}
    assert told == {each.of.id for each in results(LESSON)}
    wrong = [row for part in ("working", "measured") for row in mine[part]["wrong"]]
    assert len(wrong) == len(slips(LESSON))
    over = pages(TWO_TERMS, start(9))["search/course.js"]
    assert ("2027-autumn/level" in over, "2027-spring/level" in over) == (True, False)


# ---- questions

SCENARIOS = load_course(Path(__file__).parents[2] / "site-data").scenarios
ASKED = yaml.safe_load(Path(__file__).with_name("questions.yaml").read_text("utf-8"))
SMALL_WORDS = set(re.findall(r"\w+", "a and do does how i in is my of that the to what which why"))
LIST = {step for part in ASKED.values() for steps in part.values() for step in steps.split()}


def course_of(scenario: str) -> CourseData:
    given = SCENARIOS[scenario]
    one = replace(lab("one", start(2)), scenario=given, variant=given, example=None)
    return course(term("2027-spring", one))


@pytest.mark.parametrize(
    "scenario", ["level-track", "level-track-frictionless", "push-away", "incline-held", "train"]
)
def test_what_the_prelab_answers_the_report_does_not_ask_again(scenario: str) -> None:
    given = next(Context(course_of(scenario), RUNNING).labs())
    asked = {
        page.sub.name: {
            each.asked: set(re.findall(r"\w+", each.asked.lower())) - SMALL_WORDS
            for step in page.steps
            for each in step.questions
        }
        for page in given.pages
    }
    twice = [
        (one, other)
        for one, words in asked["prelab"].items()
        for other, others in asked["report"].items()
        if len(words & others) > 0.55 * min(len(words), len(others))
    ]
    assert twice == []


def test_every_question_is_put_in_other_ways_too() -> None:
    files = [path.read_text("utf-8") for path in sorted(FILES.rglob("*.md.j2"))]
    asked = [
        call
        for text in files
        for call in re.findall(r"call question\(.*?%\}(.*?)\{% endcall", text, re.DOTALL)
    ]
    assert len(asked) > 80
    assert [each for each in asked if each.partition("\nAlso: ")[2].count(" | ") < 1] == []


def test_the_steps_are_open_to_students_while_they_work() -> None:
    given = next(Context(course_of("level-track"), RUNNING).labs())
    assert SOLUTION not in [page.sub for page in given.pages]
    there = {step.id for page in given.pages for step in page.steps}
    assert LIST - there == set()
