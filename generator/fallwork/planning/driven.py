"""The driven part of a run for any numbers of a set-up: one set, by the whole solver, or many.

Takes a set-up with its gravity; gives a function of numbers, whose results are arrays.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np

from fallwork.measurement.model import Array, Measurand
from fallwork.measurement.prediction import Case, driven_phases, view_of
from fallwork.mechanics import solve, solve_driven
from fallwork.scenario import Hanging, Scenario
from fallwork.scenario.numbers import quantities_of

Values = Mapping[str, Any]  # path -> floats, or arrays of one shape, in SI


class Motion(NamedTuple):
    """A driven part in SI units, (n,) each, or of one run; nan for what there isn't."""

    acceleration: Any  # of the watched object, along its way
    speed: Any  # likewise, at the end
    times: Sequence[Any]  # s, of each part in which it goes one way
    tension: Any  # where the force sensor is
    pulls: Mapping[str, Any]  # on each object that hangs on a string
    moved: Mapping[str, Any]  # m, of each object until the end
    ends: Mapping[str, Any]  # m/s, of each object at the end


def columns(*scenarios: Scenario) -> dict[str, Array]:
    """The numbers that all of these have, (n,)."""
    sets = [dict(quantities_of(each)) for each in scenarios]
    paths = (path for path in (sets or [{}])[0] if all(path in each for each in sets))
    return {path: np.array([each[path].value for each in sets]) for path in paths}


def single(case: Case) -> Callable[[Values], Motion]:
    """The motion of one run, by the whole solver: floats."""
    view = view_of(case.scenario)

    def motion(values: Values) -> Motion:
        given = {path: float(np.asarray(v).item()) for path, v in values.items()}
        solution = solve(case.apparatus(given))
        phases, found = driven_phases(solution), view.measurands(solution)
        moved = {
            n: sum(p.displacements.get(n) or 0.0 for p in phases) for n in case.scenario.objects
        }
        turns = view.turns_round(phases)
        pulls = {
            name: pull
            for each in phases[-1 if turns else 0].tensions.values()
            for name, pull in each.items()
            if pull is not None and name in _hung(case.scenario)
        }
        took = np.array([phase.duration for phase in phases], dtype=float)  # nan for None
        times = [np.sum(each) for each in ([took[:-1], took[-1]] if turns else [took])]
        known = (Measurand.ACCELERATION, Measurand.FINAL_SPEED, Measurand.MEAN_TENSION)
        a, v, pull = (found.get(each, math.nan) for each in known)
        ends = {n: math.nan if x is None else x for n, x in phases[-1].end_velocities.items()}
        return Motion(a, v, times, pull, pulls, moved, ends)

    return motion


def batch(case: Case) -> Callable[[Values], Motion]:
    """The motion of many runs of the kind of a case's own; where its watched object turns round, of
    the way back, with the time of both.
    """
    view, run, solution = view_of(case.scenario), case.scenario.run, solve(case.apparatus())
    phases = driven_phases(solution)
    way, turns = view.direction(phases), view.turns_round(phases)

    def motion(values: Values) -> Motion:
        driven = solve_driven(case.apparatus(values))
        before, out = np.zeros(()), {n: np.zeros(()) for n in driven.accelerations}
        if turns:
            start = driven.start_velocities
            before = -start[run.object] / driven.accelerations[run.object]
            out = {n: v * before / 2 for n, v in start.items()}
            d = values.get("run.distance", run.distance and run.distance.value)
            far = np.abs(out[run.object])
            back = {"run.start": 0.0, "run.distance": np.where(far < d, far + d, np.nan)}
            driven = solve_driven(case.apparatus({**values, **back}))
        after, a = driven.duration, driven.accelerations
        ends = {n: driven.end_velocity(n) for n in a}
        moved = {n: out[n] + (driven.start_velocities[n] + ends[n]) / 2 * after for n in a}
        pull = {
            (name, string.path[at]): driven.segment_tensions[name][at]
            for name, string in case.scenario.strings.items()
            for at in (0, -1)
        }
        tension = pull.get((view.string or "", view.pulled or ""), np.full(np.shape(after), np.nan))
        on = {thing: x for (_, thing), x in pull.items() if thing in _hung(case.scenario)}
        times = [before, after] if turns else [after]
        speeds = way * a[view.moving], way * ends[view.moving]
        return Motion(*speeds, times, tension, on, moved, ends)

    return motion


def _hung(scenario: Scenario) -> list[str]:
    """What hangs on a string; what a moving pulley carries has none of its own."""
    things = scenario.objects.items()
    return [n for n, t in things if isinstance(t, Hanging) and t.hangs_from is None]
