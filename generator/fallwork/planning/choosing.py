"""Chooses numbers for a lab out of all that can be built.

Takes a set-up, an inventory, what its formulas give for arrays and the numbers of earlier labs;
gives candidates in the order of their rank, and how many each condition excludes. The same call
gives the same order.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256
from typing import Any, NamedTuple

import numpy as np

from fallwork.errors import table
from fallwork.measurement.model import Array
from fallwork.measurement.prediction import Case
from fallwork.mechanics import solve
from fallwork.mechanics.algebra import Flags
from fallwork.planning.buildable import MOST, Candidates, buildable
from fallwork.planning.conditions import Answers, Figures, Values, batch, conditions
from fallwork.scenario import Scenario
from fallwork.scenario.course import Safety
from fallwork.scenario.inventory import Inventory
from fallwork.scenario.numbers import quantities_of

CHUNK = 50_000  # candidates looked at together, which bounds the memory
_WEIGHTS = {"apart": 2.0, "told": 2.0, "signal": 2.0, "round": 2.0, "usual": 2.0, "chance": 0.5}
TRIES, EXAMPLES = 15, 3  # proposals, and examples of each, that are looked at closely
_FAR = 10.0  # marking tolerances; farther apart is no better
_ROUND = ((50, 1.0), (20, 0.8), (10, 0.7), (5, 0.4), (1, 0.1))  # grams, and how good a multiple is
_WORST = 3  # conditions, nearest to their limits, by which data are judged
_PIECE = 0.02  # what a piece more costs
_SAMPLE, _FEW = 64, 8  # an answer with no more values in such a sample can't differ each term


def seed_of(*words: str) -> int:
    """A seed that depends on these words alone."""
    return int.from_bytes(sha256("\n".join(words).encode()).digest()[:8], "big")


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


class Pick(NamedTuple):
    """A proposal."""

    at: int  # its place among those that run as the scenario does
    example_at: int  # of its example, among those that are kept
    numbers: Mapping[str, str]  # path -> as a file gives it
    example: Mapping[str, str]
    words: Sequence[str]  # what there is to say of it all the same


@dataclass(frozen=True, kw_only=True)
class Field:
    """All that was looked at."""

    task: Task
    tried: int
    alike: Candidates  # those that run as the scenario does
    told: Sequence[str]  # ids of the answers that can differ each term
    before: Mapping[str, Array]  # the same of earlier labs and examples, (k,)
    broken: Mapping[str, Flags]  # condition -> flags, (n,)
    shares: Mapping[str, Array] = field(default_factory=dict)  # what ranks those that are kept

    @cached_property
    def kept(self) -> Flags:
        """Flags of those that break no condition."""
        none = np.zeros(len(self.alike), dtype=bool)
        return np.asarray(~np.logical_or.reduce([none, *self.broken.values()]))

    @property
    def excluded(self) -> dict[str, tuple[int, int]]:
        """Of each condition how many break it, and how many break nothing else."""
        count = np.sum([np.zeros(len(self.alike)), *self.broken.values()], axis=0)
        found = {n: (int(b.sum()), int((b & (count == 1)).sum())) for n, b in self.broken.items()}
        other = self.tried - len(self.alike)
        return {"run": (other, other), **found}

    @property
    def order(self) -> Any:
        """Places of those that are kept, the best first."""
        score = np.sum([w * self.shares[name] for name, w in _WEIGHTS.items()], axis=0)
        return np.flatnonzero(self.kept)[np.argsort(-score, kind="stable")]

    @property
    def nearest(self) -> list[str]:
        """Where nothing is kept: what the candidate breaks that breaks fewest."""
        flags = np.array([*self.broken.values()])
        at = int(np.argmin(flags.sum(axis=0)))
        return [name for name, broken in zip(self.broken, flags, strict=True) if broken[at]]


def looked_at(task: Task) -> Field:
    """Everything that the inventory can build, solved, judged and ranked."""
    scenario = task.case.scenario
    every = buildable(task.owned, scenario, task.seed, task.most)
    own = task.answers({path: np.array([q.value]) for path, q in quantities_of(scenario)}).rights
    moves = solve(task.case.apparatus()).moves
    names = [n for n in conditions(moves=moves, choosing=True) if n not in ("run", *task.without)]
    sample = every.at(np.linspace(0, len(every) - 1, _SAMPLE).astype(int))
    rights = task.answers(sample.values).rights
    told = [key for key, v in rights.items() if len(np.unique(np.round(v, 9))) > _FEW]
    seen = _answers_before(task, told)
    alike: list[Any] = [np.zeros(0, dtype=int)]
    broken = {name: [np.zeros(0, dtype=bool)] for name in names}
    shares: dict[str, list[Array]] = {name: [np.zeros(0)] for name in _WEIGHTS}
    random = np.random.default_rng(task.seed)
    for first in range(0, len(every), CHUNK):
        some = every.at(slice(first, first + CHUNK))
        signs = [
            np.broadcast_to(np.sign(value) == np.sign(own[key]), len(some))
            for key, value in task.answers(some.values).rights.items()
            if np.any(own[key])
        ]
        same = np.flatnonzero(np.logical_and.reduce(signs))
        ((_, runs),) = _figures(task, some.at(same), seen).of("run")
        same = same[np.broadcast_to(runs, len(same)) == 1]  # the others stick, or strings go slack
        if not len(same):
            continue
        alike.append(first + same)
        some = some.at(same)
        figures = _figures(task, some, seen)
        judged = {name: _judged(figures, name, len(some)) for name in names}
        for name, (wrong, _) in judged.items():
            broken[name].append(wrong)
        kept = ~np.logical_or.reduce([wrong for wrong, _ in judged.values()])
        margins = np.array([margin[kept] for _, margin in judged.values()])
        figures = _figures(task, some.at(kept), seen)
        for name, share in _shares(figures, some.at(kept), margins, random).items():
            shares[name].append(share)
    return Field(
        task=task,
        tried=len(every),
        alike=every.at(np.concatenate(alike)),
        told=told,
        before=seen,
        broken={name: np.concatenate(parts) for name, parts in broken.items()},
        shares={name: np.concatenate(parts) for name, parts in shares.items()},
    )


def _figures(task: Task, some: Candidates, seen: Mapping[str, Array]) -> Figures:
    return Figures(
        case=task.case,
        motion=batch(task.case),
        values=some.values,
        sensors=task.owned.sensors,
        safety=task.safety,
        answers=task.answers(some.values),
        earlier_answers=seen,
        tolerance=task.tolerance,
    )


def _answers_before(task: Task, told: Sequence[str]) -> dict[str, Array]:
    """Those of the answers of earlier labs and examples, by id."""
    sets = [dict(quantities_of(each)) for each in task.earlier]
    paths = [path for path, _ in quantities_of(task.case.scenario)]
    known = [each for each in sets if all(path in each for path in paths)]
    if not known:
        return {}
    columns = {path: np.array([each[path].value for each in known]) for path in paths}
    rights = task.answers(columns).rights
    return {key: np.broadcast_to(rights[key], len(known)) for key in told if key in rights}


def _judged(figures: Figures, name: str, size: int) -> tuple[Flags, Array]:
    """Flags of those that break a condition, and how far inside its limits the others are, 0 to 1:
    1 at three times a lower or a third of an upper limit.
    """
    row = table("planning", "conditions")[name]
    wrong, inside = np.zeros(size, dtype=bool), np.ones(size)
    with np.errstate(all="ignore"):
        for _, figure in figures.of(name):
            for end, way in (("low", 1), ("high", -1)):
                if end in row:
                    limit = float(row[end])
                    wrong |= way * (figure - limit) < 0
                    ratio = way * np.log(figure / limit) / np.log(3) if limit else np.ones(size)
                    inside = np.fmin(inside, np.clip(ratio, 0, 1))
    return wrong, inside


def _shares(
    figures: Figures, some: Candidates, margins: Array, random: np.random.Generator
) -> dict[str, Array]:
    """What speaks for each of the candidates, 0 to 1."""
    size, apart = len(some), np.ones(len(some))
    for _, figure in figures.of("earlier"):
        apart = np.where(np.isnan(figure), 1.0, np.clip(figure / _FAR, 0, 1))
    far = [np.clip(share / _FAR, 0, 1) for _, share in figures.apart()]
    told = [np.broadcast_to(each, size) for each in (*far, *figures.told_apart())]
    whole = [v * 1e3 for path, v in some.values.items() if path.endswith(".mass")]  # g
    whole += [v * 1e2 for path, v in some.values.items() if path == "run.distance"]  # cm
    rounds = [
        np.max(
            [np.where(np.abs(x - step * np.rint(x / step)) < 1e-6, w, 0.0) for step, w in _ROUND],
            axis=0,
        )
        for x in whole
    ]
    easy = np.mean(rounds or [np.ones(size)], axis=0) - _PIECE * some.pieces
    return {
        "apart": apart,
        "told": np.mean(told, axis=0) if told else np.ones(size),
        "signal": np.mean(np.sort(margins, axis=0)[:_WORST], axis=0),
        "round": np.clip(easy, 0, 1),
        "usual": figures.usual(),
        "chance": random.random(size),
    }


def picked(
    looked: Field, count: int, told: Callable[[Mapping[str, str], Mapping[str, str]], Sequence[str]]
) -> list[Pick]:
    """So many sets of numbers, each with those of its example, the best first: no answer of one is
    within marking tolerance of another's or of its example's. Of the first that are tried, those of
    which there is nothing to say; ``told`` what there is to say of both.
    """
    order = looked.order
    some = looked.alike.at(order)
    rights = looked.task.answers(some.values).rights
    answers = np.array([np.broadcast_to(rights[key], len(some)) for key in looked.told])
    free, found = np.ones(len(some), dtype=bool), list[Pick]()

    def apart(at: int) -> Flags:
        with np.errstate(all="ignore"):
            shares = np.abs(answers - answers[:, at, None]) / np.abs(answers[:, at, None])
        return np.asarray(np.nanmin(shares, axis=0, initial=np.inf) > looked.task.tolerance)

    while len(found) < count and free.any():
        best: Pick | None = None
        # Of what breaks a condition on purpose, there is always something to say.
        for at in np.flatnonzero(free)[: 1 if looked.task.without else TRIES]:
            numbers, others = some.texts(at), np.flatnonzero(apart(at) & free)
            for example in others[:EXAMPLES]:
                texts = some.texts(example)
                words = tuple(told(numbers, texts))
                pick = Pick(int(at), int(example), numbers, texts, words)
                best = pick if best is None or len(words) < len(best.words) else best
                if not words:
                    break
            if best and not best.words:
                break
        if best is None:
            break
        free &= apart(best.at) & apart(best.example_at)
        found.append(best._replace(at=int(order[best.at])))
    return found
