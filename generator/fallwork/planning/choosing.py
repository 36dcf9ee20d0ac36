"""Chooses numbers for a lab out of all that can be built.

Takes a set-up, an inventory, what its formulas give for arrays and the numbers of earlier labs;
gives candidates in the order of their rank, and how many each condition excludes. The same call
gives the same order.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np

from fallwork.errors import table
from fallwork.measurement.model import Array
from fallwork.measurement.prediction import Case
from fallwork.mechanics import solve
from fallwork.mechanics.algebra import Flags
from fallwork.planning.buildable import MOST, Candidates, buildable
from fallwork.planning.conditions import Answers, Figures, Finding, conditions
from fallwork.planning.driven import Values, batch, columns
from fallwork.scenario import Scenario
from fallwork.scenario.course import Safety
from fallwork.scenario.inventory import Inventory
from fallwork.scenario.numbers import quantities_of
from fallwork.scenario.quantity import written_like

NEW = "earlier"  # the condition that no answer is one of an earlier term
CHUNK = 50_000  # candidates looked at together, which bounds the memory
_WEIGHTS = {"apart": 4.0, "told": 2.0, "signal": 2.0, "round": 2.0, "usual": 2.0, "chance": 1.0}
TRIES, EXAMPLES = 15, 3  # proposals, and examples of each, that are looked at closely
_FAR = 10.0  # marking tolerances; farther apart is no better
_ROUND = ((50, 1.0), (20, 0.8), (10, 0.7), (5, 0.4), (1, 0.1))  # grams, and how good a multiple is
_WORST = 3  # conditions, nearest to their limits, by which data are judged
_PIECE = 0.02  # what a piece more costs
_SCARCE = 4000  # good ones; where there are fewer, more are drawn beside them
_SAMPLE, _FEW = 64, 8  # an answer with no more values in such a sample can't differ each term


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
    example_at: int  # of its example, among those that are kept and then the earlier ones
    numbers: Mapping[str, str]  # path -> as a file gives it
    example: Mapping[str, str]
    words: Sequence[str]  # what there is to say of it all the same


@dataclass(frozen=True, kw_only=True)
class Field:
    """All that was looked at."""

    task: Task
    tried: int
    drawn: bool  # whether that is a sample of more
    alike: Candidates  # those that run as the scenario does
    told: Sequence[str]  # ids of the answers that can differ each term
    before: Mapping[str, Array]  # the same of earlier labs and examples, (k,)
    broken: Mapping[str, Flags]  # condition -> flags, (n,)
    score: Array  # of those that are kept; the more, the better

    @cached_property
    def kept(self) -> Flags:
        """Flags of those that break no condition."""
        none = np.zeros(len(self.alike), dtype=bool)
        return np.asarray(~np.logical_or.reduce([none, *self.broken.values()]))

    @property
    def clean(self) -> Candidates:
        """Those that break no condition but that of new answers."""
        others = [flags for name, flags in self.broken.items() if name != NEW]
        return self.alike.at(~np.logical_or.reduce([np.zeros(len(self.alike), bool), *others]))

    @property
    def excluded(self) -> dict[str, tuple[int, int]]:
        """Of each condition how many break it, and how many break nothing else."""
        count = np.sum([np.zeros(len(self.alike)), *self.broken.values()], axis=0)
        found = {n: (int(b.sum()), int((b & (count == 1)).sum())) for n, b in self.broken.items()}
        other = self.tried - len(self.alike)
        return {"run": (other, other), **found}

    def newness(self, at: int) -> list[Finding]:
        """How far the answers of one are from those of earlier labs, if there are any."""
        of = _figures(self.task, self.alike.at([at]), self.before).of(NEW)
        found = [Finding(NEW, float(figure[0])) for _, figure in of]
        return [each for each in found if each.value < np.inf]

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
    if looked.kept.sum() < _SCARCE and looked.drawn and len(looked.clean):
        looked = _sample_of(task, looked.clean)
    return looked


def _sample_of(task: Task, near: Candidates | None = None) -> Field:
    scenario = task.case.scenario
    moves = solve(task.case.apparatus()).moves
    every = buildable(task.owned, scenario, task.seed, task.most, moves=moves, near=near)
    own = task.answers(columns(scenario)).rights
    names = [n for n in conditions(moves=moves, choosing=True) if n not in ("run", *task.without)]
    sample = every.at(np.linspace(0, len(every) - 1, _SAMPLE).astype(int))
    rights = task.answers(sample.values).rights
    told = [key for key, v in rights.items() if len(np.unique(np.round(v, 9))) > _FEW]
    seen = _answers_before(task, told)
    parts: list[tuple[Any, Any, Any]]  # places of those alike, what they break, score of the kept
    parts = [(np.zeros(0, dtype=int), np.zeros((len(names), 0), dtype=bool), np.zeros(0))]
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
        some = some.at(same)
        figures = _figures(task, some, seen)
        judged = (_judged(figures, name, len(some)) for name in names)
        broken, margins = map(np.array, zip(*judged, strict=True))
        kept = ~broken.any(axis=0)
        some, figures = some.at(kept), _figures(task, some.at(kept), seen)
        parts.append((first + same, broken, _score(figures, some, margins[:, kept], random)))
    places, broken, score = (np.concatenate(each, axis=-1) for each in zip(*parts, strict=True))
    flags, alike = dict(zip(names, broken, strict=True)), every.at(places)
    known: dict[str, Any] = {"told": told, "before": seen, "broken": flags, "score": score}
    return Field(task=task, alike=alike, tried=len(every), drawn=every.drawn, **known)


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


def _known(task: Task) -> list[Scenario]:
    """The earlier labs and examples that have all of the scenario's numbers."""
    paths = {path for path, _ in quantities_of(task.case.scenario)}
    return [each for each in task.earlier if {path for path, _ in quantities_of(each)} >= paths]


def _answers_before(task: Task, told: Sequence[str]) -> dict[str, Array]:
    """Those of the answers of earlier labs and examples, by id."""
    if not (known := _known(task)):
        return {}
    rights = task.answers(columns(*known)).rights
    return {key: np.broadcast_to(rights[key], len(known)) for key in told if key in rights}


def _earlier(task: Task, some: Candidates) -> Iterator[Mapping[str, str]]:
    """Of each of these the numbers that can be chosen; none where others aren't the scenario's."""
    own = dict(quantities_of(task.case.scenario))
    for each in _known(task):
        numbers = {path: q for path, q in quantities_of(each) if path in own}
        same = all(numbers[p].value == own[p].value for p in own.keys() - some.values.keys())
        yield {p: written_like(numbers[p], own[p]) for p in some.values if same}


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
    units = {"mass": 1e3, "run.distance": 1e2}  # g, cm
    keys = {path: path if path in units else path.rpartition(".")[2] for path in some.values}
    whole = [x * units[keys[path]] for path, x in some.values.items() if keys[path] in units]
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


def picked(
    looked: Field, count: int, told: Callable[[Mapping[str, str], Mapping[str, str]], Sequence[str]]
) -> list[Pick]:
    """So many sets of numbers, each with those of its example, the best first: no answer of one is
    within marking tolerance of another's or of its example's. Of the first that are tried, those of
    which there is nothing to say; ``told`` what there is to say of both.
    """
    order, task = looked.order, looked.task
    some, many = looked.alike.at(order), len(order)
    rights, before = task.answers(some.values).rights, looked.before
    sets = ((np.broadcast_to(rights[key], many), before.get(key, ())) for key in looked.told)
    answers = np.array([np.append(*pair) for pair in sets])
    seen = {many + at: texts for at, texts in enumerate(_earlier(task, some)) if texts}
    free, found = np.ones(answers.shape[1], dtype=bool), list[Pick]()

    def apart(at: int) -> Flags:
        with np.errstate(all="ignore"):
            own = answers[:, at, None]
            shares = np.abs(answers - own) / np.maximum(np.abs(answers), np.abs(own))
        return np.asarray(np.nanmin(shares, axis=0, initial=np.inf) > task.tolerance)

    def tried() -> Iterator[Pick]:
        # Of what breaks a condition on purpose, there is always something to say.
        for at in np.flatnonzero(free[:many])[: 1 if {*task.without} - {NEW} else TRIES].tolist():
            numbers, good = some.texts(at), apart(at) & free
            # Where few new answers are left, an example uses none of them up.
            again = np.roll([each for each in seen if good[each]], task.seed % TRIES).tolist()
            again = again if many < _SCARCE else []
            for example in [*again, *np.flatnonzero(good[:many]).tolist()][:EXAMPLES]:
                texts = seen.get(example) or some.texts(example)
                yield Pick(at, example, numbers, texts, tuple(told(numbers, texts)))

    while len(found) < count:
        looked_into = list[Pick]()
        for pick in tried():
            looked_into.append(pick)
            if not pick.words:
                break
        if not looked_into:
            break
        best = min(looked_into, key=lambda pick: len(pick.words))
        free &= apart(best.at) & apart(best.example_at)
        found.append(best._replace(at=int(order[best.at])))
    return found
