"""Every question that students are known to put leads to a step that is open while they work.

The list is common practice in teaching, written down from experience; no published source. The
words are such as a TA might type into the field of the staff's list of steps.
"""

import html
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

from fallwork.pages.context import Context
from fallwork.pages.schedule import SOLUTION
from fallwork.scenario import CourseData, load_course
from pages.history import DAY, course, lab, pages, start, term

DEMO = load_course(Path(__file__).parents[2] / "site-data").scenarios
RUNNING = start(2) + DAY  # the solution is held back

# The words to type, and the step of the level track that answers, by its id.
BEFORE = {
    "tension equal gravity": "tension",
    "smaller falls hold": "tension",
    "normal force left out": "cart-alone-no-work",
    "gravity cart equation": "newton-cart",
    "one acceleration both": "string",
    "positive direction": "objects",
    "tension same both sides": "string",
    "string part system": "all-moving-forces",
    "put pulley system": "other-systems",
    "tension no work big system": "all-moving-no-work",
    "external internal once": "all-moving-forces",
    "m g h potential": "all-moving-potential",
    "work gravity potential energy": "all-moving-potential",
    "zero height": "all-moving-potential",
    "cart no potential energy": "all-moving-potential",
    "both masses kinetic": "all-moving-energy",
    "friction internal track": "two-views",
    "table earth move": "objects",
    "net force both together": "acceleration",
    "heavier cart": "limits",
    "two methods same speed": "all-moving-energy",
    "difference force work energy": "cart-alone-work",
    "9.81 local": "units",
    "how many figures": "units",
}
BENCH = {
    "cart mass page": "your-masses",
    "mass sensor hook": "your-masses",
    "velocity negative": "signs",
    "force reads negative": "force-zero",
    "start stop fit": "window",
    "bends spike": "window",
    "far off leave": "outliers",
    "track level": "track-and-string",
    "string parallel": "track-and-string",
    "hits floor": "after-landing",
    "lost points": "trials",
    "seven trials": "summary",
    "measure distance": "distance",
}
REPORTING = {
    "another number others": "prediction",
    "work change energy differ 5": "verdict",
    "3 % good": "verdict",
    "uncertainty standard deviation root": "summary",
    "human error": "discrepancy",
    "theory with or without friction": "prediction",
    "intervals overlap": "verdict",
    "mean force distance time": "how-tension",
    "area force wobbles": "how-tension",
    "data another bench": "trials",
    "numbers changed": "hand-in",
    "solution appear extension": "hand-in",
    "derive quote formula": "hand-in",
    "sketch show": "diagram-cart",
    "acceleration wrong after": "how-judged",
}
DEBATES = {
    "leave earth out": "all-moving-potential",
    "internal forces no work": "all-moving-forces",
    "normal force balances gravity": "cart-alone-no-work",
    "axle no work": "all-moving-no-work",
    "read tension no work": "cart-alone-work",
    "thermal energy cart track": "two-views",
    "hand external": "cart-alone-forces",
}
LIST = {**BEFORE, **BENCH, **REPORTING, **DEBATES}
OTHERS = {  # debates that only another set-up raises
    "pulley system put": ("heavy-pulley", "other-systems"),
    "two tensions one string": ("heavy-pulley", "string"),
    "push hand energy": ("push-away", "cart-alone-forces"),
}


def course_of(scenario: str) -> CourseData:
    given = DEMO[scenario]
    one = replace(lab("one", start(2)), scenario=given, variant=given, example=None)
    return course(term("2027-spring", one))


@cache
def entries(scenario: str) -> dict[str, str]:
    """The staff's list of steps: id -> its text in small letters, as the field reads it."""
    page = pages(course_of(scenario), RUNNING, "staff")["2027-spring/one/steps.md"]
    found = {}
    for text in page.split('<div class="fw-entry" markdown="1">')[1:]:
        (name,) = re.findall(r"^### .* \{#(.*)\}$", text, re.MULTILINE)
        found[name] = html.unescape(text).lower()
    return found


def test_the_list_is_whole() -> None:
    assert (len(BEFORE), len(BENCH), len(REPORTING)) == (24, 13, 15)


def test_every_question_is_found_at_its_step() -> None:
    asked = {**{words: ("level-track", step) for words, step in LIST.items()}, **OTHERS}
    for words, (scenario, step) in asked.items():
        missing = [word for word in words.split() if word not in entries(scenario)[step]]
        assert (words, missing) == (words, [])


def test_the_steps_are_open_to_students_while_they_work() -> None:
    context = Context(course_of("level-track"), RUNNING)
    given = next(context.labs())
    assert SOLUTION not in [page.sub for page in given.pages]
    there = {step.id for page in given.pages for step in page.steps}
    assert [step for step in LIST.values() if step not in there] == []
