"""What a page says of a slope: components of gravity, where friction points, what holds a block."""

from fallwork.lesson.document import FigureSlot, Lesson, Step, Working
from fallwork.lesson.expression import Function, Number, Quotient
from fallwork.lesson.latex import latex, working
from lesson.kit import DEMO, ZOO, lesson_of


def told(name: str) -> Lesson:
    return lesson_of(ZOO / f"{name}.yaml", numbers=True)


def step(lesson: Lesson, name: str) -> Step:
    return next(step for step in lesson.steps if step.id == name)


def test_a_sine_in_radians_shows_the_digits_of_the_angle() -> None:
    slope = Quotient(top=Number(value=75), bottom=Number(value=10))
    assert latex(Function(name="sin", argument=slope)) == r"\sin 7.5"


def test_friction_stands_behind_gravity_in_the_speed_of_the_cart_alone() -> None:
    shown = [
        latex(eq.right)
        for block in step(told("incline-up"), "cart-alone-energy").blocks
        for eq in getattr(block, "equations", ())
    ]
    assert any(r"T - m_\mathrm{c} \, g \, \sin \theta - f" in formula for formula in shown)


def shown_in(lesson: Lesson, name: str) -> str:
    blocks = [block for block in step(lesson, name).blocks if isinstance(block, Working)]
    return "\n".join(working(block.equations, 3) for block in blocks)


def test_the_weights_that_static_friction_holds_lie_round_the_one_that_needs_none() -> None:
    """0.310 kg × (sin 25° ± 0.25 cos 25°) = 0.20125 kg and 0.060773 kg, mean 0.13101 kg."""
    shown = shown_in(told("incline-held"), "limits")
    assert all(value in shown for value in ("0.20125", "0.060773", "0.13101"))


def test_the_pull_is_charted_once_for_two_systems_that_feel_it() -> None:
    lesson = lesson_of(DEMO / "incline-down.yaml", numbers=True)
    slots = [b for s in lesson.steps for b in s.blocks if isinstance(b, FigureSlot)]
    assert [slot.kind for slot in slots].count("tension-work") == 1


def test_cart_and_earth_raise_no_question_about_a_string_that_is_outside() -> None:
    lesson = lesson_of(DEMO / "incline-down.yaml", numbers=False)
    asked = {name: [q.id for q in step(lesson, name).questions] for name in _ABOUT_SYSTEMS}
    assert asked["cart-and-earth-forces"] == asked["cart-and-earth-no-work"] == []
    assert "string-in-or-out" in asked["all-moving-forces"]


_ABOUT_SYSTEMS = ("cart-and-earth-forces", "cart-and-earth-no-work", "all-moving-forces")


def test_after_the_landing_a_cart_on_a_slope_is_slowed_down_by_gravity_and_friction() -> None:
    """a = −(sin 8° + 0.012 cos 8°) × 9.80665 m/s² = −1.4814 m/s²."""
    lesson = told("incline-up")
    shown = shown_in(lesson, "after-landing")
    assert r"- m_\mathrm{c} \, g \, \sin \theta - f &= m_\mathrm{c} \, a_\mathrm{coast}" in shown
    assert "-1.4814" in shown
