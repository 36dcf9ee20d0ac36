"""What measurements can tell apart, whatever their values."""

from collections.abc import Callable

import pytest

from fallwork.measurement.derived import Case
from fallwork.measurement.losses import Clue, Losses, losses_of
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.separation import Unknown, separate
from fallwork.scenario.model import Scenario
from measurement.kit import STANDARD, trials_of

Level = Callable[..., Scenario]
MOTION = ("acceleration", "final_speed", "distance")
FORCE = ("work_of_tension",)
FRICTION, INERTIA, ELSEWHERE, ZERO = Unknown


def losses(scenario: Scenario, *measured: str) -> Losses:
    case = Case(scenario=scenario, gravity=STANDARD)
    found = losses_of(trials_of(scenario, only=measured), case)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("more", "settled", "entangled"),
    [
        ((), (), (FRICTION, INERTIA, ELSEWHERE)),
        (FORCE, (), (FRICTION, INERTIA, ELSEWHERE, ZERO)),
        (("coasting_acceleration",), (FRICTION,), (INERTIA, ELSEWHERE)),
        ((*FORCE, "coasting_acceleration"), (FRICTION,), (INERTIA, ELSEWHERE, ZERO)),
        ((*FORCE, "force_slack"), (ELSEWHERE, ZERO), (FRICTION, INERTIA)),
        ((*FORCE, "force_held", "coasting_acceleration"), tuple(Unknown), ()),
    ],
    ids=["motion", "force", "coasting", "force and coasting", "force and slack", "everything"],
)
def test_what_is_settled_and_what_is_entangled(
    level: Level,
    more: tuple[str, ...],
    settled: tuple[Unknown, ...],
    entangled: tuple[Unknown, ...],
) -> None:
    found = separate(losses(level(), *MOTION, *more), Sensors())
    assert tuple(found.settled) == settled
    assert found.entangled == entangled


def test_a_known_zero_counts_as_a_measurement_of_it(level: Level) -> None:
    found = separate(losses(level(), *MOTION, *FORCE), Sensors(force_zero=0.001))
    assert tuple(found.settled) == (ELSEWHERE, ZERO)
    assert found.settled[ZERO].value == pytest.approx(0.0, abs=1e-12)
    assert found.settled[ZERO].u == pytest.approx(0.001)


def test_which_measurement_would_settle_the_rest(level: Level) -> None:
    """With force and motion, any look at the zero parts pulley from cart; friction and hidden
    inertia at the cart are parted by coasting alone.
    """
    found = separate(losses(level(), *MOTION, *FORCE), Sensors())
    assert found.would_settle == {
        FRICTION: (Clue.COASTING_FORCE,),
        INERTIA: (),
        ELSEWHERE: (Clue.HELD_OFFSET, Clue.SLACK_OFFSET),
        ZERO: (Clue.HELD_OFFSET, Clue.SLACK_OFFSET),
    }


def test_sums_are_known_where_their_parts_are_not(level: Level) -> None:
    """By hand: friction takes µ m g = 0.0329503 N, and both views see it."""
    found = separate(losses(level(), *MOTION, *FORCE), Sensors())
    pulled, whole = found.sums
    assert (pulled.of, whole.of) == ((FRICTION, INERTIA, ZERO), (FRICTION, INERTIA, ELSEWHERE))
    assert abs(pulled.value.value - 0.0329503) < 3 * pulled.value.u
    assert abs(whole.value.value - 0.0329503) < 3 * whole.value.u


def test_what_is_taken_as_none_makes_the_rest_better_known(level: Level) -> None:
    """Friction is then seen by three clues in place of one."""
    given = losses(level(), *MOTION, *FORCE, "force_held", "coasting_acceleration")
    every = separate(given, Sensors())
    plain = separate(given, Sensors(), (FRICTION, ELSEWHERE, ZERO))
    assert every.weights[FRICTION][Clue.COASTING_FORCE] == pytest.approx(1.0)
    assert 0.3 < plain.weights[FRICTION][Clue.COASTING_FORCE] < 0.9
    assert plain.consistent


def test_a_wrong_none_is_contradicted(level: Level) -> None:
    case = Case(scenario=level(), gravity=STANDARD)
    given = losses_of(trials_of(level(cart="440 g")), case)
    assert given is not None
    assert separate(given, Sensors()).consistent
    assert not separate(given, Sensors(), (FRICTION, ELSEWHERE, ZERO)).consistent


def test_a_zeroing_counts_for_as_much_as_it_is_known(level: Level) -> None:
    """The held force reads 0.020 N too much: no contradiction if the zero is known to 0.02 N."""
    scenario = level()
    case = Case(scenario=scenario, gravity=STANDARD)
    analysis = trials_of(scenario, only=(*MOTION, "force_held"), off={"force_held": 0.02})
    given = losses_of(analysis, case)
    assert given is not None
    assert separate(given, Sensors(force_zero=0.02)).consistent
    assert not separate(given, Sensors(force_zero=0.002)).consistent


def test_trials_without_speed_and_acceleration_tell_no_losses(level: Level) -> None:
    scenario = level()
    case = Case(scenario=scenario, gravity=STANDARD)
    assert losses_of(trials_of(scenario, only=("travel_time", "mean_tension")), case) is None
