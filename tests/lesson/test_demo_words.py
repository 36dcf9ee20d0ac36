"""Words of the demo course's lessons that depend on the kind of set-up."""

import pytest

from fallwork.lesson import Lesson
from fallwork.lesson.document import Paragraph
from lesson.kit import DEMO, everything, lesson_of
from lesson.measured.kit import words


def demo(name: str) -> Lesson:
    return lesson_of(DEMO / f"{name}.yaml", numbers=False)


def sentences(name: str, step: str) -> list[str]:
    (found,) = (each for each in demo(name).steps if each.id == step)
    return [words(part.text) for part in everything(found) if isinstance(part, Paragraph)]


def test_what_stays_at_rest_has_no_part_about_acceleration_and_time() -> None:
    parts = {step.part for step in demo("incline-held").steps}
    assert parts == {"Forces", "Tension and friction", "Looking back"}


def test_what_acts_only_by_way_of_a_string_is_told_once() -> None:
    steps = [step.id for step in demo("pulley-on-a-string").steps]
    diagrams = [step for step in steps if step.startswith("diagram-")]
    told = [each for step in diagrams for each in sentences("pulley-on-a-string", step)]
    assert sum("only by way of" in each for each in told) == 1


@pytest.mark.parametrize("name", ["incline-down", "heavy-pulley"])
def test_the_view_of_the_whole_is_the_one_that_holds_most(name: str) -> None:
    assert any(
        "All" in each or "Cart, hanging mass" in each for each in sentences(name, "two-views")
    )


def test_slips_about_both_kinetic_energies_stand_where_both_are_inside() -> None:
    steps = {step.id: step for step in demo("incline-down").steps}
    done = "Only the kinetic energy of the hanging mass counted, though the cart moves too."
    told = [id for id, step in steps.items() if done in [words(slip.done) for slip in step.slips]]
    assert told == ["all-moving-energy"]
