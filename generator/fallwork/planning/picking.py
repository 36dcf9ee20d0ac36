"""Picks proposals: numbers for a lab, and those of its worked example.

Takes what was looked at, and what ``check`` would say of a lab with such numbers; gives the best
ones of which it says nothing.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import chain, islice
from typing import NamedTuple

import numpy as np

from fallwork.measurement.model import Array
from fallwork.mechanics.algebra import Flags
from fallwork.planning.choosing import FEW, NEW, SCARCE, Field, Task
from fallwork.planning.driven import Values, columns
from fallwork.scenario.numbers import quantities_of
from fallwork.scenario.quantity import written_like

CLEAR = 0.1  # relative, by which every answer and mass of an example is off the lab's
TRIES, EXAMPLES = 15, 3  # proposals, and examples of each, that are looked at closely
_LOOKED, _BESIDE = 50, 12  # proposals, and examples of each, of which pages may show a result
# Of numbers and the example's first what pages show, then all else.
Says = Callable[[Mapping[str, str], Mapping[str, str]], Iterator[Sequence[str]]]


class Pick(NamedTuple):
    """A proposal."""

    at: int  # its place among those that run as the scenario does
    example_at: int  # of its example, among those that are kept and then the earlier ones
    numbers: Mapping[str, str]  # path -> as a file gives it
    example: Mapping[str, str]
    off: float  # relative, by which the example's answers and masses are off its own, at least
    words: Sequence[str]  # what there is to say of it all the same


class _Rows:
    """All that can be picked, the best first, and behind it the earlier labs."""

    def __init__(self, looked: Field) -> None:
        self.task, self.some = looked.task, looked.alike.at(looked.order)
        self.many = len(self.some)
        rights, numbers = self.task.answers(self.some.values).rights, self.some.values
        every = looked.alike.values.items()
        chosen = [p for p, x in every if p.endswith(".mass") and len(np.unique(x)) > FEW]
        self.answers = self._rows({key: rights[key] for key in looked.varying}, looked.before)
        masses = {path: numbers[path] for path in chosen}
        self.masses = self._rows(masses, columns(*self.task.known))
        texts = enumerate(_texts(self.task, numbers), self.many)
        self.earlier = {at: each for at, each in texts if each}
        self.free = np.ones(self.answers.shape[1], dtype=bool)

    def _rows(self, values: Values, before: Values) -> Array:
        wide = ((np.broadcast_to(x, self.many), before.get(key, ())) for key, x in values.items())
        size = self.many + len(self.task.known)
        return np.array([np.append(*pair) for pair in wide]).reshape(len(values), size)

    def texts(self, at: int) -> Mapping[str, str]:
        """The numbers of one."""
        return self.earlier.get(at) or self.some.texts(at)

    def apart(self, at: int) -> Flags:
        """Flags of those of which no answer is one of this one's."""
        return np.asarray(_off(self.answers, at) > self.task.tolerance)

    def examples(self, at: int) -> Iterator[tuple[int, float]]:
        """Places of some that are apart from this one, and how far: those that are clearly so by
        their rank, then the farthest. Where few new answers are left, earlier ones come first, so
        that none is used up.
        """
        good = np.flatnonzero(self.apart(at) & self.free)
        again = [each for each in self.earlier if each in good] if self.many < SCARCE else []
        turned = np.roll(again, self.task.seed % TRIES).astype(int)
        places = np.concatenate([turned, good[good < self.many]])
        off = np.minimum(_off(self.answers, at), _off(self.masses, at))[places]
        for each in np.argsort(-np.minimum(off, CLEAR), kind="stable")[:_BESIDE]:
            yield int(places[each]), float(off[each])


def _off(rows: Array, at: int) -> Array:
    """By which share each differs from one, in the row in which it does least."""
    own = rows[:, at, None]
    with np.errstate(all="ignore"):
        shares = np.abs(rows - own) / np.maximum(np.abs(rows), np.abs(own))
    return np.asarray(np.nanmin(shares, axis=0, initial=np.inf))


def _texts(task: Task, chosen: Values) -> Iterator[Mapping[str, str]]:
    """Of each earlier lab the numbers to choose; none where others aren't the scenario's."""
    own = dict(quantities_of(task.case.scenario))
    for each in task.known:
        numbers = {path: q for path, q in quantities_of(each) if path in own}
        same = all(numbers[p].value == own[p].value for p in own.keys() - chosen.keys())
        yield {p: written_like(numbers[p], own[p]) for p in chosen if same}


def picked(looked: Field, count: int, says: Says) -> list[Pick]:
    """So many sets of numbers, each with those of its example, the best first: no answer of one is
    within marking tolerance of another's or of its example's, and no page shows one. Of the first
    that are tried, those of which there is nothing else to say.
    """
    rows, order, found = _Rows(looked), looked.order, list[Pick]()
    while len(found) < count:
        looked_into = list[Pick]()
        for pick in _tried(rows, says):
            looked_into.append(pick)
            if not pick.words:
                break
        if not looked_into:
            break
        best = min(looked_into, key=lambda pick: len(pick.words))
        rows.free &= rows.apart(best.at) & rows.apart(best.example_at)
        found.append(best._replace(at=int(order[best.at])))
    return found


def _tried(rows: _Rows, says: Says) -> Iterator[Pick]:
    without = {*rows.task.without}

    def with_examples(at: int) -> Iterator[Pick]:
        for example, off in rows.examples(at):
            texts = rows.texts(at), rows.texts(example)
            words = says(*texts)
            if not (shown := next(words)) or NEW in without:
                yield Pick(at, example, *texts, off, (*shown, *next(words)))

    # Of what breaks a condition on purpose, there is always something to say.
    most = EXAMPLES * (1 if without - {NEW} else TRIES)
    places = np.flatnonzero(rows.free[: rows.many])[:_LOOKED].tolist()
    return islice(chain.from_iterable(islice(with_examples(at), EXAMPLES) for at in places), most)
