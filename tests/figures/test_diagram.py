"""Free-body diagrams say the same as the solution, in arrows and in words."""

import math

import pytest

from fallwork.figures import CannotDrawError
from fallwork.figures.arrows import EQUAL, LONGEST, arrows_of, nice_length
from fallwork.figures.geometry import direction
from figures.catalogue import setup
from figures.samples import drawn
from figures.setups import names


def test_words_for_the_cart_have_the_numbers_of_the_solution() -> None:
    # 0.420 kg × 9.80665 m/s² = 4.1188 N; 0.008 of it is 0.03295 N; T = 0.66428 N.
    assert drawn("diagram", "cart").description == (
        "Forces on the cart: gravity, 4.12 N, straight down; normal force of the track, 4.12 N, "
        "straight up; friction of the track, 0.0330 N, back; tension of the string, 0.664 N, "
        "forward. A dashed arrow beside it shows the acceleration, forward. "
        "The positive direction is forward."
    )


def test_words_have_no_numbers_where_arrows_are_not_to_scale() -> None:
    figure = drawn("diagram", "weight", to_scale=False)
    assert figure.description == (
        "Forces on the weight: gravity, straight down; tension of the string, straight up. "
        "A dashed arrow beside it shows the acceleration, straight down. "
        "The positive direction is straight down."
    )
    assert "Not to scale" in figure.caption


def test_the_caption_names_an_arrow_that_is_drawn_too_long() -> None:
    # 0.0330 N against 4.12 N would be an arrow of 0.7 pt.
    assert drawn("diagram", "cart").caption == (
        "Free-body diagram of the cart. Arrows to scale. An arrow with an open head is drawn "
        "longer than to scale, so that it can be seen: friction of the track (0.0330\u00a0N)."
    )


@pytest.mark.parametrize("case", names())
def test_directions_from_the_set_up_are_those_of_the_solution(case: str) -> None:
    given = setup(case)
    phase = given.solution.phases[0]
    shown = (*given.apparatus.bodies, *given.apparatus.pulleys)
    for force in (f for f in phase.forces if f.on in shown and f.vector and f.size):
        # With inertia two tensions differ; their sum's direction is then a result, not shown.
        if force.torque is None and force.interaction.value != "axle":
            x, y = direction(force, given.apparatus, phase)
            along = (x * force.vector[0] + y * force.vector[1]) / force.size
            assert along == pytest.approx(1.0, abs=1e-9), force.name


@pytest.mark.parametrize("case", names())
def test_lengths_are_in_the_ratio_of_the_forces(case: str) -> None:
    given = setup(case)
    for name in given.apparatus.bodies:
        arrows = arrows_of(given.scene("diagram", name))
        longest = max(arrow.force.size or 0.0 for arrow in arrows)
        for arrow in arrows:
            if not arrow.stretched:
                assert arrow.length == pytest.approx(LONGEST * (arrow.force.size or 0.0) / longest)


def test_lengths_not_to_scale_are_all_equal() -> None:
    arrows = arrows_of(setup("incline").scene("diagram", "block", to_scale=False))
    assert [arrow.length for arrow in arrows] == [EQUAL] * 4


def test_only_bodies_and_pulleys_have_a_diagram() -> None:
    with pytest.raises(CannotDrawError, match="a body or a pulley, not 'string'"):
        drawn("diagram", "string")


def test_every_force_on_an_object_has_its_arrow() -> None:
    arrows = arrows_of(setup("train").scene("diagram", "middle"))
    assert [arrow.force.name for arrow in arrows] == [
        "gravity of Earth on middle",
        "normal of track on middle",
        "friction of track on middle",
        "tension of link-1 on middle",
        "tension of link-2 on middle",
    ]


def test_without_friction_there_is_no_arrow_for_it() -> None:
    from figures.samples import level_track

    figure = drawn("diagram", "cart", to_scale=False, apparatus=level_track(friction=0.0))
    assert "friction" not in figure.description


def test_on_a_slope_the_normal_force_is_at_right_angles_to_it() -> None:
    arrows = arrows_of(setup("incline").scene("diagram", "block"))
    normal = next(a for a in arrows if a.force.interaction.value == "normal")
    assert math.degrees(math.atan2(normal.direction[1], normal.direction[0])) == pytest.approx(115)


@pytest.mark.parametrize(("longest", "bar"), [(4.12, 2.0), (0.785, 0.2), (0.9, 0.5), (12.0, 5.0)])
def test_the_scale_bar_is_a_round_force(longest: float, bar: float) -> None:
    assert nice_length(longest) == pytest.approx(bar)


def test_on_a_slope_directions_are_up_and_down_the_slope() -> None:
    # a = (0.26 − 0.3 sin 25° − 0.15 × 0.3 cos 25°) g / 0.56 = 1.6187 m/s²; T = 0.26 (g − a).
    words = setup("incline").draw("diagram", "block").description
    assert "tension of the string, 2.13 N, up the slope" in words
    assert "down the slope" in words
    assert "forward" not in words
