"""What a page says of a run that a push starts and that turns round."""

import pytest

from fallwork.lesson.document import Lesson, Step, Working
from fallwork.lesson.latex import latex
from lesson.kit import GRAVITY, ZOO, lesson_of
from lesson.measured.kit import prose


def pushed_away() -> Lesson:
    return lesson_of(ZOO / "push-away.yaml", numbers=True)


def said_in(name: str) -> str:
    return prose(next(step for step in pushed_away().steps if step.id == name))


def formulas(name: str) -> list[str]:
    return formulas_of(next(step for step in pushed_away().steps if step.id == name))


def formulas_of(step: Step) -> list[str]:
    blocks = [block for block in step.blocks if isinstance(block, Working)]
    return [f"{latex(e.left)} = {latex(e.right)}" for block in blocks for e in block.equations]


def test_a_speed_is_given_as_a_size_and_its_direction_in_words() -> None:
    """The file has -0.60 m/s; v_0 in the formulas is 0.60 m/s."""
    speed = next(given for given in pushed_away().givens if given.meaning.startswith("speed"))
    assert (speed.as_written, speed.in_si) == ("0.60 m/s", "0.60\u00a0m/s")


def test_the_path_to_the_turning_point_has_its_own_meaning() -> None:
    meanings = {
        symbol.letter + symbol.subscript: symbol.meaning for symbol in pushed_away().symbols
    }
    assert meanings["d"] == "distance that the cart moves up to the turning point"
    assert meanings["drun"] == "distance of the cart from its start at which the run ends"


def test_a_run_that_turns_round_keeps_one_positive_direction() -> None:
    """The one in which it moves in the end: velocities are negative on the way out, and friction
    changes its sign. a = (m_h g + f)/M out, (m_h g - f)/M back; textbook form, from memory.
    """
    out, back = ("\n".join(formulas(s)) for s in ("newton-cart", "acceleration-part-2"))
    assert r"T + f = m_\mathrm{c} \, a_\mathrm{c}" in out
    assert r"T_\mathrm{II} - f = m_\mathrm{c} \, a_\mathrm{II}" in back
    values = {s.id: s.value for s in pushed_away().symbols}
    weight, friction = 0.05 * GRAVITY, 0.01 * 0.5 * GRAVITY
    assert values["acceleration"] == pytest.approx((weight + friction) / 0.55)
    assert values["acceleration@2"] == pytest.approx((weight - friction) / 0.55)


def test_friction_in_a_bearing_changes_its_sign_at_the_turning_point() -> None:
    lesson = lesson_of(ZOO / "pushed-up.yaml", numbers=True)
    turning = next(step for step in lesson.steps if step.id == "turning-wheel")
    (first, *_) = formulas_of(turning)
    assert first == r"T_\mathrm{r} \, r + \tau - T_\mathrm{l} \, r = I \, \alpha"


def test_what_coasts_after_coming_back_has_the_speed_of_the_way_back() -> None:
    """v² = v0² + 2 (m_h g d - f (d + 2 x)) / M with x = v0² / 2a; f = µ m_c g, by hand."""
    lesson = lesson_of(ZOO / "push-away-lands.yaml", numbers=True)
    weight, friction = 0.05 * GRAVITY, 0.01 * 0.5 * GRAVITY
    back = 0.6**2 / (2 * (weight + friction) / 0.55)
    square = 2 * (weight - friction) / 0.55 * (back + 0.3)
    values = {s.id: s.value for s in lesson.symbols}
    assert values["distance.coasting"] == pytest.approx(square / (2 * 0.01 * GRAVITY))
