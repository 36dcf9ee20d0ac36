"""Motions that no string ties together: conditions for the tensions, and what stays at rest."""

import pytest

from fallwork.lesson.document import Equation, Working
from fallwork.lesson.expression import evaluate
from fallwork.lesson.latex import latex
from lesson.kit import DEMO, everything, lesson_from, lesson_of, scenario_from
from mechanics.scenes import random_scene


def equations(*, numbers: bool) -> list[Equation]:
    lesson = lesson_of(DEMO / "pulley-on-a-string.yaml", numbers=numbers)
    (found,) = (step for step in lesson.steps if step.id == "acceleration")
    blocks = [part for part in everything(found.blocks) if isinstance(part, Working)]
    return [equation for block in blocks for equation in block.equations]


def test_a_massless_pulley_and_the_lower_string_give_the_conditions() -> None:
    """T_1 = 2 T_2 balances the hung pulley; by the lower string 2 a_c + a_r = a_l."""
    first, second = equations(numbers=False)[:2]
    assert [latex(first.left), latex(first.right)] == [r"T_\mathrm{1}", r"2 \, T_\mathrm{2}"]
    assert latex(second.right) == r"\frac{T_\mathrm{2}}{m_\mathrm{l}} - g"
    assert not second.numbers


def test_the_tensions_fulfil_the_conditions() -> None:
    for equation in equations(numbers=True)[:2]:
        assert evaluate(equation.left) == pytest.approx(evaluate(equation.right), rel=1e-12)


def test_what_falls_has_g_less_the_pull_on_each_kilogram() -> None:
    shown = {latex(each.left): latex(each.right) for each in equations(numbers=False)}
    assert shown[r"a_\mathrm{c}"] == r"g - \frac{T_\mathrm{1}}{m_\mathrm{c}}"


def test_a_pulley_that_stays_at_rest_is_not_said_to_turn() -> None:
    """A drum whose string is slack from the start, beside motions that go on."""
    scene = random_scene("composite", 147, static=True)
    lesson = lesson_from(scenario_from(scene.apparatus))
    assert "holding-pulley6" in {step.id for step in lesson.steps}
    turning = {
        symbol.id for symbol in lesson.symbols if "angle" in symbol.id or "spin" in symbol.id
    }
    assert turning == {"angle.pulley8", "spin.pulley8"}
