"""The driven part of many cases of one apparatus at once.

Takes an apparatus with arrays; gives accelerations, tensions, time and speeds as arrays of their
common shape. The equations are those of the solver for single cases.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from operator import itemgetter
from typing import Any

import numpy as np

from fallwork.mechanics.apparatus import Apparatus, Number
from fallwork.mechanics.arrays import Rows, as_rows, plus, some_of, times
from fallwork.mechanics.assembly import Setup, setup_of
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.recipes import Recipe, solve_cases
from fallwork.mechanics.rigging import rigging_of
from fallwork.mechanics.state import least_energy_speeds

PLAIN = (str, int, float, tuple, type(None))  # what holds no array
CHUNK = 65536  # cases solved together: few enough for their numbers to stay in the cache


@dataclass(frozen=True, kw_only=True)
class DrivenBatch:
    """The part of the run from release until the run's distance is covered.

    Arrays have the common shape of the apparatus' arrays; a float stands for all cases alike.
    """

    object: str  # of the run
    accelerations: Mapping[str, Array]  # m/s², nan where undetermined
    segment_tensions: Mapping[str, tuple[Array, ...]]  # N, nan where undetermined
    start_velocities: Mapping[str, Number]  # m/s
    duration: Array  # s; nan where something that rubs stops before, or the object never arrives

    @property
    def moves(self) -> Flags:
        """Whether the run's object does."""
        starts = np.asarray(self.start_velocities[self.object]) != 0
        return np.asarray((self.accelerations[self.object] != 0) | starts)

    def end_velocity(self, name: str) -> Number:
        """Of an object when the distance is covered, m/s; nan where it isn't."""
        gained = times(self.accelerations[name], self.duration)
        return plus(self.start_velocities[name], 1, gained)


def solve_driven(apparatus: Apparatus) -> DrivenBatch:
    """The driven part of every case. All arrays must broadcast together.

    Ends of surfaces and the run's time limit aren't watched. Raises ImpossibleApparatus.
    """
    rigging = rigging_of(apparatus)
    shape = np.broadcast_shapes(*(value.shape for value in _arrays(apparatus)))
    flat = _changed(apparatus, lambda values: np.broadcast_to(values, shape).reshape(-1))
    count, size, recipes = int(np.prod(shape)), len(rigging.coordinates), list[Recipe]()
    found = np.empty((size + len(rigging.spans) + 1, count))
    pushed = bool(np.any(flat.run.speed))
    speed = _speeds(setup_of(flat, rigging), count) if pushed else np.zeros(size)
    for start in range(0, count, CHUNK):
        cases = slice(start, min(start + CHUNK, count))
        setup = setup_of(_changed(flat, itemgetter(cases)), rigging)
        rows = _solved(setup, some_of(speed, cases), cases.stop - start, recipes)
        for target, row in zip(found, rows, strict=True):
            target[cases] = row
    acceleration, tension = found[:size].reshape(size, *shape), found[size:-1].reshape(-1, *shape)
    return DrivenBatch(
        object=apparatus.run.object,
        accelerations={name: acceleration[at] for name, at in rigging.of_object.items()},
        segment_tensions={
            name: tuple(tension[span] for span in string.span_of_segments(rigging.spans))
            for name, string in rigging.strings.items()
        },
        start_velocities={
            name: np.reshape(speed[at], shape) if np.ndim(speed[at]) else speed[at]
            for name, at in rigging.of_object.items()
        },
        duration=found[-1].reshape(shape),
    )


def _solved(setup: Setup, speed: Rows, count: int, recipes: list[Recipe]) -> tuple[Number, ...]:
    """Accelerations, tensions and duration of some cases."""
    acceleration, tension = solve_cases(setup, speed, count, recipes)
    at = setup.rigging.of_object[setup.apparatus.run.object]
    return (*acceleration, *tension, _duration(setup, acceleration, speed, at))


def _arrays(thing: Any) -> Iterator[Any]:
    if is_dataclass(thing):
        for item in fields(thing):
            yield from _arrays(getattr(thing, item.name))
    elif isinstance(thing, Mapping):
        for value in thing.values():
            yield from _arrays(value)
    elif isinstance(thing, np.ndarray):
        yield thing


def _changed(thing: Any, change: Callable[[Any], Any]) -> Any:
    """The same with every array changed."""
    if is_dataclass(thing) and not isinstance(thing, type):
        values = {
            name: value for name, value in vars(thing).items() if not isinstance(value, PLAIN)
        }
        return replace(thing, **{name: _changed(value, change) for name, value in values.items()})
    if isinstance(thing, Mapping):
        return {name: _changed(value, change) for name, value in thing.items()}
    return change(thing) if isinstance(thing, np.ndarray) else thing


def _speeds(setup: Setup, count: int) -> Rows:
    """Start speeds, one row a coordinate."""
    size, run = len(setup.mass), setup.apparatus.run
    given, moved = run.speed, run.object
    unit = np.eye(size)[[setup.rigging.of_object[moved]]]
    if np.linalg.matrix_rank(np.concatenate([unit, setup.stretch])) == size:
        # The strings alone say how fast everything goes.
        ratios = least_energy_speeds(setup.rigging, np.ones(size), 1.0, moved)
        return as_rows([times(float(ratio), given) for ratio in ratios])
    speed, found = np.broadcast_to(given, count), np.zeros((size, count))
    for case in np.flatnonzero(speed):
        mass = np.asarray(setup.some(case).mass)
        found[:, case] = least_energy_speeds(setup.rigging, mass, float(speed[case]), moved)
    return tuple(found)


# ---- the end of the driven part


def _duration(setup: Setup, acceleration: Sequence[Number], speed: Rows, at: int) -> Number:
    """When coordinate ``at`` has moved by the run's distance; nan where it doesn't before
    something that rubs comes to a stop."""
    distance = setup.apparatus.run.distance
    if distance is None:
        return float("nan")
    with np.errstate(divide="ignore", invalid="ignore"):
        after = _time(np.asarray(acceleration[at]), np.asarray(speed[at]), np.asarray(distance))
        for own, first, static in zip(acceleration, speed, setup.static, strict=True):
            if np.any(first) and np.any(static):
                stop = -np.asarray(first) / own
                after = np.where((stop > 0) & (stop < after) & (static > 0), np.nan, after)
    return after


def _time(acceleration: Array, speed: Array, distance: Array) -> Array:
    """When |½ a t² + v t| first is the distance; nan if never."""
    if not speed.any():
        after = np.asarray(np.abs(distance / acceleration))
        after *= 2  # in place: a fresh array costs more than the arithmetic
        np.sqrt(after, out=after)
    else:
        ways = (_reach(acceleration, speed, distance), _reach(acceleration, speed, -distance))
        after = np.fmin(*ways)
    return after if np.max(after) < np.inf else np.where(np.isfinite(after), after, np.nan)


def _reach(a: Array, v: Array, target: Array) -> Array:
    """The first time after now at which ½ a t² + v t = target; inf if never."""
    root = np.sqrt(v * v + 2 * a * target)  # nan: never
    q = v + np.copysign(root, v)
    ways = [2 * target / q, np.where(a == 0, np.nan, -q / a)]
    return np.asarray(np.fmin(*(np.where(t > 0, t, np.inf) for t in ways)))
