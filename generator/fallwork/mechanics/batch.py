"""The driven part of many cases of one apparatus at once.

Takes an apparatus with arrays; gives accelerations, tensions, time and speeds as arrays of their
common shape. The equations are those of the solver for single cases.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np

from fallwork.mechanics.apparatus import Apparatus, Number
from fallwork.mechanics.arrays import is_plain, plus, times
from fallwork.mechanics.assembly import Terms, terms_of
from fallwork.mechanics.batch_modes import Cases, CaseValues, solve_cases
from fallwork.mechanics.bounded import Flags
from fallwork.mechanics.layout import Layout, layout_of
from fallwork.mechanics.state import least_energy_speeds


@dataclass(frozen=True, kw_only=True)
class DrivenBatch:
    """The stretch from release until the run's distance is covered.

    Arrays have the common shape of the apparatus' arrays; a float stands for all cases alike.
    """

    moves: Flags
    accelerations: Mapping[str, Number]  # m/s², nan where undetermined
    segment_tensions: Mapping[str, tuple[Number, ...]]  # N, nan where undetermined
    duration: Number  # s; nan where something that rubs stops before, or the object never arrives
    end_velocities: Mapping[str, Number]  # m/s, nan likewise


def solve_driven(apparatus: Apparatus) -> DrivenBatch:
    """The driven stretch of every case. All arrays must broadcast together.

    Ends of surfaces and the run's time limit aren't watched. Raises ImpossibleApparatus.
    """
    layout = layout_of(apparatus)
    shape = np.broadcast_shapes(*(value.shape for value in _arrays(apparatus)))
    full = _widened(apparatus, shape or (1,))
    terms = terms_of(full, layout)
    cases = Cases(layout=layout, terms=terms, speeds=_speeds(layout, terms, full))
    batch = _driven(full, cases, solve_cases(cases, shape or (1,)), shape or (1,))
    return batch if shape else _single(batch)


# ---- arrays in and out


def _arrays(thing: Any) -> Iterator[Any]:
    if is_dataclass(thing):
        for item in fields(thing):
            yield from _arrays(getattr(thing, item.name))
    elif isinstance(thing, Mapping):
        for value in thing.values():
            yield from _arrays(value)
    elif isinstance(thing, np.ndarray):
        yield thing


def _widened(thing: Any, shape: tuple[int, ...]) -> Any:
    """The same with every array in the common shape."""
    if is_dataclass(thing) and not isinstance(thing, type):
        values = {f.name: _widened(getattr(thing, f.name), shape) for f in fields(thing)}
        return replace(thing, **values)
    if isinstance(thing, Mapping):
        return {name: _widened(value, shape) for name, value in thing.items()}
    if isinstance(thing, np.ndarray) and thing.shape != shape:
        return np.broadcast_to(thing, shape)
    return thing


def _single(batch: DrivenBatch) -> DrivenBatch:
    """A batch of one as floats."""

    def one(value: Number) -> Number:
        return float(np.reshape(value, -1)[0])

    return DrivenBatch(
        moves=np.asarray(batch.moves[0]),
        accelerations={name: one(value) for name, value in batch.accelerations.items()},
        segment_tensions={
            name: tuple(one(value) for value in values)
            for name, values in batch.segment_tensions.items()
        },
        duration=one(batch.duration),
        end_velocities={name: one(value) for name, value in batch.end_velocities.items()},
    )


def _speeds(layout: Layout, terms: Terms, apparatus: Apparatus) -> tuple[Number, ...]:
    """Start speeds of the coordinates."""
    run, count = apparatus.run, len(layout.coordinates)
    if is_plain(run.speed, 0.0):
        return (0.0,) * count
    unit = np.eye(count)[[layout.of_object[run.object]]]
    rank = np.linalg.matrix_rank(np.concatenate([unit, layout.stretch_matrix()]))
    if rank == count:  # the strings alone say how fast everything goes
        ratios = least_energy_speeds(layout, np.ones(count), 1.0, run.object)
        return tuple(times(float(ratio), run.speed) for ratio in ratios)
    speed, *mass = np.broadcast_arrays(run.speed, *(term.mass for term in terms))
    found = np.zeros((count, *speed.shape))
    for case in zip(*np.nonzero(speed), strict=True):
        here = np.array([values[case] for values in mass], dtype=float)
        speeds = least_energy_speeds(layout, here, float(speed[case]), run.object)
        found[(slice(None), *case)] = speeds
    return tuple(found)


# ---- the end of the driven stretch


def _driven(
    apparatus: Apparatus, cases: Cases, values: CaseValues, shape: tuple[int, ...]
) -> DrivenBatch:
    layout, run = cases.layout, apparatus.run
    at = layout.of_object[run.object]
    acceleration, speed = values.acceleration[at], cases.speeds[at]
    duration: Number = float("nan")
    if run.distance is not None:
        duration = _time(acceleration, speed, run.distance)
        duration = _unless_stopped(cases, values, duration)
    moving = (np.asarray(acceleration) != 0) | (np.asarray(speed) != 0)
    return DrivenBatch(
        moves=np.broadcast_to(moving, shape),
        accelerations={name: values.acceleration[c] for name, c in layout.of_object.items()},
        segment_tensions=_segments(layout, values),
        duration=duration,
        end_velocities=_end_velocities(cases, values, duration),
    )


def _segments(layout: Layout, values: CaseValues) -> dict[str, tuple[Number, ...]]:
    found = {}
    for name, string in layout.strings.items():
        pulls: list[Number] = []
        for at in string.spans:
            span = layout.spans[at]
            pulls += [values.tension[at]] * (span.last - span.first + 1)
        found[name] = tuple(pulls)
    return found


def _end_velocities(cases: Cases, values: CaseValues, duration: Number) -> dict[str, Number]:
    """Speeds after ``duration``; what moves alike is worked out once."""
    known: dict[tuple[int, int], Number] = {}
    found = {}
    for name, at in cases.layout.of_object.items():
        acceleration, speed = values.acceleration[at], cases.speeds[at]
        key = (id(acceleration), id(speed))
        if key not in known:
            known[key] = plus(speed, 1, times(acceleration, duration))
        found[name] = known[key]
    return found


def _time(acceleration: Number, speed: Number, distance: Number) -> Number:
    """When |½ a t² + v t| first is the distance; nan if never."""
    with np.errstate(divide="ignore", invalid="ignore"):
        if is_plain(speed, 0.0):
            after = np.asarray(np.abs(distance / np.asarray(acceleration)))
            after *= 2  # in place: a fresh array costs more than the arithmetic
            np.sqrt(after, out=after)
            return after if np.max(after) < np.inf else _finite(after)
        a, v = np.asarray(acceleration), np.asarray(speed)
        return _finite(np.fmin(_reach(a, v, distance), _reach(a, v, -np.asarray(distance))))


def _finite(values: Any) -> Number:
    return np.where(np.isfinite(values), values, np.nan)


def _reach(a: Any, v: Any, target: Any) -> Any:
    """The first time after now at which ½ a t² + v t = target; inf if never."""
    root = np.sqrt(v * v + 2 * a * target)  # nan: never
    q = v + np.copysign(root, v)
    ways = [2 * target / q, np.where(a == 0, np.nan, -q / a)]
    return np.fmin(*(np.where(t > 0, t, np.inf) for t in ways))


def _unless_stopped(cases: Cases, values: CaseValues, duration: Number) -> Number:
    """nan where something that rubs comes to a stop before the distance is covered."""
    for at, speed in enumerate(cases.speeds):
        if is_plain(speed, 0.0) or is_plain(cases.terms[at].static, 0.0):
            continue
        with np.errstate(divide="ignore", invalid="ignore"):
            stop = -np.asarray(speed) / values.acceleration[at]
        early = (stop > 0) & (stop < duration) & (np.asarray(cases.terms[at].static) > 0)
        duration = np.where(early, np.nan, duration)
    return duration
