"""What the apparatus leaves open is None with its bounds, and what is known all the same."""

import math
from dataclasses import replace

import pytest

from fallwork.mechanics import Apparatus, ZeroWork, account, solve
from fallwork.mechanics.apparatus import Run
from mechanics.kit import (
    STANDARD_GRAVITY,
    at_rest_beside_a_sliding_block,
    bounds,
    ending,
    fixed,
    level_track,
    notes,
    rig,
)
from mechanics.promises import every_complaint
from mechanics.residuals import newton_residuals

G = STANDARD_GRAVITY


# ---- what is undetermined


def parallel() -> Apparatus:
    return rig(
        *("cart cart 0.5", "hanging weight 0.1", "fixed p1 p2", "track track"),
        s1="cart p1 weight",
        s2="cart p2 weight",
        run="weight distance=0.4",
    )


def coupled(weight: float) -> Apparatus:
    """Two carts that hold what a weight (kg) pulls, with static friction of 0.1 each."""
    return rig(
        *("cart rear 0.5 friction=0.1", "cart front 0.4 friction=0.1", f"hanging weight {weight}"),
        *("fixed pulley", "track track"),
        link="rear front",
        string="front pulley weight",
        run="weight distance=0.4",
    )


def adrift(until: str = "") -> Apparatus:
    """A massless pulley at the end of a string; after the landing nothing says what it does."""
    things = ("hanging big 0.3", "fixed top", "moving hung")
    return rig(*things, string="big top hung", run=f"big distance=0.4 {until}")


def test_two_parallel_strings() -> None:
    """Their tensions are open, their sum and all the rest is not."""
    set_up = parallel()
    solution = solve(set_up)
    driven = solution.phases[0]
    together = 0.5 * 0.1 * G / 0.6
    assert driven.accelerations["cart"] == pytest.approx(0.1 * G / 0.6)
    assert driven.tensions == {
        "s1": {"cart": None, "weight": None},
        "s2": {"cart": None, "weight": None},
    }
    assert bounds(driven)["tension of s1"] == pytest.approx((0.0, together))
    assert notes(solution)[0] == "Nothing that is modelled ends the phase “coasting”."
    assert notes(solution)[1] == (
        "The set-up does not determine the tension of s1: any value from 0 N to 0.8172 N is "
        "possible."
    )


def test_works_of_parallel_strings_are_open_one_by_one_and_known_together() -> None:
    set_up = parallel()
    driven = solve(set_up).phases[0]
    alone = account(set_up, driven, ["cart"])
    works = {force.name: force.work for force in alone.external}
    assert works["tension of s1 on cart"] is None
    assert alone.external_work == pytest.approx(0.5 * 0.1 * G / 0.6 * 0.4)
    assert account(set_up, driven, ["s1"]).external_work == pytest.approx(0.0)
    with_one = account(set_up, driven, ["cart", "s1"])
    assert with_one.external_work == pytest.approx(with_one.energy_change)
    assert max(r.relative for r in newton_residuals(set_up, driven)) < 1e-9


def test_carts_that_share_static_friction() -> None:
    """Rear and front hold 0.588 N together, at most 0.490 N and 0.392 N of it each."""
    set_up = coupled(0.06)
    solution = solve(set_up)
    (rest,) = solution.phases
    assert rest.tensions["link"] == {"rear": None, "front": None}
    assert rest.tensions["string"]["front"] == pytest.approx(0.06 * G)
    assert bounds(rest)["tension of link"] == pytest.approx((0.02 * G, 0.05 * G))
    assert bounds(rest)["friction of track on front"] == pytest.approx((-0.04 * G, -0.01 * G))
    assert notes(solution)[1] == (
        "The set-up does not determine the friction of track on rear: any value from −0.4903 N to "
        "−0.1961 N is possible (forward counts as positive)."
    )


def test_a_cart_tied_on_both_sides() -> None:
    things = ("cart cart 0.5 friction=0.1", "track track", "anchor a b")
    set_up = rig(*things, s1="a cart", s2="cart b", run="cart distance=0.4")
    (rest,) = solve(set_up).phases
    assert bounds(rest)["tension of s1"] == (0.0, None)
    assert notes(solve(set_up))[0].endswith("any value from 0 N up is possible.")


def test_a_massless_pulley_on_a_slack_string() -> None:
    solution = solve(adrift())
    coasting = solution.phases[-1]
    assert "hung" not in coasting.accelerations
    assert coasting.displacements["hung"] is None
    assert notes(solution)[-1] == (
        "Hung has no mass and no string pulls it, so its motion is not determined."
    )


def test_a_tension_that_may_be_none_is_not_said_to_be_none() -> None:
    """Rear and front cart share what static friction holds; the link may be slack or not."""
    set_up = coupled(0.02)
    (rest,) = solve(set_up).phases
    (pull,) = (f for f in rest.forces if f.name == "tension of link on rear")
    assert bounds(rest)["tension of link"][0] == 0.0
    assert (pull.vector, pull.work, pull.reason) == (None, 0.0, ZeroWork.NO_MOTION)


def test_a_bearing_torque_that_is_shared_with_friction_is_open() -> None:
    """0.05 N at the rim and 0.2 N at the cart can hold 0.196 N together in many ways."""
    pulley = fixed("pulley", radius=0.02, inertia=1e-6, bearing_torque=0.001)
    set_up = level_track(0.5, 0.02, distance=0.4, friction=0.04, pulley=pulley)
    (rest,) = solve(set_up).phases
    (braking,) = (f for f in rest.forces if f.name == "bearing torque of bench on pulley")
    assert bounds(rest)[braking.name] == pytest.approx((-0.001, 0.0))
    assert (braking.torque, braking.work, braking.reason) == (None, 0.0, ZeroWork.NO_MOTION)


def test_the_time_ends_a_run_with_something_adrift() -> None:
    set_up = adrift("until=2.0")
    solution = solve(set_up)
    last = solution.phases[-1]
    assert ending(last) == "the time set for the run is up"
    assert last.duration == pytest.approx(2.0 - math.sqrt(2 * 0.4 / G))
    assert last.displacements == {"big": 0.0, "hung": None}
    assert last.end_velocities == {"big": 0.0, "hung": None}
    assert every_complaint(set_up, solution) == []


# ---- what is known of a stretch without an end


def test_what_rests_in_an_endless_stretch_keeps_its_energy() -> None:
    set_up = at_rest_beside_a_sliding_block()
    (endless,) = solve(set_up).phases
    changes = account(set_up, endless, ["left", "pulley", "Earth"]).energy_changes
    assert changes == {"kinetic": 0.0, "rotational": 0.0, "potential": 0.0}
    assert account(set_up, endless, ["block"]).energy_changes == {"kinetic": None}


# ---- massless things


def empty_pulley(*, load: float, friction: float = 0.0, torque: float = 0.0) -> Apparatus:
    """A cart on a level track, a moving pulley in its string, perhaps with a load."""
    loads = [f"hanging load {load} hangs_from=lower"] if load else []
    return rig(
        *(f"cart cart 0.5 friction={friction}", f"fixed top radius=0.02 bearing_torque={torque}"),
        *("moving lower", *loads, "track track", "anchor hook"),
        string="cart top lower hook",
        run="lower distance=0.4",
    )


@pytest.mark.parametrize("torque", [0.0, 0.001])
@pytest.mark.parametrize("friction", [0.0, 0.1])
def test_nothing_but_a_massless_pulley_pulls_nothing(friction: float, torque: float) -> None:
    solution = solve(empty_pulley(load=0.0, friction=friction, torque=torque))
    assert not solution.moves
    assert solution.phases[0].segment_tensions["string"][1:] == (0.0, 0.0)


def test_what_a_pad_and_a_stuck_string_share_is_open() -> None:
    """Pushed on, the cart outruns the brake, which could hold all of the landed load."""
    set_up = empty_pulley(load=0.05, torque=0.01)
    set_up = replace(set_up, run=Run(object="lower", distance=0.05, speed=1.2))
    coasting = solve(set_up).phases[2]
    (pad,) = (f for f in coasting.forces if f.name == "landing of bench on lower")
    (arc,) = (f for f in coasting.forces if f.name == "contact of string on lower")
    assert coasting.start_velocities["cart"] > 0
    assert bounds(coasting)["tension of string from top to hook"] == pytest.approx(
        (0.0, 0.05 * G / 2)
    )
    assert bounds(coasting)[pad.name] == pytest.approx((0.0, 0.05 * G), abs=1e-12)
    assert (pad.vector, pad.reason) == (None, ZeroWork.POINT_AT_REST)
    assert (arc.vector, arc.reason) == (None, ZeroWork.POINT_AT_REST)
