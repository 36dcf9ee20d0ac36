"""What is said of a string where more than its two ends are pulled, or one pulley twice."""

from fallwork.lesson.document import Lesson, Table
from lesson.kit import DEMO, lesson_from, lesson_of, scenario_from
from lesson.measured.kit import prose, step, words
from mechanics.kit import tackle


def said(lesson: Lesson, step_id: str) -> str:
    return prose(step(lesson, step_id))


def tackled() -> Lesson:
    return lesson_from(scenario_from(tackle(0.15)))


def test_each_part_of_a_string_at_a_pulley_passed_twice_is_a_force_of_its_own() -> None:
    (forces,) = (b for b in step(tackled(), "diagram-lower").blocks if isinstance(b, Table))
    assert [words(row[-1]) for row in forces.rows] == ["T", "T", "T", "T", "S"]


def test_a_pulley_passed_twice_is_named_once() -> None:
    assert "on both sides of pulley F, the lower moving pulley and pulley G," in said(
        tackled(), "string"
    )


def test_three_works_of_one_string_are_not_called_two() -> None:
    lesson = lesson_of(DEMO / "pulley-on-a-string.yaml", numbers=False)
    answers = [words(q.answer) for each in lesson.steps for q in each.questions]
    assert any("the works of a taut string cancel" in each for each in answers)
    assert not any("two works of a taut string" in each for each in answers)
