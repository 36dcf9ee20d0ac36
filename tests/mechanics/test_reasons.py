"""Why a force does no work, in one phase and over the whole run."""

from dataclasses import replace

from fallwork.mechanics import Apparatus, ZeroWork, account, account_of_run, solve
from mechanics.kit import (
    at_rest_beside_a_sliding_block,
    double_machine,
    ending,
    fixed,
    level_track,
    rig,
    two_weights,
)


def reason_of(set_up: Apparatus, name: str) -> ZeroWork | None:
    """Of a force in the first phase."""
    (found,) = (f for f in solve(set_up).phases[0].forces if f.name == name)
    return found.reason


def test_a_heavy_pulley_that_turns_steadily_takes_up_no_energy() -> None:
    pulley = fixed("pulley", radius=0.03, inertia=1e-5)
    pushed = two_weights(0.2, 0.2, speed=0.5, pulley=pulley)
    assert reason_of(pushed, "contact of pulley on string") is ZeroWork.STEADY_PULLEY


def test_a_string_at_rest_is_no_case_of_an_ideal_pulley() -> None:
    set_up = at_rest_beside_a_sliding_block()
    assert reason_of(set_up, "contact of pulley on string") is ZeroWork.POINT_AT_REST
    assert reason_of(set_up, "tension of string on left") is ZeroWork.POINT_AT_REST


def test_a_stuck_bearing_does_no_work_while_other_things_move() -> None:
    pulley = fixed("pulley", radius=0.03, bearing_torque=0.03)
    outrun = level_track(0.5, 0.01, distance=0.5, slope_deg=-30, pulley=pulley)
    assert reason_of(outrun, "bearing torque of bench on pulley") is ZeroWork.NO_TURNING
    assert reason_of(outrun, "contact of pulley on string") is ZeroWork.POINT_AT_REST


def test_of_several_reasons_the_one_that_says_most_counts() -> None:
    """Driven, the pulley is ideal; afterwards the string is slack."""
    set_up = level_track(0.5, 0.1, distance=0.5, friction=0.05)
    solution = solve(set_up)
    backward = replace(solution, phases=solution.phases[::-1])
    for each in (solution, backward):
        run = account_of_run(set_up, each, ["string"])
        (contact,) = (f for f in run.external if f.name == "contact of pulley on string")
        assert contact.reason is ZeroWork.IDEAL_PULLEY
        assert contact.vector is None  # no single one over the whole run


def test_works_that_cancel_over_the_run() -> None:
    """Thrown up a slope, a cart comes back to where it started."""
    things = ("cart cart 0.5 starts_at=0.0 friction=0.1", "track track slope=20 length=2.0")
    set_up = rig(*things, run="cart speed=1.0")
    solution = solve(set_up)
    run = account_of_run(set_up, solution, ["cart"])
    (gravity,) = (f for f in run.external if f.name == "gravity of Earth on cart")
    assert ending(solution.phases[-1]) == "cart reaches the back end of track"
    assert (gravity.work, gravity.reason) == (0.0, ZeroWork.CANCELS)


def test_a_massless_pulley_and_the_earth_have_no_potential_energy() -> None:
    set_up = double_machine()
    driven = solve(set_up).phases[0]
    assert list(account(set_up, driven, ["Earth", "hung"]).energy_changes) == ["kinetic"]


def test_in_free_fall_a_pulley_does_not_pull_at_its_load() -> None:
    """The numbers are such that rounding would leave 9e-16 N."""
    set_up = rig(
        *("hanging weight 0.634", "hanging load 0.479 hangs_from=lower"),
        *("moving lower mass=0.192", "fixed top", "anchor hook"),
        string="weight top lower hook",
        run="weight distance=0.3",
    )
    coasting = solve(set_up).phases[2]
    (pull,) = (f for f in coasting.forces if f.name == "axle of lower on load")
    assert (pull.vector, pull.reason) == ((0.0, 0.0), ZeroWork.NO_FORCE)


def test_a_couple_that_changes_has_no_single_torque_over_the_run() -> None:
    """The bearing brakes until the pulley stands still."""
    pulley = fixed("pulley", radius=0.03, inertia=1e-4, bearing_torque=0.003)
    set_up = level_track(0.5, 0.2, distance=0.5, friction=0.05, pulley=pulley)
    run = account_of_run(set_up, solve(set_up), ["pulley"])
    (braking,) = (f for f in run.external if f.name == "bearing torque of bench on pulley")
    assert braking.torque is None
