"""Whether numbers give clean data: one table of conditions, for one set of numbers and for many.

Takes a set-up, what gives its motion for any numbers (a single run, or the batch) and what marking
goes by; gives figures as arrays and, of one lab, findings. Limits and words are a table,
``conditions.yaml``; a condition of it is a method of ``Figures``. A figure that a
set-up doesn't have is nan, and no condition is broken by it.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from fallwork.errors import table
from fallwork.measurement.model import Array, Estimate
from fallwork.measurement.prediction import GRAVITY, Case, View, view_of
from fallwork.measurement.propagation import STEP
from fallwork.mechanics import solve
from fallwork.planning.driven import Motion, Values, batch, single
from fallwork.scenario import Hanging, Quantity, Scenario, Slider
from fallwork.scenario.course import Safety
from fallwork.scenario.inventory import SensorsOwned
from fallwork.scenario.numbers import quantities_of

TILT = math.radians(0.1)  # what nobody sees
NEAR = 3  # marking tolerances within which a mistake gives nearly the right number
_NOTHING = 1e-9  # SI; less than that is zero
_SENSORS, _SAFETY = SensorsOwned(), Safety()  # where nothing else is said
_RESISTS = ("friction", "static_friction", "bearing_torque")
_PARTS = {1: ("the driven part",), 2: ("the way out", "the way back")}
_Figure = Iterator[tuple[str, Any]]  # object, and its figure: (n,)


class Answers(NamedTuple):
    """What students hand in, right and wrong, in SI, (n,)."""

    rights: Mapping[str, Any]  # by id
    wrongs: Sequence[tuple[str, str, Any]] = ()  # id of a mistake, of the result, what comes out


@dataclass(frozen=True, kw_only=True)
class Figures:
    """What conditions ask of numbers. Each gives (object, figure) pairs; "" for the whole."""

    case: Case
    motion: Callable[[Values], Motion]
    values: Values = field(default_factory=dict)  # where they aren't those of the scenario
    sensors: SensorsOwned = _SENSORS
    safety: Safety = _SAFETY
    answers: Answers | None = None
    earlier_answers: Mapping[str, Array] = field(default_factory=dict)  # by id, in SI, (k,)
    tolerance: float = 0.01  # relative, of marking

    def of(self, name: str) -> Iterator[tuple[str, Array]]:
        """The figures of a condition by its name in the table."""
        yield from getattr(self, f"_{name}")()

    @cached_property
    def _given(self) -> Mapping[str, Quantity]:
        return dict(quantities_of(self.case.scenario))

    def _value(self, path: str) -> Any:
        return self.values[path] if path in self.values else self._given[path].value

    @cached_property
    def found(self) -> Motion:
        """The motion with the numbers as they are."""
        return self.motion(self.values)

    @cached_property
    def _view(self) -> View:
        return view_of(self.case.scenario)

    def _run(self) -> _Figure:
        """1 where strings pull and the run arrives, going the way that it goes in the scenario."""
        base, there = batch(self.case)({}), self.found
        good = np.isfinite(sum(there.times)) == np.isfinite(sum(base.times))
        good &= np.sign(there.acceleration) == np.sign(base.acceleration)
        pulls = [pull > 0 for pull in there.pulls.values()]
        yield "", np.logical_and.reduce([good, *pulls]).astype(float)

    def _speed(self) -> _Figure:
        yield self._view.moving, np.abs(self.found.speed)

    def _pull(self) -> _Figure:
        yield self._view.pulled or "", self.found.tension / self.sensors.resolution.value

    def _reach(self) -> _Figure:
        yield self._view.pulled or "", self.found.tension / self.sensors.range.value

    def _sight(self) -> _Figure:
        seen, name = self.sensors.far.value - self.sensors.near.value, self._view.moving
        yield name, seen - np.abs(self.found.moved[name])

    def _time(self) -> _Figure:
        """Of each part, which has a slope of its own to take."""
        yield from zip(_PARTS[len(self.found.times)], self.found.times, strict=True)

    def _readings(self) -> _Figure:
        yield from ((part, np.floor(time * self.sensors.rate)) for part, time in self._time())

    def _resistance(self) -> _Figure:
        """Against the same set-up without friction and bearing torque."""
        smooth = dict.fromkeys((p for p in self._given if p.endswith(_RESISTS)), 0.0)
        without = self.motion({**self.values, **smooth}).acceleration
        taken, size = np.abs(without - self.found.acceleration), np.abs(without)
        with np.errstate(all="ignore"):
            share = np.where((size > _NOTHING) & (taken > _NOTHING), taken / size, np.nan)
        yield self._view.moving, share

    def _tilt(self) -> _Figure:
        """Down in the direction in which the watched object goes, so that nothing sticks."""
        a, moved = self.found.acceleration, self.found.moved[self._view.moving]
        slopes = [path for path in self._given if path.endswith(".slope")]
        more = {path: self._value(path) - np.sign(moved) * TILT for path in slopes}
        with np.errstate(all="ignore"):
            share = np.abs(self.motion({**self.values, **more}).acceleration - a) / np.abs(a)
        if slopes:
            yield self._view.moving, np.where(np.abs(a) > _NOTHING, share, np.nan)

    def _tension(self) -> _Figure:
        for name, pull in self.found.pulls.items():
            weight = self._value(f"{name}.mass") * self.case.gravity.value
            yield name, np.abs(1 - pull / weight)

    def _room(self) -> _Figure:
        """Of the foremost that goes forward on each surface, of the hindmost that goes back;
        nothing of what ends otherwise.
        """
        scenario, run, moved = self.case.scenario, self.case.scenario.run, self.found.moved
        if run.distance is None:
            return
        whole = np.abs(moved[run.object])
        covered = np.isclose(whole, self._value("run.distance"), rtol=1e-9)
        ends: dict[tuple[str, int], tuple[float, str]] = {}
        for name, thing in scenario.objects.items():
            if isinstance(thing, Slider) and thing.starts_at and np.any(moved[name] != 0):
                way = 1 if np.nanmean(moved[name]) > 0 else -1
                here = (way * thing.starts_at.value, name)
                ends[thing.runs_on, way] = max(ends.get((thing.runs_on, way), here), here)
        for (surface, way), (_, name) in ends.items():
            if way < 0 or scenario.surfaces[surface].length is not None:
                front = self._value(f"{name}.starts_at") + moved[name]
                room = self._value(f"{surface}.length") - front if way > 0 else front
                arrives = covered & (way * moved[name] > 0)
                yield name, np.where(arrives, np.maximum(room, 0.0), np.nan)

    def _hanging(self, way: int) -> _Figure:
        """How far each hanging mass goes down (1) or up (-1)."""
        for name, moved in self.found.moved.items():
            if isinstance(self.case.scenario.objects[name], Hanging):
                yield name, np.where(way * moved > 0, way * moved, np.nan)

    def _drop(self) -> _Figure:
        for name, far in self._hanging(1):
            yield name, np.round(self.safety.fall_height.value - far, 9)

    def _rise(self) -> _Figure:
        """Pulleys are about as high above the floor as the table. When the run's object lands, its
        string is slack: what rises flies on, and what drags a cart along goes farther still.
        """
        lands = [speed > 0 for _, speed in self._landed()]
        for name, far in self._hanging(-1):
            flight = self.found.ends[name] ** 2 / (2 * self.case.gravity.value)
            whole = far + np.where(np.any(lands, axis=0), flight, 0.0)
            yield name, np.round(self.safety.fall_height.value - whole, 9)

    def _landed(self) -> _Figure:
        """With which velocity the run's object ends, if it hangs."""
        name = self.case.scenario.run.object
        if isinstance(self.case.scenario.objects[name], Hanging):
            yield name, self.found.ends[name]

    def _landing(self) -> _Figure:
        for name, speed in self._landed():
            energy = self._value(f"{name}.mass") * speed**2 / 2
            share = energy / self.safety.heavy_energy.value
            yield name, np.where(speed > 0, share, np.nan)

    def _uncertainty(self) -> _Figure:
        """The object is the path of the given that adds most to it (in most of the cases)."""
        parts = {}
        for each in self.case.inputs:
            value = each.value if each.name == GRAVITY else self._value(each.name)
            low = np.maximum(value - STEP * each.u, each.lowest)
            high = value + STEP * each.u
            ends = (self.motion({**self.values, each.name: x}).acceleration for x in (high, low))
            rise = np.subtract(*ends) / (high - low)
            parts[each.name] = np.abs(rise * each.u)
        if parts:
            u = np.sqrt(sum(part**2 for part in parts.values()))
            most = max(parts, key=lambda name: float(np.nansum(parts[name])))
            with np.errstate(all="ignore"):
                share = u / np.abs(self.found.acceleration)
            yield most, np.where((u > 0) & np.isfinite(share), share, np.nan)

    def _held(self, by: str) -> Iterator[tuple[str, Any, Any]]:
        """Each object that static friction holds, that force, and another answer about it."""
        rights = self.answers.rights if self.answers else {}
        for key, force in rights.items():
            kind, _, name = key.partition(".")
            if kind == "static-friction-force" and f"{by}.{name}" in rights:
                yield name, np.abs(force), rights[f"{by}.{name}"]

    def _grip(self) -> _Figure:
        yield from ((name, force / limit) for name, force, limit in self._held("friction-limit"))

    def _slope(self) -> _Figure:
        for name, force, normal in self._held("normal"):
            with np.errstate(all="ignore"):
                yield name, np.where(force > _NOTHING, TILT * normal / force, np.nan)

    def apart(self) -> Iterator[tuple[tuple[str, str], Array]]:
        """How far the number of each mistake is from the right one, in marking tolerances; by the
        ids of the mistake, which several parts of a run can have, and of the result.
        """
        rights, wrongs = self.answers or Answers({})
        for slip, of, value in wrongs:
            right = rights[of]
            with np.errstate(all="ignore"):
                share = np.abs(value - right) / np.abs(right) / self.tolerance
            yield (slip, of), np.where(np.isfinite(share), share, np.inf)

    def _mistakes(self) -> _Figure:
        """The object is the list of those that are near (in any of the cases)."""
        near = {key: share < NEAR for key, share in self.apart()}
        if near:
            listed = dict.fromkeys(slip for (slip, _), flags in near.items() if np.any(flags))
            yield ", ".join(listed), sum(flags.astype(float) for flags in near.values()) / len(near)

    def _earlier(self) -> _Figure:
        """The least distance of any answer that the numbers decide from that of an earlier lab."""
        least = np.full(np.shape(self.found.acceleration), np.inf)
        for key, value in self.answers.rights.items() if self.answers else ():
            if len(others := np.sort(self.earlier_answers.get(key, ()))):
                nearest = others[np.searchsorted((others[1:] + others[:-1]) / 2, value)]
                with np.errstate(all="ignore"):
                    share = np.abs(value - nearest) / np.abs(value)
                least = np.fmin(least, share / self.tolerance)
        yield "", np.where(np.isfinite(least), least, np.nan)


# ---- one lab


@dataclass(frozen=True)
class Finding:
    """One condition of a set of numbers, with the limits between which data come out clean."""

    aspect: str  # its name in the table
    value: float  # in the SI unit of the condition, or a share of one
    of: str = ""  # the object or the part of the run that it is about; of an uncertainty the path
    # ^ of the given value that adds most to it, of mistakes the list of those that are near

    @property
    def row(self) -> Any:
        """What the table says of the condition."""
        return table("planning", "conditions")[self.aspect]

    @property
    def verdict(self) -> str:
        """Where it stands to its limits: ``low``, ``high``, or it ``fits``."""
        ends = limits(self.row)
        return next((end for end, way, at in ends if way * self.value < way * at), "fits")


def limits(row: Mapping[str, Any]) -> list[tuple[str, int, float]]:
    """Those of a condition: its key, 1 where figures are above it or -1 where below, and itself."""
    return [(end, way, float(row[end])) for end, way in (("low", 1), ("high", -1)) if end in row]


def conditions(*, moves: bool, choosing: bool) -> list[str]:
    """The names of those that apply, where all runs are alike."""
    rows = [each for each in table("planning", "conditions").items() if each[0] != "run"]
    rows = [each for each in rows if (moves or "rest" in each[1])]
    return [name for name, row in rows if choosing or "choosing" not in row]


def review(
    scenario: Scenario, gravity: Estimate, answers: Answers | None = None, **known: Any
) -> tuple[Finding, ...]:
    """What there is to say of a lab's numbers, in the order of the table. ``gravity`` in m/s²;
    ``known`` of sensors, safety, tolerance and earlier answers as ``Figures`` has them.
    """
    case = Case(scenario=scenario, gravity=gravity)
    figures = Figures(case=case, motion=single(case), answers=answers, **known)
    moves = solve(case.apparatus()).moves
    found = (
        Finding(name, float(np.asarray(figure).item()), of)
        for name in conditions(moves=moves, choosing="earlier_answers" in known)
        for of, figure in figures.of(name)
    )
    return tuple(each for each in found if not math.isnan(each.value))
