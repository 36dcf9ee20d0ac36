"""The sample set-up with its known numbers: a hand-computed anchor for every part of the answer."""

import pytest

from fallwork.mechanics import (
    ZeroWork,
    account,
    account_of_run,
    accounts,
    objects,
    solve,
)
from mechanics.kit import (
    ending,
    level_track,
    notes,
)
from mechanics.residuals import newton_residuals

SAMPLE = level_track(0.42, 0.08, distance=0.6, friction=0.008, length=1.20, starts_at=0.25)
SOLUTION = solve(SAMPLE)
DRIVEN, LANDING, COASTING = SOLUTION.phases


def test_phases_and_their_ends() -> None:
    assert [(phase.name, ending(phase)) for phase in SOLUTION.phases] == [
        ("driven", "weight lands"),
        ("landing", "weight is at rest on the pad"),
        ("coasting", "cart reaches pulley"),
    ]
    assert notes(SOLUTION) == (
        "The run is followed until cart reaches pulley; what comes after is not modelled.",
    )


def test_reasons_of_zero_works() -> None:
    reasons = {force.name: force.reason for force in DRIVEN.forces if force.work == 0}
    assert reasons["normal of track on cart"] is ZeroWork.PERPENDICULAR
    assert reasons["gravity of Earth on cart"] is ZeroWork.PERPENDICULAR
    assert reasons["friction of cart on track"] is ZeroWork.POINT_AT_REST
    assert reasons["axle of bench on pulley"] is ZeroWork.POINT_AT_REST
    assert reasons["contact of pulley on string"] is ZeroWork.IDEAL_PULLEY
    assert reasons["gravity of weight on Earth"] is ZeroWork.POINT_AT_REST
    slack = {force.name: force.reason for force in COASTING.forces if force.work == 0}
    assert slack["tension of string on cart"] is ZeroWork.NO_FORCE


def test_the_pulley_pushes_the_string_forward_and_up() -> None:
    """Without this push the horizontal momentum of cart and weight together has no cause."""
    (push,) = (f for f in DRIVEN.forces if f.name == "contact of pulley on string")
    assert push.vector == pytest.approx((0.664278935, 0.664278935))


def test_landing_takes_the_kinetic_energy_of_the_weight() -> None:
    landing = account(SAMPLE, LANDING, ["weight"])
    assert [force.name for force in landing.external] == ["landing of bench on weight"]
    assert landing.external_work == pytest.approx(-0.072151839, abs=5e-10)
    assert LANDING.duration == 0.0


def test_which_way_the_cart_slides_and_which_string_is_slack() -> None:
    assert [phase.sliding for phase in SOLUTION.phases] == [{"cart": 1}] * 3
    assert [sorted(phase.slack) for phase in SOLUTION.phases] == [[], ["string"], ["string"]]


def test_coasting_is_slowed_by_friction_alone() -> None:
    assert COASTING.accelerations == pytest.approx({"cart": -0.0784532, "weight": 0.0})
    assert COASTING.displacements["cart"] == pytest.approx(1.20 - 0.25 - 0.6)
    assert COASTING.slack == {"string"}


def test_every_choice_is_listed_by_size_and_then_by_members() -> None:
    listed = [each.members for each in accounts(SAMPLE, DRIVEN)]
    assert objects(SAMPLE) == ("Earth", "cart", "pulley", "string", "track", "weight")
    assert len(listed) == 2**6 - 1
    assert listed == sorted(listed, key=lambda members: (len(members), members))
    assert listed[:2] == [("Earth",), ("cart",)]


def test_the_second_law_is_checked_for_every_choice_of_what_can_move() -> None:
    laws = [r for r in newton_residuals(SAMPLE, DRIVEN) if r.law == "force"]
    assert len({each.members for each in laws}) == len(laws) == 2**4 - 1
    assert laws[-1].members == ("cart", "pulley", "string", "weight")


def test_kinds_of_energy_are_those_that_the_choice_can_have() -> None:
    def kinds(*members: str) -> list[str]:
        return list(account(SAMPLE, DRIVEN, members).energy_changes)

    assert kinds("string") == []
    assert kinds("Earth", "track") == []
    assert kinds("cart") == ["kinetic"]
    assert kinds("cart", "Earth") == ["kinetic", "potential"]
    assert kinds("cart", "track") == ["kinetic", "thermal"]
    assert kinds("cart", "track", "Earth") == ["kinetic", "potential", "thermal"]


def test_heat_where_both_partners_are_inside() -> None:
    both = account(SAMPLE, DRIVEN, ["cart", "track"])
    assert both.energy_changes["thermal"] == pytest.approx(0.0197702064)
    assert both.external_work == pytest.approx(0.398567361)


def test_the_whole_run() -> None:
    """Driven, landing and coasting together, force by force."""
    run = account_of_run(SAMPLE, SOLUTION, ["cart", "weight", "string", "Earth"])
    works = {force.name: force.work for force in run.external}
    assert works["friction of track on cart"] == pytest.approx(-0.008 * 0.42 * 9.80665 * 0.95)
    assert works["landing of bench on weight"] == pytest.approx(-0.072151839, abs=5e-10)
    assert run.external_work == pytest.approx(run.energy_change)
    assert run.energy_changes["potential"] == pytest.approx(-0.4707192)


def test_a_choice_of_nothing_or_of_the_bench_is_no_system() -> None:
    with pytest.raises(ValueError, match="an empty system"):
        account(SAMPLE, DRIVEN, [])
    with pytest.raises(ValueError, match=r"no system has the members \['bench'\]"):
        account(SAMPLE, DRIVEN, ["bench", "cart"])
