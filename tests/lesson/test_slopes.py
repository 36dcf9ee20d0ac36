"""What a page says of a slope: components of gravity, where friction points, what holds a block."""

from fallwork.lesson.document import Lesson, Step
from fallwork.lesson.expression import Function, Number, Quotient
from fallwork.lesson.latex import latex
from lesson.kit import ZOO, lesson_of
from lesson.measured.kit import prose


def told(name: str) -> Lesson:
    return lesson_of(ZOO / f"{name}.yaml", numbers=True)


def step(lesson: Lesson, name: str) -> Step:
    return next(step for step in lesson.steps if step.id == name)


def test_gravity_points_down_and_only_its_component_lies_along_the_slope() -> None:
    """Gravity itself is neither along the motion nor against it on a slope."""
    said = prose(step(told("incline-up"), "cart-alone-work"))
    assert "Gravity on the cart points straight down; its component along the slope" in said
    assert "Gravity on the cart points against the motion" not in said


def test_on_a_slope_the_normal_force_balances_a_component_of_gravity_only() -> None:
    said = prose(step(told("incline-up"), "cart-alone-no-work"))
    assert "the normal force balances the component of gravity into the track" in said
    assert "balances gravity is not the reason" not in said


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
