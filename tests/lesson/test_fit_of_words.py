"""Words that must fit the set-up: nothing is said about what isn't there, or isn't so."""

from fallwork.lesson import Lesson
from fallwork.lesson.document import Step, Table, Working
from fallwork.lesson.latex import latex
from lesson.kit import DEMO, lesson_of
from lesson.measured.kit import step, words


def worked(kind: str) -> Lesson:
    return lesson_of(DEMO / f"{kind}.yaml", numbers=True)


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


def test_the_sum_with_a_moving_pulley_is_one_of_works_not_along_the_string() -> None:
    """m_l g + m_p g - 2 f = (4 m_c + m_l + m_p) a: each force times its path for one of the load,
    by the principle of virtual work; common to textbooks, from memory.
    """
    found = step(worked("moving-pulley"), "acceleration")
    gravity = r"m_\mathrm{m} \, g + m_\mathrm{l} \, g"
    inertia = r"(4 \, m_\mathrm{c} + m_\mathrm{m} + m_\mathrm{l})"
    assert rf"{gravity} - 2 \, f = {inertia} \, a" in formulas(found)


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


def test_a_step_tells_one_mistake_a_value() -> None:
    for path in sorted(DEMO.glob("*.yaml")):
        for each in worked(path.stem).steps:
            values = [(slip.of.id, f"{slip.value:.6e}") for slip in each.slips]
            assert len(values) == len(set(values)), (path.stem, each.id)
    (both,) = (slip for slip in step(worked("train"), "tension").slips if slip.id == "R1")
    assert words(both.done) == (
        "The tension of the string to the hanging mass taken for the coupling too. "
        "Or: the coupling thought to pull both carts."
    )


def test_free_fall_has_the_digits_of_g_in_the_list_of_symbols() -> None:
    (found,) = (each for each in worked("two-weights").symbols if each.id.endswith("@after"))
    assert found.written == "-9.80665"
