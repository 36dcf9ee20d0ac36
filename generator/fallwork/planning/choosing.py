"""Chooses numbers for a lab out of all that can be built.

Takes a set-up, an inventory, what its formulas give for arrays and the numbers of earlier labs;
gives candidates in the order of their rank, and how many each condition excludes. The same call
gives the same order.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Any

import numpy as np

from fallwork.errors import table
from fallwork.measurement.model import Array
from fallwork.measurement.prediction import Case
from fallwork.mechanics import solve
from fallwork.mechanics.algebra import Flags
from fallwork.planning.buildable import MOST, Candidates, buildable
from fallwork.planning.conditions import Answers, Figures, conditions, limits
from fallwork.planning.driven import Values, batch, columns
from fallwork.scenario import Scenario
from fallwork.scenario.course import Safety
from fallwork.scenario.inventory import Inventory
from fallwork.scenario.numbers import quantities_of

NEW = "earlier"  # the condition that no answer is one of an earlier term
CHUNK = 50_000  # candidates looked at together, which bounds the memory
_WEIGHTS = {"apart": 4.0, "told": 2.0, "signal": 2.0, "round": 2.0, "usual": 2.0, "chance": 1.0}
_FAR = 10.0  # marking tolerances; farther apart is no better
_ROUND = ((50, 1.0), (20, 0.8), (10, 0.7), (5, 0.4), (1, 0.1))  # grams, and how good a multiple is
_WORST = 3  # conditions, nearest to their limits, by which data are judged
_PIECE = 0.02  # what a piece more costs
SCARCE = 4000  # good ones; where there are fewer, more are drawn beside them
_SAMPLE, FEW = 64, 8  # an answer with no more values in such a sample can't differ each term


@dataclass(frozen=True, kw_only=True)
class Task:
    """For what numbers are wanted."""

    case: Case  # the scenario's own numbers
    owned: Inventory
    answers: Callable[[Values], Answers]
    earlier: Sequence[Scenario] = ()  # labs and examples that students can have seen
    safety: Safety
    tolerance: float  # relative, of marking
    seed: int
    without: Sequence[str] = ()  # conditions that don't count
    most: int = MOST

    @property
    def known(self) -> list[Scenario]:
        """The earlier labs and examples that have all of the scenario's numbers."""
        paths = {path for path, _ in quantities_of(self.case.scenario)}
        return [each for each in self.earlier if {path for path, _ in quantities_of(each)} >= paths]


@dataclass(frozen=True, kw_only=True)
class Field:
    """All that was looked at."""

    task: Task
    tried: int
    drawn: bool  # whether that is a sample of more
    alike: Candidates  # those that run as the scenario does
    varying: Sequence[str]  # ids of the answers that can differ each term
    before: Mapping[str, Array]  # these of earlier labs and examples, in SI, (k,)
    broken: Mapping[str, Flags]  # condition -> flags, (n,)
    score: Array  # of those that are kept; the more, the better

    def unbroken(self, *but: str) -> Flags:
        """Flags of those that break no condition, but these perhaps."""
        others = [flags for name, flags in self.broken.items() if name not in but]
        return np.asarray(~np.any([np.zeros(len(self.alike), dtype=bool), *others], axis=0))

    @cached_property
    def kept(self) -> Flags:
        """Flags of those that break none."""
        return self.unbroken()

    @property
    def excluded(self) -> dict[str, tuple[int, int]]:
        """Of each condition how many break it, and how many break nothing else."""
        found, other = {}, self.tried - len(self.alike)
        for name, flags in self.broken.items():
            found[name] = int(flags.sum()), int((flags & self.unbroken(name)).sum())
        return {"run": (other, other), **found}

    @property
    def order(self) -> Any:
        """Places of those that are kept, the best first."""
        return np.flatnonzero(self.kept)[np.argsort(-self.score, kind="stable")]

    @property
    def nearest(self) -> list[str]:
        """Where nothing is kept: what the candidate breaks that breaks fewest."""
        flags = np.array([*self.broken.values()])
        at = int(np.argmin(flags.sum(axis=0)))
        return [name for name, broken in zip(self.broken, flags, strict=True) if broken[at]]


def looked_at(task: Task) -> Field:
    """Everything that the inventory can build, solved, judged and ranked; of more than that many a
    sample, and where little of it is good, another one beside what gives clean data.
    """
    looked = _sample_of(task)
    if looked.kept.sum() < SCARCE and looked.drawn and (clean := looked.unbroken(NEW)).any():
        looked = _sample_of(task, looked.alike.at(clean))
    return looked


def _sample_of(task: Task, near: Candidates | None = None) -> Field:
    moves = solve(task.case.apparatus()).moves
    every = buildable(task.owned, task.case.scenario, task.seed, task.most, moves=moves, near=near)
    names = [n for n in conditions(moves=moves, choosing=True) if n not in task.without]
    sample = every.at(np.linspace(0, len(every) - 1, _SAMPLE).astype(int))
    rights = task.answers(sample.values).rights
    varying = [key for key, v in rights.items() if len(np.unique(np.round(v, 9))) > FEW]
    then = task.answers(columns(*task.known)).rights
    before = {key: np.broadcast_to(then[key], len(task.known)) for key in varying if key in then}
    random = np.random.default_rng(task.seed)
    parts = (
        _looked_into(task, every.at(slice(at, at + CHUNK)), at, names, before, random)
        for at in range(0, len(every), CHUNK)
    )
    places, broken, score = (np.concatenate(each, axis=-1) for each in zip(*parts, strict=True))
    flags, alike = dict(zip(names, broken, strict=True)), every.at(places)
    found: dict[str, Any] = {"varying": varying, "before": before, "broken": flags}
    return Field(task=task, alike=alike, tried=len(every), drawn=every.drawn, score=score, **found)


def _looked_into(
    task: Task,
    some: Candidates,
    first: int,
    names: Sequence[str],
    before: Mapping[str, Array],
    random: np.random.Generator,
) -> tuple[Any, Any, Any]:
    """The places of those that run as the scenario does, from the ``first`` on; which conditions
    these break; the score of those that break none.
    """
    own, rights = (task.answers(v).rights for v in (columns(task.case.scenario), some.values))
    signs = [
        np.broadcast_to(np.sign(value) == np.sign(own[key]), len(some))
        for key, value in rights.items()
        if np.any(own[key])
    ]
    same = np.flatnonzero(np.logical_and.reduce(signs))
    ((_, runs),) = _figures(task, some.at(same).values, before).of("run")
    same = same[np.broadcast_to(runs, len(same)) == 1]  # the others stick, or strings go slack
    if not len(same):
        return same, np.zeros((len(names), 0), dtype=bool), np.zeros(0)
    some = some.at(same)
    figures = _figures(task, some.values, before)
    judged = (_judged(figures, name, len(some)) for name in names)
    broken, margins = map(np.array, zip(*judged, strict=True))
    some, inside = some.at(~broken.any(axis=0)), margins[:, ~broken.any(axis=0)]
    score = _score(_figures(task, some.values, before), some, inside, random)
    return first + same, broken, score


def _figures(task: Task, values: Values, before: Mapping[str, Array]) -> Figures:
    known: dict[str, Any] = {"safety": task.safety, "tolerance": task.tolerance}
    known |= {"sensors": task.owned.sensors, "earlier_answers": before}
    motion, answers = batch(task.case), task.answers(values)
    return Figures(case=task.case, motion=motion, values=values, answers=answers, **known)


def _judged(figures: Figures, name: str, size: int) -> tuple[Flags, Array]:
    """Flags of those that break a condition, and how far inside its limits the others are, 0 to 1:
    1 at three times a lower or a third of an upper limit.
    """
    wrong, inside = np.zeros(size, dtype=bool), np.ones(size)
    with np.errstate(all="ignore"):
        for (_, figure), (_, way, limit) in product(
            figures.of(name), limits(table("planning", "conditions")[name])
        ):
            wrong |= way * (figure - limit) < 0
            ratio = way * np.log(figure / limit) / np.log(3) if limit else np.ones(size)
            inside = np.fmin(inside, np.clip(ratio, 0, 1))
    return wrong, inside


def _score(
    figures: Figures, some: Candidates, margins: Array, random: np.random.Generator
) -> Array:
    """What speaks for each of the candidates: shares from 0 to 1 with their weights."""
    size, apart, groups = len(some), np.ones(len(some)), dict[str, list[Any]]()
    for _, figure in figures.of(NEW):
        apart = np.where(np.isnan(figure), 1.0, np.clip(figure / _FAR, 0, 1))
    told = [np.clip(share / _FAR, 0, 1) for _, share in figures.apart()]
    for _, of, value in figures.answers.wrongs if figures.answers else ():
        groups.setdefault(of, []).append(value)
    with np.errstate(all="ignore"):
        for group in (group for group in groups.values() if len(group) > 1):
            # Which mistake it was shows where the next one's number is a tolerance away.
            values = np.sort(np.broadcast_arrays(*group), axis=0)
            gaps = np.diff(values, axis=0) / np.abs(values[1:])
            told.append(np.mean(gaps > figures.tolerance, axis=0))
    whole = [1e3 * x for path, x in some.values.items() if path.endswith(".mass")]  # g
    whole += [1e2 * x for path, x in some.values.items() if path == "run.distance"]  # cm
    rounds = [
        np.max([w * (np.abs(x - step * np.rint(x / step)) < 1e-6) for step, w in _ROUND], axis=0)
        for x in whole
    ]
    easy = np.mean(rounds or [np.ones(size)], axis=0) - _PIECE * some.pieces
    own = dict(quantities_of(figures.case.scenario))
    far = [np.abs(np.log(x / own[path].value)) / np.log(3) for path, x in some.values.items()]
    shares = {
        "apart": apart,
        "told": np.mean([np.broadcast_to(each, size) for each in told or [np.ones(size)]], axis=0),
        "signal": np.mean(np.sort(margins, axis=0)[:_WORST], axis=0),
        "round": np.clip(easy, 0, 1),
        "usual": np.mean(np.clip(1 - np.array(far), 0, 1), axis=0),
        "chance": random.random(size),
    }
    return np.asarray(np.sum([w * shares[name] for name, w in _WEIGHTS.items()], axis=0))
