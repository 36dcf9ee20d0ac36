"""Modes for a batch: each found for one case by the solver and tried on all the others.

Takes terms and start speeds with arrays; gives accelerations and tensions of every case.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fallwork.mechanics.apparatus import Number
from fallwork.mechanics.assembly import Term, Terms
from fallwork.mechanics.batch_check import Check
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.elimination import NotRegular, solve_batch
from fallwork.mechanics.layout import Layout
from fallwork.mechanics.modes import Stage
from fallwork.mechanics.problem import Mode
from fallwork.mechanics.state import Machine, State, go_on, machine_of, state_at_rest


@dataclass(frozen=True, kw_only=True)
class Cases:
    """Terms and start speeds of some cases."""

    layout: Layout
    terms: Terms
    speeds: tuple[Number, ...]  # m/s, one a coordinate

    def some(self, where: Any) -> "Cases":
        """Those at ``where``, an index of arrays as NumPy takes it."""
        return replace(
            self,
            terms=tuple(_pick_term(term, where) for term in self.terms),
            speeds=tuple(_pick(speed, where) for speed in self.speeds),
        )


@dataclass(frozen=True, kw_only=True)
class CaseValues:
    """Accelerations by coordinate and tensions by span; nan where undetermined."""

    acceleration: Sequence[Number]
    tension: Sequence[Number]


@dataclass(frozen=True, kw_only=True)
class _Recipe:
    """How one case was solved: bounds and mode of each stage."""

    statics: tuple[Flags, ...]  # which coordinates may use their static friction
    modes: tuple[Mode, ...]
    stuck: tuple[Flags, ...]
    signs: Array  # of the start speeds


def solve_cases(cases: Cases, shape: tuple[int, ...]) -> CaseValues:
    """Every case, with one mode after the other until all are solved. ``shape`` isn't ()."""
    filling: _Filling | None = None
    while filling is None or filling.pending.any():
        where = None if filling is None else np.nonzero(filling.pending)
        first = (0,) * len(shape) if where is None else tuple(int(index[0]) for index in where)
        recipe, alone = _recipe(cases.some(first))
        chosen = cases if where is None else cases.some(where)
        values, good = (None, None) if recipe is None else _try(chosen, recipe)
        if filling is None and values is not None and good is None:
            return values
        if filling is None:
            filling = _Filling(cases.layout, shape)
            where = np.nonzero(filling.pending)
        if values is not None and where is not None:
            filling.enter(values, where, good)
        if filling.pending[first]:
            filling.enter_one(alone, first)
    return CaseValues(acceleration=filling.acceleration, tension=filling.tension)


class _Filling:
    """Arrays that fill up mode by mode."""

    def __init__(self, layout: Layout, shape: tuple[int, ...]) -> None:
        self.acceleration = [np.empty(shape) for _ in layout.coordinates]
        self.tension = [np.empty(shape) for _ in layout.spans]
        self.pending: Flags = np.ones(shape, dtype=bool)

    def enter(self, values: CaseValues, where: Any, good: Flags | None) -> None:
        kept = np.ones(len(where[0]), dtype=bool) if good is None else good
        kept = np.broadcast_to(kept.reshape(-1), len(where[0]))
        places = tuple(index[kept] for index in where)
        for target, value in self._pairs(values):
            flat = np.reshape(value, -1) if np.ndim(value) else value
            target[places] = _pick(flat, kept)
        self.pending[places] = False

    def enter_one(self, values: CaseValues, case: tuple[int, ...]) -> None:
        for target, value in self._pairs(values):
            target[case] = value
        self.pending[case] = False

    def _pairs(self, values: CaseValues) -> Sequence[tuple[Array, Number]]:
        targets = [*self.acceleration, *self.tension]
        return list(zip(targets, [*values.acceleration, *values.tension], strict=True))


def _pick(value: Number, where: Any) -> Any:
    return np.asarray(value)[where] if np.ndim(value) else value


def _pick_term(term: Term, where: Any) -> Term:
    mass = _pick(term.mass, where)
    return Term(
        mass=mass,
        load=mass if term.load is term.mass else _pick(term.load, where),
        fall=_pick(term.fall, where),
        kinetic=_pick(term.kinetic, where),
        static=_pick(term.static, where),
    )


def _recipe(case: Cases) -> tuple[_Recipe | None, CaseValues]:
    """How the solver solves a single case, and its values. None where only these serve."""
    machine = machine_of(case.layout, case.terms)
    speeds = np.array([float(speed) for speed in case.speeds])
    start = replace(state_at_rest(machine), speed=speeds)
    state, stages = go_on(machine, start)
    motion = stages[-1].motion
    tension = motion.loads.tension.copy()
    tension[[each.at for each in motion.ranges if each.kind == "tension"]] = np.nan
    values = CaseValues(acceleration=list(motion.acceleration), tension=list(tension))
    strings = case.layout.strings
    cut = [name for name in sorted(state.loose) if len(strings[name].spans) > 1]
    if motion.ranges or np.any(np.isnan(motion.acceleration)) or cut or state.gripped:
        return None, values
    return _as_recipe(machine, start, stages), values


def _as_recipe(machine: Machine, start: State, stages: Sequence[Stage]) -> _Recipe:
    return _Recipe(
        statics=tuple(
            (stage.bound == machine.friction.static) & (start.speed == 0) for stage in stages
        ),
        modes=tuple(stage.motion.mode for stage in stages),
        stuck=tuple(machine.problem(stage.bound).stuck(stage.motion.mode) for stage in stages),
        signs=np.sign(start.speed),
    )


def _try(cases: Cases, recipe: _Recipe) -> tuple[CaseValues | None, Flags | None]:
    """The values that a recipe gives, and where its conditions hold (None: everywhere)."""
    check, motion = Check(cases.layout, cases.terms), None
    for speed, sign in zip(cases.speeds, recipe.signs, strict=True):
        check.same_sign(speed, float(sign))
    try:
        with np.errstate(divide="ignore", invalid="ignore"):
            for statics, mode, stuck in zip(
                recipe.statics, recipe.modes, recipe.stuck, strict=True
            ):
                motion = solve_batch(cases.layout, cases.terms, statics, mode, stuck)
                check.conditions(motion, mode, statics, recipe.signs)
    except NotRegular:
        return None, None
    if motion is None:
        return None, None
    return CaseValues(acceleration=motion.acceleration, tension=motion.tension), check.good
