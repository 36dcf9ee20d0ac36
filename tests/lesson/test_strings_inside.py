"""What is said of a string where more than its two ends are pulled."""

from lesson.kit import DEMO, lesson_of
from lesson.measured.kit import words


def test_three_works_of_one_string_are_not_called_two() -> None:
    lesson = lesson_of(DEMO / "pulley-on-a-string.yaml", numbers=False)
    answers = [words(q.answer) for each in lesson.steps for q in each.questions]
    assert any("the works of a taut string cancel" in each for each in answers)
    assert not any("two works of a taut string" in each for each in answers)
