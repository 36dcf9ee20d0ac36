"""Edges of the model: limits, turning points, ends, pulleys that turn by themselves."""

import math

import pytest

from fallwork.mechanics import Apparatus, ZeroWork, account, solve
from mechanics.kit import (
    STANDARD_GRAVITY,
    ending,
    fixed,
    level_track,
    notes,
    rig,
    slope,
    two_weights,
)

G = STANDARD_GRAVITY


def names_and_ends(set_up: Apparatus) -> list[tuple[str, str | None]]:
    return [(phase.name, ending(phase)) for phase in solve(set_up).phases]


# ---- limits


def test_equal_weights_stay() -> None:
    solution = solve(two_weights(0.2, 0.2))
    (rest,) = solution.phases
    assert not solution.moves
    assert (rest.name, ending(rest), rest.duration) == ("at rest", None, None)
    assert rest.tensions["string"] == pytest.approx({"left": 0.2 * G, "right": 0.2 * G})
    assert {f.reason for f in rest.forces} <= {ZeroWork.NO_MOTION, ZeroWork.NO_FORCE}


def test_equal_weights_that_are_pushed_go_on() -> None:
    driven = solve(two_weights(0.2, 0.2, distance=1.0, speed=0.5)).phases[0]
    assert driven.accelerations == {"left": 0.0, "right": 0.0}
    assert driven.duration == pytest.approx(2.0)


@pytest.mark.parametrize("weight", [1e-3, 1e-6, 1e-9, 1e-12])
def test_a_lighter_and_lighter_weight(weight: float) -> None:
    driven = solve(level_track(0.5, weight, distance=0.1)).phases[0]
    assert driven.accelerations["cart"] == pytest.approx(weight * G / (0.5 + weight), rel=1e-12)
    assert driven.tensions["string"]["cart"] == pytest.approx(
        0.5 * weight * G / (0.5 + weight), rel=1e-12
    )


def test_a_weight_without_mass_pulls_nothing() -> None:
    solution = solve(level_track(0.5, 0.0, distance=0.1))
    assert not solution.moves
    assert solution.phases[0].tensions["string"] == {"cart": 0.0, "weight": 0.0}


@pytest.mark.parametrize("slope_deg", [90, 90.4])
def test_an_upright_surface_neither_carries_nor_rubs(slope_deg: float) -> None:
    """Beyond 90 deg, where the uncertainty of a slope may reach, it counts as upright."""
    set_up = level_track(0.5, 0.6, distance=0.5, slope_deg=slope_deg, friction=0.3)
    driven = solve(set_up).phases[0]
    assert driven.accelerations["cart"] == pytest.approx(0.1 * G / 1.1)
    normal = next(f for f in driven.forces if f.name == "normal of track on cart")
    assert normal.vector == (0.0, 0.0)
    assert normal.reason is ZeroWork.NO_FORCE


def test_a_drive_exactly_at_the_static_limit_holds() -> None:
    assert not solve(level_track(0.5, 0.1, distance=0.5, friction=0.2)).moves
    assert solve(level_track(0.5, 0.1, distance=0.5, friction=0.2 - 1e-7)).moves


def test_at_the_limit_a_push_keeps_its_speed() -> None:
    driven = solve(level_track(0.5, 0.1, distance=0.5, friction=0.2, speed=0.4)).phases[0]
    assert driven.accelerations["cart"] == 0.0
    assert driven.duration == pytest.approx(1.25)


# ---- turning points and ends


def test_a_push_away_turns_round_and_comes_back() -> None:
    """Up and down again with friction: the way is longer than the displacement."""
    set_up = level_track(0.5, 0.1, distance=0.5, friction=0.02, speed=-0.4)
    away, back = solve(set_up).phases[:2]
    turn = 0.4**2 / (2 * (0.1 + 0.02 * 0.5) * G / 0.6)
    assert names_and_ends(set_up)[:2] == [
        ("driven", "cart turns round"),
        ("driven, part 2", "weight lands"),
    ]
    assert away.displacements["cart"] == pytest.approx(-turn)
    assert back.displacements["cart"] == pytest.approx(0.5 + turn)
    rubbing = [
        account(set_up, p, ["cart", "track"]).energy_changes["thermal"] for p in (away, back)
    ]
    assert sum(rubbing) == pytest.approx(0.02 * 0.5 * G * (0.5 + 2 * turn))


def test_without_friction_a_turning_point_changes_no_force() -> None:
    driven = solve(level_track(0.5, 0.1, distance=0.5, speed=-0.4)).phases[0]
    assert ending(driven) == "weight lands"
    assert driven.end_velocities["cart"] == pytest.approx(math.sqrt(0.16 + G * 0.1 / 0.6))


def test_a_weight_that_never_arrives() -> None:
    """Pushed away, the cart stops, and static friction holds it there."""
    set_up = level_track(0.5, 0.1, distance=0.5, friction=0.19, static_friction=0.5, speed=-0.4)
    assert names_and_ends(set_up) == [("driven", "cart comes to rest")]


def test_a_block_that_slides_back() -> None:
    set_up = slope(0.5, 30, speed=1.0, friction=0.1, until=3.0)
    up, down = solve(set_up).phases
    assert (ending(up), ending(down)) == ("block turns round", "the time set for the run is up")
    assert up.accelerations["block"] == pytest.approx(-G * (0.5 + 0.1 * math.cos(math.pi / 6)))
    assert down.accelerations["block"] == pytest.approx(-G * (0.5 - 0.1 * math.cos(math.pi / 6)))
    assert up.duration + down.duration == pytest.approx(3.0)


@pytest.mark.parametrize(("left", "right", "drop"), [(0.2, 0.3, 0.5), (0.167, 0.231, 0.6)])
def test_the_other_weight_goes_on_up_and_pulls_the_string_tight(
    left: float, right: float, drop: float
) -> None:
    """It comes back to where it was, and rounding leaves nothing of its way."""
    set_up = two_weights(left, right, distance=drop)
    coasting = solve(set_up).phases[2]
    speed = math.sqrt(2 * drop * G * (right - left) / (right + left))
    assert coasting.displacements["left"] == 0.0
    assert (coasting.name, ending(coasting)) == ("coasting", "string is taut again")
    assert coasting.duration == pytest.approx(2 * speed / G)
    gravity = next(f for f in coasting.forces if f.name == "gravity of Earth on left")
    assert (gravity.work, gravity.reason) == (0.0, ZeroWork.RETURNED)


@pytest.mark.parametrize(
    ("length", "starts_at", "speed", "ends"),
    [
        (0.60, 0.25, 0.0, "cart reaches pulley"),
        (1.20, 0.05, -1.0, "cart reaches the back end of track"),
    ],
)
def test_a_cart_at_the_ends_of_its_track(
    length: float, starts_at: float, speed: float, ends: str
) -> None:
    set_up = level_track(
        0.42, 0.08, distance=0.6, friction=0.008, length=length, starts_at=starts_at, speed=speed
    )
    (driven,) = solve(set_up).phases
    assert ending(driven) == ends
    wanted = length - starts_at if speed == 0 else -starts_at
    assert driven.displacements["cart"] == pytest.approx(wanted)


def test_landing_just_when_the_cart_reaches_the_pulley() -> None:
    set_up = level_track(0.42, 0.08, distance=0.6, length=0.85, starts_at=0.25)
    assert [phase.name for phase in solve(set_up).phases] == ["driven", "landing"]
    assert notes(solve(set_up)) == (
        "The run is followed until cart reaches pulley; what comes after is not modelled.",
    )


def test_a_free_end_without_a_pulley() -> None:
    things = ("cart cart 0.5 starts_at=0.2", "track track slope=-10 length=1.0")
    set_up = rig(*things, run="cart distance=2.0")
    assert names_and_ends(set_up) == [("driven", "cart reaches the end of track")]


def test_a_phase_that_nothing_ends_has_no_duration() -> None:
    solution = solve(slope(0.5, 0.0, speed=0.5))
    (driven,) = solution.phases
    assert (ending(driven), driven.duration) == (None, None)
    assert driven.displacements == {"block": None}
    assert notes(solution) == ("Nothing that is modelled ends the phase “driven”.",)


def test_a_cart_that_has_covered_the_distance_runs_on() -> None:
    things = ("cart cart 0.5 starts_at=0.2 friction=0.01", "track track length=2.0")
    set_up = rig(*things, run="cart distance=0.5 speed=0.4")
    assert names_and_ends(set_up) == [
        ("driven", "cart has covered the distance"),
        ("running on", "cart comes to rest"),
    ]


def test_what_covers_the_distance_upward_lands_nowhere() -> None:
    set_up = two_weights(0.3, 0.2, distance=0.5)
    assert names_and_ends(set_up) == [
        ("driven", "right has covered the distance"),
        ("running on", None),
    ]


def test_what_static_friction_holds_stays_when_something_else_breaks_loose() -> None:
    """Both strings pull with 0.49 N; the smooth cart gives way, the rough one holds."""
    set_up = rig(
        "cart smooth 0.5 friction=0.05 static_friction=0.06",
        "cart rough 0.5 friction=0.05 static_friction=0.2",
        *("hanging one 0.05", "hanging two 0.05", "fixed p q", "track track"),
        s="smooth p one",
        t="rough q two",
        run="one distance=0.3",
    )
    driven = solve(set_up).phases[0]
    assert driven.accelerations["smooth"] == pytest.approx((0.05 - 0.025) * G / 0.55)
    assert driven.accelerations["rough"] == 0.0


def test_a_landing_that_jerks_another_string_ends_the_run() -> None:
    """A moving pulley is stopped while the two weights on the string over it both go down."""
    set_up = rig(
        *("hanging small 0.1", "hanging left 0.2", "hanging right 0.2"),
        *("fixed top", "moving hung mass=0.05"),
        upper="small top hung",
        lower="left hung right",
        run="hung distance=0.3",
    )
    solution = solve(set_up)
    assert [phase.name for phase in solution.phases] == ["driven", "landing"]
    assert notes(solution) == (
        "The run is followed until hung lands and lower is pulled with a jerk; what comes after "
        "is not modelled.",
    )


def test_what_would_take_decades_never_happens() -> None:
    assert names_and_ends(slope(0.5, 0.0, speed=1e-10, distance=1.0)) == [("driven", None)]


@pytest.mark.parametrize(
    ("starts_at", "speed", "ends"), [(1.8, 0.5, "cart reaches p"), (0.2, -0.5, "cart reaches q")]
)
def test_the_pulley_at_an_end_of_the_track_is_named(
    starts_at: float, speed: float, ends: str
) -> None:
    """Where several strings lead to an end, the first one's pulley."""
    set_up = rig(
        *(f"cart cart 0.5 starts_at={starts_at}", "hanging left 0.1", "hanging right 0.1"),
        *("fixed p q r s", "track track length=2.0"),
        a="cart p right",
        b="left q cart",
        c="cart r right",
        d="left s cart",
        run=f"cart speed={speed} distance=1.0",
    )
    assert names_and_ends(set_up) == [("driven", ends)]


# ---- pulleys that turn by themselves


def test_a_heavy_pulley_goes_on_turning_after_the_landing() -> None:
    """The slack string grips it no longer: its bearing brakes it, friction the cart."""
    pulley = fixed("pulley", radius=0.03, inertia=1e-4, bearing_torque=0.003)
    set_up = level_track(0.5, 0.2, distance=0.5, friction=0.05, pulley=pulley)
    coasting = solve(set_up).phases[2]
    assert coasting.accelerations["cart"] == pytest.approx(-0.05 * G)
    assert coasting.angular_accelerations["pulley"] == pytest.approx(-0.003 / 1e-4)
    assert names_and_ends(set_up)[2:] == [
        ("coasting", "pulley stops turning"),
        ("coasting, part 2", "cart comes to rest"),
    ]


def test_a_braked_pulley_without_mass_stops_with_its_string() -> None:
    pulley = fixed("pulley", radius=0.03, bearing_torque=0.003)
    driven, landing, coasting = solve(level_track(0.5, 0.2, distance=0.5, pulley=pulley)).phases
    assert driven.tensions["string"]["weight"] - driven.tensions["string"]["cart"] == (
        pytest.approx(0.1)
    )
    assert landing.end_angular_velocities["pulley"] > 0
    assert coasting.start_angular_velocities["pulley"] == 0


def test_a_cart_that_overtakes_the_string_over_a_braked_pulley() -> None:
    """Down a slope the cart is faster than the brake lets the string run."""
    pulley = fixed("pulley", radius=0.03, bearing_torque=0.03)
    solution = solve(level_track(0.5, 0.01, distance=0.5, slope_deg=-30, pulley=pulley))
    driven = solution.phases[0]
    assert driven.accelerations == pytest.approx({"cart": G / 2, "weight": 0.0})
    assert driven.tensions["string"] == pytest.approx({"cart": 0.0, "weight": 0.01 * G})
    assert notes(solution)[-1] == (
        "String goes slack on one side of a turning pulley; the pulley is taken to hold the other "
        "side without slipping."
    )


def test_a_string_slack_on_one_side_of_a_braked_pulley_is_taut_again() -> None:
    """The brake stops the weight soon; the cart runs on up its slope and rolls back."""
    pulley = fixed("pulley", radius=0.03, bearing_torque=0.5)
    set_up = level_track(0.5, 0.01, distance=5.0, slope_deg=20, speed=1.0, pulley=pulley)
    phases = solve(set_up).phases
    ways = [sum(p.displacements[name] for p in phases) for name in ("cart", "weight")]
    assert [ending(p) for p in phases] == ["pulley stops turning", "string is taut again"]
    assert ways[0] == pytest.approx(ways[1])
    assert ways[1] == pytest.approx(1.0**2 / (2 * (0.5 / 0.03 / 0.01 - G)))
