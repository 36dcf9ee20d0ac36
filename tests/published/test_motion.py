"""Level tracks, inclines, pulleys, pushes and falls against published numbers (motion.yaml)."""

import math
from pathlib import Path

import pytest

from fallwork.mechanics import solve
from mechanics.answers import cases, missed
from mechanics.kit import level_track, rig, two_weights

G = 9.80
CASES = cases(Path(__file__).with_name("motion.yaml"), G)


@pytest.mark.parametrize("source", CASES)
def test_the_published_number_comes_out(source: str) -> None:
    set_up, expected = CASES[source]
    assert missed(set_up, solve(set_up), expected) == {}


@pytest.mark.parametrize(("m1", "m2"), [(4.0, 1.0), (0.512, 0.09), (0.25, 3.0)])
def test_formulas_in_symbols(m1: float, m2: float) -> None:
    """UP1 (see motion.yaml), example 6.4: a = m₂g/(m₁ + m₂), T = m₁m₂g/(m₁ + m₂); check 6.3: 2T.

    Martin, Neary, Rinaldo, Woodman, Introductory Physics: Building Models to Describe Our World
    (2025-05-16), Newton's laws: a = g(m₁(sin θ − μ cos θ) − μm₂)/(m₁ + m₂) of a block on a level
    that one on an incline pulls.
    """
    driven = solve(level_track(m1, m2, distance=1.0, gravity=G)).phases[0]
    tension = m1 * m2 * G / (m1 + m2)
    assert driven.accelerations["weight"] == pytest.approx(m2 * G / (m1 + m2), rel=1e-12)
    assert driven.tensions["string"]["cart"] == pytest.approx(tension, rel=1e-12)
    pair = solve(two_weights(m1, m2, gravity=G)).phases[0]
    assert pair.tensions["string"]["right"] == pytest.approx(2 * tension, rel=1e-12)
    m1, m2, mu, theta = m1 + m2, m2 / 2, 0.15, math.radians(35)  # it slides down
    blocks = rig(
        *(f"cart level {m2} surface=table friction={mu}", "track table", "fixed pulley"),
        *(f"cart sloping {m1} surface=plane friction={mu}", "track plane slope=-35"),
        string="level pulley sloping",
        run="sloping distance=1.0",
        gravity=G,
    )
    wanted = G * (m1 * (math.sin(theta) - mu * math.cos(theta)) - mu * m2) / (m1 + m2)
    assert solve(blocks).phases[0].accelerations["level"] == pytest.approx(wanted, rel=1e-12)
