"""Words that must fit the set-up: nothing is said about what isn't there, or isn't so."""

from fallwork.lesson import Lesson
from fallwork.lesson.document import Paragraph, Step
from lesson.kit import DEMO, lesson_of
from lesson.measured.kit import prose, step, words


def worked(kind: str) -> Lesson:
    return lesson_of(DEMO / f"{kind}.yaml", numbers=True)


def answer(lesson: Lesson, question: str) -> str:
    found = [q for each in lesson.steps for q in each.questions if q.id == question]
    return words(found[0].answer)


def checks(found: Step) -> str:
    return "\n".join(words(block.text) for block in found.check if isinstance(block, Paragraph))


def slips(found: Step) -> set[str]:
    return {slip.id for slip in found.slips}


def test_the_string_never_changes_the_total_work_even_with_two_tensions() -> None:
    """Cart and weight: T_c d - T_w d from the string; with the string in, (T_c - T_w) d from the
    pulley. A massless string takes up no energy, so both are the same.
    """
    said = answer(worked("heavy-pulley"), "string-in-or-out")
    assert "the total work is the same either way" in said


def test_a_weight_pulls_with_its_gravity_while_it_hangs_not_while_a_hand_holds_it() -> None:
    said = checks(step(worked("two-weights"), "tension"))
    assert "Only while it hangs at rest, or moves at constant speed, are the two equal." in said


def test_the_slip_of_one_string_part_carrying_the_load_is_told_at_the_moving_pulley() -> None:
    assert "M2" in slips(step(worked("moving-pulley"), "tension"))


def test_both_carts_of_a_train_are_weighed_with_what_rides_on_them() -> None:
    said = prose(step(worked("train"), "bench"))
    assert "everything that moves along with each of them" in said


def test_a_system_without_the_heavy_pulley_needs_the_tensions() -> None:
    """Its account holds the work of the pulley on the string, (T_c - T_w) d."""
    outside, inside = (
        step(worked("heavy-pulley"), f"{system}-energy")
        for system in ("without-pulley", "all-moving")
    )
    assert "The tensions had to be known for it, because the pulley is outside" in prose(outside)
    assert "nothing had to be known about the tensions" in prose(inside)
    assert (slips(outside), slips(inside)) == ({"P7"}, {"P5"})


def test_a_question_is_answered_once_on_a_page() -> None:
    for kind in ("heavy-pulley", "train"):
        asked = [q.id for each in worked(kind).steps for q in each.questions]
        assert len(asked) == len(set(asked))


def test_a_coupling_without_a_pulley_raises_no_question_about_pulleys() -> None:
    raised = {q.id for q in step(worked("train"), "string-coupling").questions}
    assert "tension-on-both-sides" not in raised
    assert "tension-on-both-sides" in {
        q.id for q in step(worked("train"), "string-string").questions
    }
