"""The driven part of many cases of one apparatus at once.

Takes an apparatus with arrays; gives accelerations, tensions, time and speeds as arrays of the
same shape. The mode is found for one case by the solver and then tried on all others; cases where
its conditions don't hold get a mode of their own in the same way.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np

from fallwork.mechanics.apparatus import Apparatus, Number
from fallwork.mechanics.arrays import is_plain, plus, times
from fallwork.mechanics.assembly import Terms, terms_of
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.elimination import BatchMotion, NotRegular, solve_batch
from fallwork.mechanics.equations import TOLERANCE, Mode, Problem, stuck_coordinates
from fallwork.mechanics.layout import Layout, layout_of
from fallwork.mechanics.modes import Friction, Stage
from fallwork.mechanics.state import Setup, State, go_on, least_energy_speeds


@dataclass(frozen=True, kw_only=True)
class DrivenBatch:
    """The stretch from release to the run's distance. Floats where all cases agree."""

    moves: Flags
    accelerations: Mapping[str, Number]  # m/s², nan where undetermined
    segment_tensions: Mapping[str, tuple[Number, ...]]  # N, nan where undetermined
    duration: Number  # s; nan where the distance isn't covered before something stops
    end_velocities: Mapping[str, Number]  # m/s, nan likewise


@dataclass(frozen=True, kw_only=True)
class _Result:
    """Values of some cases, by coordinate and span."""

    acceleration: Sequence[Number]
    tension: Sequence[Number]
    good: Flags | None  # None: all


@dataclass(frozen=True, kw_only=True)
class _Recipe:
    """How one case was solved: bounds and mode of each stage."""

    statics: tuple[Flags, ...]  # which coordinates may use their static friction
    modes: tuple[Mode, ...]
    stuck: tuple[Flags, ...]
    signs: Array  # of the start speeds


def solve_driven(apparatus: Apparatus) -> DrivenBatch:
    """The driven stretch of every case. All arrays must broadcast together."""
    layout = layout_of(apparatus)
    shape, full = _broadcast(apparatus)
    terms = terms_of(full, layout)
    speeds = _speeds(layout, terms, full)
    result = _solve_all(layout, terms, speeds, shape)
    return _driven(full, layout, result, speeds, shape)


# ---- arrays in and out


def _broadcast(apparatus: Apparatus) -> tuple[tuple[int, ...], Apparatus]:
    """The common shape, and the apparatus with every array in it."""
    arrays = [value for value in _numbers(apparatus) if np.ndim(value)]
    shape = np.broadcast_shapes(*(np.shape(value) for value in arrays))

    def widened(value: Any) -> Any:
        if isinstance(value, np.ndarray) and value.ndim and value.shape != shape:
            return np.broadcast_to(value, shape)
        return value

    return shape, _mapped(apparatus, widened)


def _numbers(thing: Any) -> Iterator[Any]:
    if is_dataclass(thing):
        for item in fields(thing):
            yield from _numbers(getattr(thing, item.name))
    elif isinstance(thing, Mapping):
        for value in thing.values():
            yield from _numbers(value)
    elif isinstance(thing, np.ndarray):
        yield thing


def _mapped(thing: Any, change: Any) -> Any:
    if is_dataclass(thing) and not isinstance(thing, type):
        return replace(
            thing, **{f.name: _mapped(getattr(thing, f.name), change) for f in fields(thing)}
        )
    if isinstance(thing, Mapping):
        return {name: _mapped(value, change) for name, value in thing.items()}
    return change(thing)


def _pick(value: Number, cases: Any) -> Number:
    """The value in some cases; ``cases`` None: in all."""
    return value if cases is None or not np.ndim(value) else value[cases]  # type: ignore[index]


def _pick_terms(terms: Terms, cases: Any) -> Terms:
    if cases is None:
        return terms
    return Terms(
        mass=tuple(_pick(value, cases) for value in terms.mass),
        drive=tuple(_pick(value, cases) for value in terms.drive),
        kinetic=tuple(_pick(value, cases) for value in terms.kinetic),
        static=tuple(_pick(value, cases) for value in terms.static),
    )


def _speeds(layout: Layout, terms: Terms, apparatus: Apparatus) -> tuple[Number, ...]:
    """Start speeds of the coordinates."""
    run, count = apparatus.run, len(layout.coordinates)
    if is_plain(run.speed, 0.0):
        return (0.0,) * count
    unit = np.zeros((1, count))
    unit[0, layout.of_object[run.object]] = 1.0
    rank = np.linalg.matrix_rank(np.concatenate([unit, layout.stretch_matrix()]))
    if rank == count:  # the strings alone say how fast everything goes
        ratios = least_energy_speeds(layout, np.ones(count), 1.0, run.object)
        return tuple(times(float(ratio), run.speed) for ratio in ratios)
    speed, *mass = np.broadcast_arrays(run.speed, *terms.mass)
    found = np.zeros((count, *speed.shape))
    for case in np.ndindex(speed.shape):
        if speed[case]:
            here = np.array([values[case] for values in mass], dtype=float)
            found[(slice(None), *case)] = least_energy_speeds(
                layout, here, float(speed[case]), run.object
            )
    return tuple(found)


# ---- modes


def _solve_all(
    layout: Layout, terms: Terms, speeds: Sequence[Number], shape: tuple[int, ...]
) -> _Result:
    """Try one mode after the other until every case is solved."""
    pending: Flags | None = None
    whole: _Result | None = None
    while True:
        open_cases = None if pending is None else np.nonzero(pending)
        first = (0,) * len(shape) if open_cases is None else tuple(int(i[0]) for i in open_cases)
        recipe, alone = _recipe(layout, _pick_terms(terms, first), _pick_all(speeds, first))
        result = None
        if recipe is not None:
            result = _try(layout, terms, speeds, recipe, open_cases)
        if pending is None and result is not None and result.good is None:
            return result
        if whole is None:
            whole = _Result(
                acceleration=[np.empty(shape) for _ in layout.coordinates],
                tension=[np.empty(shape) for _ in layout.spans],
                good=None,
            )
            pending = np.ones(shape, dtype=bool)
            open_cases = np.nonzero(pending)
        assert pending is not None
        if result is not None and open_cases is not None:
            _put(whole, result, open_cases, pending)
        if pending[first]:
            _put_one(whole, alone, first)
            pending[first] = False
        if not pending.any():
            return whole


def _pick_all(values: Sequence[Number], cases: Any) -> tuple[Number, ...]:
    return tuple(_pick(value, cases) for value in values)


def _put(whole: _Result, result: _Result, cases: Any, pending: Flags) -> None:
    """Enter the good cases of a result (in place)."""
    good = np.ones(len(cases[0]), dtype=bool) if result.good is None else result.good
    places = tuple(index[good] for index in cases)
    for target, values in zip(
        [*whole.acceleration, *whole.tension], [*result.acceleration, *result.tension], strict=True
    ):
        target[places] = _pick(values, good)  # type: ignore[index]
    pending[places] = False


def _put_one(whole: _Result, alone: tuple[Array, Array], case: tuple[int, ...]) -> None:
    for targets, values in zip((whole.acceleration, whole.tension), alone, strict=True):
        for target, value in zip(targets, values, strict=True):
            target[case] = value  # type: ignore[index]


def _recipe(
    layout: Layout, terms: Terms, speeds: Sequence[Number]
) -> tuple[_Recipe | None, tuple[Array, Array]]:
    """How the solver solves a single case, and its result. None where only the result serves."""
    count = len(layout.coordinates)
    mass, drive, kinetic, static = (
        np.array([float(value) for value in values])
        for values in (terms.mass, terms.drive, terms.kinetic, terms.static)
    )
    setup = Setup(
        apparatus=None,  # type: ignore[arg-type]
        layout=layout,
        stretch=layout.stretch_matrix(),
        mass=mass,
        drive=drive,
        friction=Friction(kinetic=kinetic, static=static),
    )
    start = State(
        time=0.0,
        position=np.zeros(count),
        speed=np.array([float(value) for value in speeds]),
        slack=np.zeros(len(layout.spans)),
        landed=np.zeros(count, dtype=bool),
    )
    state, stages = go_on(setup, start)
    motion = stages[-1].motion
    tension = motion.loads.tension.copy()
    for kind, at, _, _ in motion.ranges:
        if kind == "tension":
            tension[at] = np.nan
    return _as_recipe(setup, start, state, stages), (motion.acceleration, tension)


def _as_recipe(setup: Setup, start: State, state: State, stages: Sequence[Stage]) -> _Recipe | None:
    motion = stages[-1].motion
    cut = [name for name in state.loose if len(setup.layout.strings[name].spans) > 1]
    if motion.ranges or np.any(np.isnan(motion.acceleration)) or cut or state.gripped:
        return None
    statics, stuck = [], []
    for stage in stages:
        statics.append((stage.bound == setup.friction.static) & (start.speed == 0))
        problem = Problem(
            stretch=setup.stretch, mass=setup.mass, drive=setup.drive, bound=stage.bound
        )
        rows = setup.stretch[np.array(stage.motion.mode.taut, dtype=bool)]
        stuck.append(stuck_coordinates(problem, stage.motion.mode, rows))
    return _Recipe(
        statics=tuple(statics),
        modes=tuple(stage.motion.mode for stage in stages),
        stuck=tuple(stuck),
        signs=np.sign(start.speed),
    )


# ---- trying a recipe on many cases


def _try(
    layout: Layout, terms: Terms, speeds: Sequence[Number], recipe: _Recipe, cases: Any
) -> _Result | None:
    """The result of a recipe in some cases, with the cases where its conditions hold."""
    chosen, moving = _pick_terms(terms, cases), _pick_all(speeds, cases)
    check = _Check(layout, chosen)
    for speed, sign in zip(moving, recipe.signs, strict=True):
        check.same_sign(speed, float(sign))
    motion = None
    try:
        with np.errstate(divide="ignore", invalid="ignore"):
            for statics, mode, stuck in zip(
                recipe.statics, recipe.modes, recipe.stuck, strict=True
            ):
                bound = [
                    static if use else kinetic
                    for use, static, kinetic in zip(
                        statics, chosen.static, chosen.kinetic, strict=True
                    )
                ]
                motion = solve_batch(layout, chosen, bound, mode, stuck)
                check.conditions(motion, mode, bound, recipe.signs)
    except NotRegular:
        return None
    assert motion is not None
    return _Result(acceleration=motion.acceleration, tension=motion.tension, good=check.good)


class _Check:
    """Collects the cases in which conditions hold; looks closely only where one fails."""

    def __init__(self, layout: Layout, terms: Terms) -> None:
        self.layout, self.terms = layout, terms
        self.good: Flags | None = None

    def same_sign(self, value: Number, sign: float) -> None:
        if np.ndim(value):
            self._keep(np.sign(value) == sign)

    def conditions(
        self, motion: BatchMotion, mode: Mode, bound: Sequence[Number], signs: Array
    ) -> None:
        for at, span in enumerate(self.layout.spans):
            if mode.taut[at]:
                self._not_negative(motion.tension[at], self._span_weight, span.stretch)
            else:
                self._slack(span.stretch, motion)
        for at, way in enumerate(mode.friction):
            if way == 0:
                spare = plus(bound[at], -1, np.abs(motion.resistance[at]))
                self._not_negative(spare, lambda at: self._weight(at, bound), at)
            elif way is not None and signs[at] == 0:
                forward = plus(0.0, float(way), motion.acceleration[at])
                self._not_negative(forward, self._own_acceleration, at)

    def _not_negative(self, value: Number, size: Any, about: Any) -> None:
        """``size(about)`` says how big the terms are of which ``value`` is made."""
        if np.ndim(value) == 0 and value >= 0:
            return
        if np.ndim(value) and np.min(value) >= 0:
            return
        self._keep(np.asarray(value >= -TOLERANCE * np.asarray(size(about))))

    def _slack(self, stretch: Mapping[int, int], motion: BatchMotion) -> None:
        growth: Number = 0.0
        for at, factor in stretch.items():
            growth = plus(growth, float(factor), motion.acceleration[at])
        self._not_negative(plus(0.0, -1, growth), self._span_acceleration, stretch)

    def _keep(self, held: Any) -> None:
        cases = np.asarray(held)
        if not cases.all():
            self.good = cases if self.good is None else self.good & cases

    def _weight(self, at: int, bound: Sequence[Number]) -> Number:
        return plus(bound[at], 1, np.abs(self.terms.drive[at]))

    def _own_acceleration(self, at: int) -> Number:
        """What a coordinate's own forces could do to it; 1 m/s² for what has no mass."""
        if is_plain(self.terms.mass[at], 0.0):
            return 1.0
        own = plus(self.terms.kinetic[at], 1, np.abs(self.terms.drive[at]))
        return plus(0.0, 1, own / self.terms.mass[at])

    def _span_weight(self, stretch: Mapping[int, int]) -> Number:
        total: Number = 0.0
        for at in stretch:
            total = plus(total, 1, self._weight(at, self.terms.kinetic))
        return total

    def _span_acceleration(self, stretch: Mapping[int, int]) -> Number:
        total: Number = 0.0
        for at in stretch:
            total = plus(total, 1, self._own_acceleration(at))
        return total


# ---- the end of the driven stretch


def _driven(
    apparatus: Apparatus,
    layout: Layout,
    result: _Result,
    speeds: Sequence[Number],
    shape: tuple[int, ...],
) -> DrivenBatch:
    run = apparatus.run
    at = layout.of_object[run.object]
    acceleration, speed = result.acceleration[at], speeds[at]
    duration: Number = float("nan")
    if run.distance is not None:
        duration = _time(acceleration, speed, run.distance)
        duration = _before_stops(layout, apparatus, result, speeds, duration)
    found = {}
    ends: dict[int, Number] = {}
    for name, coordinate in layout.of_object.items():
        value = result.acceleration[coordinate]
        found[name] = value
        if coordinate not in ends:
            same = next(
                (c for c in ends if result.acceleration[c] is value and is_plain(speed, 0.0)), None
            )
            ends[coordinate] = (
                plus(speeds[coordinate], 1, times(value, duration)) if same is None else ends[same]
            )
    segments = {}
    for name, string in layout.strings.items():
        pulls: list[Number] = []
        for span in string.spans:
            length = layout.spans[span].last - layout.spans[span].first + 1
            pulls += [result.tension[span]] * length
        segments[name] = tuple(pulls)
    return DrivenBatch(
        moves=np.broadcast_to((np.asarray(acceleration) != 0) | (np.asarray(speed) != 0), shape),
        accelerations=found,
        segment_tensions=segments,
        duration=duration,
        end_velocities={name: ends[coordinate] for name, coordinate in layout.of_object.items()},
    )


def _time(acceleration: Number, speed: Number, distance: Number) -> Number:
    """When ½ a t² + v t first is ± the distance; nan if never."""
    with np.errstate(divide="ignore", invalid="ignore"):
        if is_plain(speed, 0.0):
            time = np.sqrt(2 * (distance / np.abs(acceleration)))
            return time if np.max(time) < np.inf else np.where(np.isinf(time), np.nan, time)
        a, v = np.asarray(acceleration), np.asarray(speed)
        times_ = [_reach(a, v, target) for target in (distance, -np.asarray(distance))]
        first = np.fmin(*times_)
        return np.where(np.isinf(first), np.nan, first)


def _reach(a: Any, v: Any, target: Any) -> Any:
    root = np.sqrt(v * v + 2 * a * target)  # nan: never
    q = -(v + np.copysign(root, v))
    roots = [np.where(a == 0, np.nan, q / a), -2 * target / q]
    later = [np.where(t > 0, t, np.inf) for t in roots]
    return np.where(np.isnan(root), np.inf, np.fmin(*later))


def _before_stops(
    layout: Layout,
    apparatus: Apparatus,
    result: _Result,
    speeds: Sequence[Number],
    duration: Number,
) -> Number:
    """nan where something that rubs comes to a stop before the distance is covered."""
    for coordinate, speed, acceleration in zip(
        layout.coordinates, speeds, result.acceleration, strict=True
    ):
        if is_plain(speed, 0.0) or not _rubs(apparatus, coordinate.name):
            continue
        with np.errstate(divide="ignore", invalid="ignore"):
            stop = -np.asarray(speed) / acceleration
        duration = np.where((stop > 0) & (stop < duration), np.nan, duration)
    return duration


def _rubs(apparatus: Apparatus, name: str) -> bool:
    body = apparatus.bodies.get(name)
    rough = body.friction if body is not None else apparatus.pulleys[name].bearing_torque
    return bool(np.any(np.asarray(rough) != 0))
