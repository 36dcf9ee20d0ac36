"""What pages say of each kind of set-up, case by case in ``words.yaml``."""

from pathlib import Path
from typing import Any

import pytest
import yaml

from fallwork.lesson import Lesson
from fallwork.lesson.document import Paragraph, Table
from lesson.kit import DEMO, ZOO, lesson_of, scenario_of
from lesson.measured.kit import prose, report, step, words

CASES: list[dict[str, Any]] = yaml.safe_load(
    Path(__file__).with_name("words.yaml").read_text("utf-8")
)


def page(of: str) -> Lesson:
    name, _, kind = of.partition(" ")
    folder, _, stem = name.partition("/")
    path = {"demo": DEMO, "zoo": ZOO}[folder] / f"{stem}.yaml"
    return report(scenario_of(path)) if kind == "report" else lesson_of(path, numbers=not kind)


def text(lesson: Lesson, at: str) -> str:
    """A step, an answer, the check or the idea of a step, or what is no step."""
    kind, _, name = at.rpartition(" ")
    match kind or name:
        case "answer":
            (found,) = (q for s in lesson.steps for q in s.questions if q.id == name)
            return words(found.answer)
        case "check of":
            blocks = step(lesson, name).check
            return "\n".join(words(each.text) for each in blocks if isinstance(each, Paragraph))
        case "table of":
            tables = [block for block in step(lesson, name).blocks if isinstance(block, Table)]
            return "\n".join(words(cell) for each in tables for row in each.rows for cell in row)
        case "idea of":
            return words(step(lesson, name).idea)
        case "opening":
            return words(lesson.summary)
        case "asked":
            return words(lesson.find[0])
        case "safety":
            return "\n".join(map(words, lesson.safety))
    return prose(step(lesson, name))


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['of']} {case['at']}")
def test_it_is_said_where_it_fits_and_nowhere_else(case: dict[str, Any]) -> None:
    lesson = page(case["of"])
    said, at = text(lesson, case["at"]), 0
    for phrase in case.get("says", ()):
        assert phrase in said[at:]
        at = said.index(phrase, at) + len(phrase)
    assert [phrase for phrase in case.get("never", ()) if phrase in said] == []
    if "slips" in case:
        slips = {slip.id for slip in step(lesson, case["at"]).slips}
        assert set(case["slips"]) <= slips
        assert slips.isdisjoint(case.get("other_slips", ()))
