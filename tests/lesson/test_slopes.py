"""What a page says of a slope: components of gravity, where friction points, what holds a block."""

import pytest

from fallwork.lesson.document import FigureSlot, Lesson, Step, Working
from fallwork.lesson.expression import Function, Number, Quotient
from fallwork.lesson.latex import latex, working
from lesson.kit import DEMO, ZOO, lesson_of
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


def shown_in(lesson: Lesson, name: str) -> str:
    blocks = [block for block in step(lesson, name).blocks if isinstance(block, Working)]
    return "\n".join(working(block.equations, 3) for block in blocks)


def test_static_friction_points_against_the_sliding_that_would_set_in() -> None:
    """T < m g sin θ on the steep board; T > m g sin θ on the other."""
    down, up = (
        prose(step(told(name), "static-friction")) for name in ("incline-held", "incline-grips")
    )
    assert "would slide down the slope" in down
    assert "So static friction points up the slope." in down
    assert "would be drawn up the slope" in up
    assert "So static friction points down the slope." in up


def test_the_weights_that_static_friction_holds_lie_round_the_one_that_needs_none() -> None:
    """0.310 kg × (sin 25° ± 0.25 cos 25°) = 0.20125 kg and 0.060773 kg, mean 0.13101 kg."""
    shown = shown_in(told("incline-held"), "limits")
    assert all(value in shown for value in ("0.20125", "0.060773", "0.13101"))


def test_where_static_friction_holds_without_a_weight_there_is_no_lightest_one() -> None:
    words = prose(step(told("incline-grips"), "limits"))
    assert "There is no smallest hanging mass." in words
    assert "a lighter one would let it slide down" not in words


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


def test_potential_energy_of_more_objects_builds_on_what_was_said_of_one() -> None:
    lesson = lesson_of(DEMO / "incline-down.yaml", numbers=False)
    first, more = (prose(step(lesson, f"{s}-potential")) for s in ("cart-and-earth", "all-moving"))
    assert "whoever counts both counts gravity twice" in first
    assert "whoever counts both counts gravity twice" not in more
    assert (
        "There is one for each object that changes its height: the cart and the hanging mass."
        in more
    )


@pytest.mark.parametrize(
    ("name", "where", "slip"),
    [
        ("push-away", "acceleration", "A20"),
        ("incline-down", "tension", "T18"),
        ("incline-down", "cart-alone-work", "E20"),
        ("incline-held", "static-friction", "I10"),
    ],
)
def test_a_slip_stands_where_its_direction_or_slope_matters(
    name: str, where: str, slip: str
) -> None:
    assert slip in [each.id for each in step(told(name), where).slips]


def test_at_rest_a_heavy_pulley_makes_no_difference_to_the_pulls() -> None:
    """Without angular acceleration no torque is needed; only friction could hold one."""
    words = prose(step(told("incline-held"), "string"))
    assert "heavy pulley" not in words
    assert "Friction in the bearing of the pulley could hold a difference" in words


def test_after_the_landing_a_cart_on_a_slope_is_slowed_down_by_gravity_and_friction() -> None:
    """a = −(sin 8° + 0.012 cos 8°) × 9.80665 m/s² = −1.4814 m/s²."""
    lesson = told("incline-up")
    assert "gravity along the slope and friction slow it down" in prose(
        step(lesson, "after-landing")
    )
    shown = shown_in(lesson, "after-landing")
    assert r"- m_\mathrm{c} \, g \, \sin \theta - f &= m_\mathrm{c} \, a_\mathrm{coast}" in shown
    assert "-1.4814" in shown
    assert "roll back" in prose(step(lesson, "after-landing"))


def test_gravity_on_the_cart_stands_once_in_each_account() -> None:
    words = prose(step(told("incline-up"), "two-views"))
    assert "as a work for “The cart alone”, where Earth is outside" in words
