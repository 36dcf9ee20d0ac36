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


def test_only_strings_that_pull_at_two_ends_alone_do_opposite_works_there() -> None:
    """Over a pulley that rises, T_2 d_l - T_2 d - 2 T_2 d_m = 0 by the constraint, while
    T_2 d_l and T_2 d differ.
    """
    found = said(lesson_of(DEMO / "pulley-on-a-string.yaml", numbers=False), "all-moving-forces")
    assert "The two ends of the upper string do opposite works" in found
    assert r"- 2 \, T_\mathrm{2} \, d_\mathrm{m} on the movable pulley – in sum nothing" in found
    assert "Each taut string" not in found


def test_of_a_system_with_one_string_nothing_is_said_about_each_string() -> None:
    train = lesson_of(DEMO / "train.yaml", numbers=False)
    assert "The two ends of the coupling do opposite works" in said(train, "both-carts-forces")
    assert "Each taut string does opposite works" in said(train, "all-moving-forces")


def test_three_works_of_one_string_are_not_called_two() -> None:
    lesson = lesson_of(DEMO / "pulley-on-a-string.yaml", numbers=False)
    answers = [words(q.answer) for each in lesson.steps for q in each.questions]
    assert any("the works of a taut string cancel" in each for each in answers)
    assert not any("two works of a taut string" in each for each in answers)


def test_what_the_string_leaves_adds_to_the_kinetic_energy_that_a_push_has_given() -> None:
    """Its change is m g d - T d; after a push it isn't all the kinetic energy that there is."""
    pushed = lesson_of(DEMO / "push-towards.yaml", numbers=False)
    assert "the rest becomes kinetic energy of the hanging mass itself" in said(pushed, "two-views")
