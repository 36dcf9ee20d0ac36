"""What is said of pulleys that take a torque to turn: by inertia, by their bearing, or by both."""

import pytest

from fallwork.lesson import Lesson
from lesson.kit import ZOO, lesson_of
from lesson.measured.kit import step, tables, words


def zoo(name: str) -> Lesson:
    return lesson_of(ZOO / f"{name}.yaml", numbers=True)


def answers(lesson: Lesson, asked: str) -> list[str]:
    found = [q for each in lesson.steps for q in each.questions]
    return [words(q.answer) for q in found if words(q.asked).startswith(asked)]


@pytest.mark.parametrize(
    ("name", "answer"),
    [
        ("heavy-pulley", "turns the pulley faster and overcomes the friction in its bearing."),
        ("moving-pulley-heavy", "changes how fast the loose pulley turns."),
        ("stiff-pulley", "overcomes the friction in the bearing of the pulley."),
    ],
)
def test_two_tensions_provide_what_the_pulley_takes(name: str, answer: str) -> None:
    """(T_1 - T_2) r = I α + τ, without the term that the model leaves out."""
    assert answers(zoo(name), "Why are there two tensions") == [
        f"Their difference provides the torque that {answer}"
    ]


def test_a_drum_has_one_tension() -> None:
    assert answers(zoo("drum"), "Why are there two tensions") == []


def test_a_pulley_without_inertia_holds_no_energy_and_stops_with_its_string() -> None:
    stiff, heavy = zoo("stiff-pulley"), zoo("heavy-pulley")
    assert answers(stiff, "Do I put the pulley in the system?") == []
    assert answers(heavy, "Do I put the pulley in the system?") != []
    for lesson, turns_on in ((stiff, False), (heavy, True)):
        cautions = [words(text) for text in lesson.safety]
        assert any("goes on turning" in each for each in cautions) is turns_on


def test_a_moving_pulley_that_turns_has_no_wheels() -> None:
    lesson = zoo("moving-pulley-heavy")
    heads = [row[0] for row in tables(step(lesson, "all-moving-energy"))[0]]
    assert "Rotational energy of the loose pulley" in heads
