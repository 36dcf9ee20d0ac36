"""Every question of ``questions.yaml`` leads to a step that is open while students work."""

import html
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import yaml

from fallwork.pages.context import Context
from fallwork.pages.schedule import SOLUTION
from fallwork.scenario import CourseData, load_course
from pages.history import DAY, course, lab, pages, start, term

DEMO = load_course(Path(__file__).parents[2] / "site-data").scenarios
RUNNING = start(2) + DAY  # the solution is held back
ASKED = yaml.safe_load(Path(__file__).with_name("questions.yaml").read_text("utf-8"))
OTHERS = ASKED.pop("others")
LIST = {words: step for part in ASKED.values() for words, step in part.items()}


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


def test_every_question_is_found_at_its_step() -> None:
    asked = {words: ("level-track", step) for words, step in LIST.items()} | OTHERS
    assert len(asked) == 62
    for words, (scenario, step) in asked.items():
        missing = [word for word in words.split() if word not in entries(scenario)[step]]
        assert (words, missing) == (words, [])


def test_the_steps_are_open_to_students_while_they_work() -> None:
    given = next(Context(course_of("level-track"), RUNNING).labs())
    assert SOLUTION not in [page.sub for page in given.pages]
    there = {step.id for page in given.pages for step in page.steps}
    assert [step for step in LIST.values() if step not in there] == []
