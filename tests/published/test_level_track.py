"""A cart or block on a level track with a hanging weight, against published numbers.

Sources, read there: OpenStax, University Physics Volume 1 (edition of 2026-06-11), g = 9.80 m/s²;
and reference values computed to 50 digits in closed form and checked by a Lagrangian, Kane's
method and a numerical integration, g = 9.80665 m/s².
"""

import pytest

from fallwork.mechanics import account, solve
from mechanics.kit import level_track


def test_block_and_hanging_mass_without_friction() -> None:
    """University Physics 1, section 6.1, problem 43: prints 2.0 m/s², 7.8 N, 2.0 m/s."""
    driven = solve(level_track(4.0, 1.0, distance=1.0, gravity=9.80)).phases[0]
    assert driven.accelerations["cart"] == pytest.approx(1.96, rel=1e-9)
    assert driven.tensions["string"]["weight"] == pytest.approx(7.84, rel=1e-9)
    assert driven.end_velocities["weight"] == pytest.approx(1.979898987, rel=1e-9)


def test_speed_from_energy_after_two_metres() -> None:
    """University Physics 1, chapter 8, additional problem 71: prints 3.6 m/s."""
    driven = solve(level_track(4.0, 2.0, distance=2.0, gravity=9.80)).phases[0]
    assert driven.end_velocities["cart"] == pytest.approx(3.614784456, rel=1e-9)


@pytest.mark.parametrize(("m1", "m2"), [(4.0, 1.0), (0.512, 0.09), (0.25, 3.0)])
def test_acceleration_and_tension_in_symbols(m1: float, m2: float) -> None:
    """University Physics 1, example 6.4: a = m₂g/(m₁ + m₂), T = m₁m₂g/(m₁ + m₂)."""
    driven = solve(level_track(m1, m2, distance=1.0, gravity=9.80)).phases[0]
    assert driven.accelerations["weight"] == pytest.approx(m2 * 9.80 / (m1 + m2), rel=1e-12)
    assert driven.tensions["string"]["cart"] == pytest.approx(m1 * m2 * 9.80 / (m1 + m2), rel=1e-12)


REFERENCE = level_track(0.5, 0.1, distance=0.8, friction=0.05)


def test_reference_with_friction() -> None:
    """Reference E1: cart 0.5 kg, weight 0.1 kg, μ 0.05, drop 0.8 m."""
    driven = solve(REFERENCE).phases[0]
    assert driven.accelerations["cart"] == pytest.approx(1.22583125, rel=1e-11)
    assert driven.tensions["string"]["cart"] == pytest.approx(0.858081875, rel=1e-11)
    assert driven.duration == pytest.approx(1.14246958498, rel=1e-11)
    assert driven.end_velocities["cart"] == pytest.approx(1.40047491945, rel=1e-11)


def test_reference_works_with_friction() -> None:
    """Reference E1: works and energies over the drop."""
    driven = solve(REFERENCE).phases[0]
    cart, weight = (account(REFERENCE, driven, [name]) for name in ("cart", "weight"))
    both = account(REFERENCE, driven, ["cart", "weight", "string", "Earth"])
    works = {force.name: force.work for force in cart.external + weight.external}
    assert works["tension of string on cart"] == pytest.approx(0.6864655, rel=1e-10)
    assert works["friction of track on cart"] == pytest.approx(-0.196133, rel=1e-10)
    assert works["gravity of Earth on weight"] == pytest.approx(0.784532, rel=1e-10)
    assert cart.energy_changes["kinetic"] == pytest.approx(0.4903325, rel=1e-10)
    assert weight.energy_changes["kinetic"] == pytest.approx(0.0980665, rel=1e-10)
    assert both.energy_change == pytest.approx(-0.196133, rel=1e-10)


def test_reference_coasting_after_the_landing() -> None:
    """Reference E1b: the string goes slack and friction alone stops the cart."""
    coasting = solve(REFERENCE).phases[2]
    assert coasting.start_velocities["cart"] == pytest.approx(1.40047491945, rel=1e-11)
    assert coasting.accelerations["cart"] == pytest.approx(-0.4903325, rel=1e-11)
    assert coasting.duration == pytest.approx(2.85617396246, rel=1e-11)
    assert coasting.displacements["cart"] == pytest.approx(2.0, rel=1e-11)


def test_reference_without_the_mass_of_the_string() -> None:
    """Reference E9, the limit of a massless string: cart 0.5 kg, weight 0.1 kg, drop 1.0 m."""
    driven = solve(level_track(0.5, 0.1, distance=1.0)).phases[0]
    assert driven.duration == pytest.approx(1.10619141905, rel=1e-11)


@pytest.mark.parametrize(
    ("masses", "slope_deg", "static_friction", "needed"),
    [((0.5, 0.1), 0.0, 0.25, 0.980665), ((0.75, 0.15), 12.0, 0.10, 0.0581903870685)],
)
def test_reference_held_by_static_friction(
    masses: tuple[float, float], slope_deg: float, static_friction: float, needed: float
) -> None:
    """Reference E10: the drive stays below μₛN, so nothing moves and T is the weight's weight."""
    held = level_track(*masses, distance=0.8, slope_deg=slope_deg, static_friction=static_friction)
    solution = solve(held)
    (rest,) = solution.phases
    (friction,) = (f for f in rest.forces if f.name == "friction of track on cart")
    assert not solution.moves
    assert friction.size == pytest.approx(needed, rel=1e-11)
    assert rest.tensions["string"]["cart"] == pytest.approx(masses[1] * 9.80665, rel=1e-12)
