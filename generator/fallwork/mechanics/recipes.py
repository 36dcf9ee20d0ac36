"""Modes for many cases: each found for one of them and tried on all the others.

Takes a set-up whose numbers are arrays, and start speeds; gives accelerations and tensions.
"""

from dataclasses import dataclass, replace

import numpy as np

from fallwork.mechanics.arrays import Rows, some_of
from fallwork.mechanics.assembly import Setup
from fallwork.mechanics.bounded import Array, Flags, Places
from fallwork.mechanics.equations import conditions_hold, solve_mode
from fallwork.mechanics.problem import Mode, Openings, Response
from fallwork.mechanics.state import State, go_on, openings_of, state_at_rest


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """How one case was solved. Flags have one entry a coordinate."""

    signs: tuple[Array, ...]  # of start speed, mass, kinetic and static friction
    stages: tuple[tuple[Flags, Mode], ...]  # which may use their static friction; and the mode
    openings: Openings

    def suits(self, setup: Setup, speed: Rows, count: int) -> Flags:
        """The cases in which the same numbers are zero, and speeds have the same signs."""
        same: Flags = np.asarray(True)
        known: dict[int, float] = {}  # the least numbers: some rows stand in several places
        for rows, signs in zip(_numbers(setup, speed), self.signs, strict=True):
            for row, sign in zip(rows, signs, strict=True):
                if sign > 0 and id(row) not in known:
                    known[id(row)] = float(np.min(row))
                if not (sign > 0 and known[id(row)] > 0):
                    same = same & (np.sign(row) == sign)
        return np.broadcast_to(same, count)

    def applied(self, setup: Setup) -> tuple[Response, Flags]:
        """The response in every case, and in which of them all conditions hold."""
        good: Flags = np.asarray(True)
        for static, mode in self.stages:
            problem = setup.problem(static)
            response = solve_mode(problem, mode)
            good = good & conditions_hold(problem, response, self.openings)
        return response, good


def solve_cases(setup: Setup, speed: Rows, count: int, recipes: list[Recipe]) -> tuple[Rows, Rows]:
    """Accelerations by coordinate and tensions by span, nan where undetermined, in every case.

    ``speed`` has a row a coordinate. Recipes are tried in turn; new ones are added to the list.
    """
    first = recipes[-1] if recipes else _alone(setup, speed, 0)[0]
    if first is not None and first.suits(setup, speed, count).all():
        response, good = first.applied(setup)
        if good.all():
            recipes[:] = recipes or [first]
            return response.acceleration, response.loads.tension
    acceleration = np.empty((len(setup.mass), count))
    tension = np.empty((len(setup.stretch), count))
    pending, tried = np.ones(count, dtype=bool), 0
    while pending.any():
        if tried == len(recipes):
            case = int(np.argmax(pending))
            recipe, acceleration[:, case], tension[:, case] = _alone(setup, speed, case)
            recipes.extend([] if recipe is None else [recipe])
            pending[case] = False
            continue
        places = np.flatnonzero(pending & recipes[tried].suits(setup, speed, count))
        if len(places):
            response, good = recipes[tried].applied(setup.some(places))
            places = places[np.broadcast_to(good, places.shape)]
            _enter(acceleration, response.acceleration, places, good)
            _enter(tension, response.loads.tension, places, good)
            pending[places] = False
        tried += 1
    return acceleration, tension


def _enter(found: Array, rows: Rows, places: Places, good: Flags) -> None:
    """Puts what is good of some rows where it belongs (in place)."""
    for target, row in zip(found, rows, strict=True):
        target[places] = row[np.broadcast_to(good, row.shape)] if np.ndim(row) else row


def _alone(setup: Setup, speed: Rows, case: int) -> tuple[Recipe | None, Array, Array]:
    """A case solved by itself, and its recipe; None where it serves no other case."""
    alone = setup.some(case)
    start = replace(state_at_rest(alone), speed=some_of(speed, case))
    state, stages = go_on(alone, start)
    response = stages[-1].response
    tension = np.array(response.loads.tension)
    tension[[each.at for each in response.ranges if each.kind == "tension"]] = np.nan
    if _is_special(alone, state, response):
        return None, np.asarray(response.acceleration), tension
    recipe = Recipe(
        signs=tuple(np.sign(rows) for rows in _numbers(alone, start.speed)),
        stages=tuple((stage.static, stage.response.mode) for stage in stages),
        openings=replace(openings_of(alone, state), spans=openings_of(alone, start).spans),
    )
    return recipe, np.asarray(response.acceleration), tension


def _numbers(setup: Setup, speed: Rows) -> tuple[Rows, ...]:
    return speed, setup.mass, setup.kinetic, setup.static


def _is_special(setup: Setup, state: State, response: Response) -> bool:
    """Whether something is undetermined, or a string slack on one side of a pulley only."""
    strings = setup.rigging.strings
    cut = any(len(strings[name].spans) > 1 for name in state.loose)
    open_ = bool(response.ranges) or bool(np.isnan(response.acceleration).any())
    return open_ or cut or bool(state.gripped)
