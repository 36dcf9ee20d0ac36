"""A mode is refused as soon as one of the things that it assumes doesn't come true."""

from dataclasses import dataclass

import numpy as np
import pytest

from fallwork.mechanics.equations import conditions_hold, solve_mode
from fallwork.mechanics.problem import Mode, Openings, Problem


@dataclass(frozen=True, kw_only=True)
class Case:
    """One thing of 1 kg, and perhaps a string that gets longer as it moves on."""

    drive: float  # N
    bound: float = 0.0  # N, of friction
    way: int | None = None  # that friction assumes
    taut: bool | None = None  # None: no string
    held: bool = False
    landed: bool = False

    def holds(self) -> bool:
        strings = 0 if self.taut is None else 1
        problem = Problem(
            stretch=np.ones((strings, 1)),
            mass=np.array([1.0]),
            drive=np.array([self.drive]),
            fall=np.array([self.drive]),
            bound=np.array([self.bound]),
        )
        mode = Mode(friction=(self.way,), taut=(bool(self.taut),) * strings, held=(self.held,))
        openings = Openings(
            spans=np.ones(strings, dtype=bool),
            rest=np.array([True]),
            landed=np.array([self.landed]),
        )
        return conditions_hold(problem, solve_mode(problem, mode), openings)


@pytest.mark.parametrize(
    ("why", "case"),
    [
        ("a taut string pulls", Case(drive=3.0, taut=True)),
        ("a slack string gets shorter", Case(drive=-3.0, taut=False)),
        ("friction holds what it can", Case(drive=3.0, bound=3.0, way=0)),
        ("it slides the way it is driven", Case(drive=3.0, bound=2.0, way=1)),
        ("a pad pushes up", Case(drive=3.0, landed=True, held=True)),
        ("it leaves a pad upward", Case(drive=-3.0, landed=True)),
    ],
)
def test_a_mode_that_agrees_with_itself(why: str, case: Case) -> None:
    assert case.holds(), why


@pytest.mark.parametrize(
    ("why", "case"),
    [
        ("a string would push", Case(drive=-3.0, taut=True)),
        ("a slack string would get longer", Case(drive=3.0, taut=False)),
        ("friction would hold more than it can", Case(drive=3.1, bound=3.0, way=0)),
        ("it would slide against its drive", Case(drive=1.0, bound=2.0, way=1)),
        ("a pad would pull down", Case(drive=-3.0, landed=True, held=True)),
        ("it would sink into a pad", Case(drive=3.0, landed=True)),
    ],
)
def test_a_mode_that_contradicts_itself(why: str, case: Case) -> None:
    assert not case.holds(), why


@pytest.mark.parametrize(("way", "holds"), [(-1, True), (1, False)])
def test_a_massless_rim_that_stops_at_once_may_tighten_no_string(way: int, holds: bool) -> None:
    """Running forward it shortens its string; stopping, it would let it be stretched."""
    problem = Problem(
        stretch=np.array([[-1.0]]),
        mass=np.array([0.0]),
        drive=np.array([0.0]),
        fall=np.array([0.0]),
        bound=np.array([1.0]),
    )
    mode = Mode(friction=(way,), taut=(False,), held=(False,))
    openings = Openings(spans=np.array([True]), rest=np.array([False]), landed=np.array([False]))
    assert conditions_hold(problem, solve_mode(problem, mode), openings) == holds
