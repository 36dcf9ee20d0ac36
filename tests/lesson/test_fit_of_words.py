"""Words that must fit the set-up: nothing is said about what isn't there, or isn't so."""

from fallwork.lesson import Lesson
from fallwork.lesson.document import Paragraph, Step, Table, Working
from fallwork.lesson.latex import latex
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
    """Cart and weight: T_c d - T_h d from the string; with the string in, (T_c - T_h) d from the
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
    """Its account holds the work of the pulley on the string, (T_c - T_h) d."""
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


def formulas(found: Step) -> list[str]:
    """The first equation of each block of working, left and right side in symbols."""
    firsts = [block.equations[0] for block in found.blocks if isinstance(block, Working)]
    return [f"{latex(first.left)} = {latex(first.right)}" for first in firsts]


def test_two_weights_have_the_acceleration_of_the_textbooks() -> None:
    """a = (m2 - m1) g / (m1 + m2): common to all textbooks; from memory."""
    masses = r"(m_\mathrm{r} - m_\mathrm{l}) \, g"
    acceleration, energy = (
        step(worked("two-weights"), f) for f in ("acceleration", "all-moving-energy")
    )
    assert rf"a = \frac{{{masses}}}{{m_\mathrm{{l}} + m_\mathrm{{r}}}}" in formulas(acceleration)
    assert (
        rf"v = \sqrt{{\frac{{2 \, {masses} \, d}}{{m_\mathrm{{l}} + m_\mathrm{{r}}}}}}"
        in formulas(energy)
    )


def test_the_letters_of_the_first_table_are_explained_below_it() -> None:
    said = prose(step(worked("two-weights"), "objects"))
    assert (
        r"In this table m_\mathrm{l} is the mass of the left hanging mass, m_\mathrm{r} the "
        "mass of the right hanging mass and g the local free-fall acceleration." in said
    )


def test_the_letters_of_a_turning_pulley_are_explained_before_its_equation() -> None:
    said = prose(step(worked("heavy-pulley"), "turning-pulley"))
    assert said.index("r is the radius at which") < said.index("positive in the sense")
    assert r"I the rotational inertia of the pulley and \alpha its angular acceleration" in said


def test_what_a_heavy_pulley_is_and_does_is_told_from_the_start() -> None:
    said = prose(step(worked("heavy-pulley"), "objects"))
    assert "it has inertia, and there is friction in its bearing" in said


def test_with_one_acceleration_and_two_tensions_the_opening_says_so() -> None:
    opening = words(worked("heavy-pulley").summary)
    assert "Newton's second law gives the acceleration and the tensions." in opening
    assert words(worked("heavy-pulley").find[0]).startswith("the acceleration a and the tensions")


def test_works_of_a_string_cancel_round_a_moving_pulley_and_a_heavy_one() -> None:
    """Twice the force over half the way; and T_c d + (T_h - T_c) d - T_h d = 0."""
    lift, heavy = (
        prose(step(worked(kind), "all-moving-forces")) for kind in ("moving-pulley", "heavy-pulley")
    )
    assert r"2 \, T \, d on the cart and - 2 \, T \, d on the moving pulley" in lift
    assert "on the cart, " in heavy
    assert "on the pulley and " in heavy
    for said in (lift, heavy):
        assert "in sum nothing, because a massless string takes up no energy" in said


def test_the_sum_with_a_moving_pulley_is_one_of_works_not_along_the_string() -> None:
    """m_l g + m_p g - 2 f = (4 m_c + m_l + m_p) a: each force times its path for one of the load,
    by the principle of virtual work; common to textbooks, from memory.
    """
    found = step(worked("moving-pulley"), "acceleration")
    gravity = r"m_\mathrm{m} \, g + m_\mathrm{l} \, g"
    inertia = r"(4 \, m_\mathrm{c} + m_\mathrm{m} + m_\mathrm{l})"
    assert rf"{gravity} - 2 \, f = {inertia} \, a" in formulas(found)
    said = prose(found)
    assert "Each force counts times how far its object moves while the load moves" in said
    assert "The push of the fixed pulley on the string and the pull of the hook" in said
    assert "along the string" not in said
    assert "along the string" in prose(step(worked("level-track"), "acceleration"))


def test_potential_energy_is_explained_for_the_first_system_and_then_recalled() -> None:
    first, second = (
        prose(step(worked("heavy-pulley"), f"{system}-potential"))
        for system in ("without-pulley", "all-moving")
    )
    assert "whoever counts both counts gravity twice" in first
    assert "The zero levels stay as they were." in second
    assert "counts gravity twice" not in second


def test_a_coupling_pulls_by_its_own_name() -> None:
    said = prose(step(worked("train"), "string-coupling"))
    assert "So the coupling pulls with the same tension" in said


def test_thermal_energy_belongs_to_all_that_rubs() -> None:
    said = answer(worked("train"), "friction-inside")
    assert "thermal energy of the rear cart, the front cart and the track together" in said


def test_a_weight_that_is_pulled_up_goes_on_rising_and_the_safety_notes_say_so() -> None:
    lesson = worked("two-weights")
    assert "The left hanging mass goes on upward" in prose(step(lesson, "after-landing"))
    notes = [words(note) for note in lesson.safety]
    assert any(
        note.startswith("The left hanging mass is pulled up and goes on rising") for note in notes
    )
    assert not any("goes on rising" in words(note) for note in worked("heavy-pulley").safety)


def test_gravity_on_a_heavy_pulley_is_one_of_the_interactions() -> None:
    (table,) = [b for b in step(worked("heavy-pulley"), "objects").blocks if isinstance(b, Table)]
    rows = [[words(cell) for cell in row] for row in table.rows]
    borne = "Earth pulls the pulley down; the axle bears that"
    assert ["gravity", "Earth and the pulley", borne] in rows


def test_carts_on_one_track_have_one_coefficient() -> None:
    """Textbook form: a = (m_h - mu (m_rc + m_fc)) g / (m_rc + m_fc + m_h)."""
    lesson = worked("train")
    meanings = [each.meaning for each in lesson.givens if "friction" in each.meaning]
    assert meanings == [
        "coefficient of rolling friction of the rear cart and of the front cart on the track"
    ]
    friction = r"\mu \, (m_\mathrm{rc} + m_\mathrm{fc})"
    assert any(
        rf"(m_\mathrm{{h}} - {friction}) \, g" in formula
        for formula in formulas(step(lesson, "acceleration"))
    )
