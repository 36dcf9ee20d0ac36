"""Set-ups in which things move at different rates, or in more than one way."""

import pytest

from fallwork.mechanics import solve
from mechanics.kit import STANDARD_GRAVITY, double_machine, rig, tackle

G = STANDARD_GRAVITY


def test_a_push_moves_everything_that_tight_strings_tie_to_it() -> None:
    set_up = rig(
        *("cart cart 0.5", "fixed top", "moving lower", "hanging load 0.2 hangs_from=lower"),
        *("track track", "anchor hook"),
        string="cart top lower hook",
        run="cart distance=0.3 speed=-0.4",
    )
    start = solve(set_up).phases[0].start_velocities
    assert start == {"cart": -0.4, "lower": -0.2, "load": -0.2}


def test_two_freedoms_of_a_pulley_on_a_string() -> None:
    """A moving pulley with 1 and 2 units of mass against 3: textbook double Atwood machine.

    By hand: the pair pulls like 4·1·2/(1 + 2) = 8/3 units, so that the 3 units sink with
    (3 − 8/3)/(3 + 8/3) g = g/17.
    """
    driven = solve(double_machine()).phases[0]
    assert driven.accelerations["big"] == pytest.approx(G / 17)
    assert driven.accelerations["hung"] == pytest.approx(-G / 17)
    assert driven.tensions["lower"]["hung"] == pytest.approx(driven.tensions["upper"]["hung"])


def test_a_tackle_of_four_strands() -> None:
    """A pulley passed twice: the load moves a quarter as far, held by four times the tension."""
    driven = solve(tackle(0.1)).phases[0]
    assert driven.accelerations["load"] == pytest.approx(-driven.accelerations["weight"] / 4)
    tension = driven.tensions["string"]
    assert tension["lower"] == pytest.approx(4 * tension["weight"])
    assert tension["hook"] == pytest.approx(tension["weight"])


@pytest.mark.parametrize("second", ["upper lower hook-b", "hook-b lower upper"])
def test_a_moving_pulley_below_a_moving_pulley(second: str) -> None:
    """Two stages of 2:1. By hand: the weight moves four times as far as the load, so that
    a = (m − M/4)g/(m + M/16), and T is halved from stage to stage."""
    set_up = rig(
        *("hanging weight 0.12", "hanging load 0.4 hangs_from=lower", "moving upper lower"),
        *("fixed top", "anchor hook-a hook-b"),
        first="weight top upper hook-a",
        second=second,
        run="weight distance=0.2",
    )
    driven = solve(set_up).phases[0]
    a = (0.12 - 0.4 / 4) * G / (0.12 + 0.4 / 16)
    assert driven.accelerations["weight"] == pytest.approx(a)
    assert driven.accelerations["upper"] == pytest.approx(-a / 2)
    assert driven.accelerations["load"] == pytest.approx(-a / 4)
    assert driven.tensions["first"]["weight"] == pytest.approx(0.12 * (G - a))
    assert driven.tensions["second"]["upper"] == pytest.approx(2 * 0.12 * (G - a))


def test_a_weight_below_a_weight() -> None:
    set_up = rig(
        *("cart cart 0.5", "fixed pulley", "hanging upper 0.05", "hanging lower 0.03"),
        "track track",
        string="cart pulley upper",
        link="upper lower",
        run="lower distance=0.2",
    )
    driven = solve(set_up).phases[0]
    assert driven.accelerations["cart"] == pytest.approx(0.08 * G / 0.58)
    assert driven.tensions["link"]["lower"] == pytest.approx(0.03 * G * (1 - 0.08 / 0.58))


def test_two_moving_pulleys_in_a_string_with_fixed_ends() -> None:
    """What one sinks the other rises: like two weights over one pulley."""
    set_up = rig(
        *("hanging light 0.2 hangs_from=left", "hanging heavy 0.3 hangs_from=right"),
        *("moving left right", "fixed top", "anchor a b"),
        string="a left top right b",
        run="heavy distance=0.3",
    )
    driven = solve(set_up).phases[0]
    assert driven.accelerations["heavy"] == pytest.approx(G / 5)
    assert driven.accelerations["light"] == pytest.approx(-G / 5)
    assert driven.tensions["string"]["a"] == pytest.approx(0.3 * (G - G / 5) / 2)
