"""What the measurements can tell apart and what they can't.

Takes the clues that the trials give. Four unknowns may hide in the runs, each a force along the
path of the watched object, and every clue is a sum of some of them. Gives each unknown that the
clues settle, with its uncertainty (generalised least squares where there are more clues than
needed), and for the others the sums that are known and the clues that would settle them. An unknown
can be taken as none, which makes the others better known if it is true.

The weights go by one covariance of all clues, from the scatter of the trials and what they share.
Weights that were fitted to the scatter make it look smaller than it is; ``_luck`` allows for that,
so that intervals cover the truth 95 times of 100 also for few trials.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum

import numpy as np

from fallwork.measurement.derived import Derived
from fallwork.measurement.energies import Clue
from fallwork.measurement.model import Array, Estimate, Outcome
from fallwork.measurement.statistics import LEVEL, coverage_factor

ZERO = 1e-9  # numbers below this count as zero; the entries of SEES are 0 and 1
ALL_BUT_EXACT = 1e-6  # of the usual uncertainty: what a clue without any counts as having


class Unknown(Enum):
    """A force in N that the runs may hide."""

    FRICTION = "friction at the pulled object"  # and what of gravity along its way isn't given
    INERTIA = "what hidden inertia at the pulled object needs"  # unweighed mass, wheels
    ELSEWHERE = "resistance elsewhere"  # pulley, string, air on the weight
    FORCE_ZERO = "zero offset of the force sensor"


SEES: Mapping[Clue, tuple[Unknown, ...]] = {
    Clue.PULLED_FORCE: (Unknown.FRICTION, Unknown.INERTIA, Unknown.FORCE_ZERO),
    Clue.ALL_FORCE: (Unknown.FRICTION, Unknown.INERTIA, Unknown.ELSEWHERE),
    Clue.COASTING_FORCE: (Unknown.FRICTION,),
    Clue.HELD_OFFSET: (Unknown.FORCE_ZERO,),
    Clue.SLACK_OFFSET: (Unknown.FORCE_ZERO,),
    Clue.ZEROING: (Unknown.FORCE_ZERO,),
}
MEASURED = tuple(clue for clue in SEES if clue is not Clue.ZEROING)  # those of the runs


@dataclass(frozen=True, kw_only=True)
class Separation:
    """The least-squares solution for q of the unknowns, by m clues of k derived quantities."""

    derived: Derived
    clues: tuple[Clue, ...]
    unknowns: tuple[Unknown, ...]  # the others were taken as none
    matrix: Array  # (m, q): which clues see which unknowns
    inverse: Array  # (q, k): each unknown as a sum of derived quantities
    settled: Mapping[Unknown, Estimate] = field(default_factory=dict)  # N

    @property
    def entangled(self) -> tuple[Unknown, ...]:
        """In the runs, but only known as parts of sums."""
        return tuple(u for u in self.unknowns if u not in (*self.settled, *self.unseen))

    @property
    def unseen(self) -> tuple[Unknown, ...]:
        """In no clue at all."""
        seen = np.any(self.matrix != 0, axis=0)
        return tuple(u for u, each in zip(self.unknowns, seen, strict=True) if not each)

    @property
    def sums(self) -> dict[Clue, tuple[tuple[Unknown, ...], Outcome]]:
        """Every clue of the runs: the unknowns whose sum it tells, and that, N."""
        told = [clue for clue in MEASURED if clue in self.clues]
        seen = {clue: tuple(u for u in SEES[clue] if u in self.unknowns) for clue in told}
        return {clue: (seen[clue], self.derived.outcome(self.derived.row(clue))) for clue in told}

    @property
    def would_settle(self) -> dict[Unknown, tuple[Clue, ...]]:
        """For each unknown that isn't settled, the missing clues each of which would settle it."""
        missing = [clue for clue in MEASURED if clue not in self.clues]
        rows = _matrix(missing, self.unknowns)
        with_it = [_fixed(np.vstack([self.matrix, row])) for row in rows]
        others = [(at, u) for at, u in enumerate(self.unknowns) if u not in self.settled]
        pairs = [*zip(missing, with_it, strict=True)]
        return {u: tuple(clue for clue, fixed in pairs if fixed[at]) for at, u in others}

    @property
    def consistent(self) -> bool:
        """Whether clues that see the same agree: every clue against what all say of it. The 5 % by
        which the verdict rule may err are shared out over the clues more than needed.
        """
        spare = len(self.matrix) - int(np.linalg.matrix_rank(self.matrix))
        if not spare:
            return True
        level, own = 1 - (1 - LEVEL) / spare, np.array([self.derived.row(c) for c in self.clues])
        noise = ZERO * np.max(np.abs(own @ self.derived.values))
        rests = [self.total(row) for row in own - self.matrix @ self.inverse]
        limits = [coverage_factor(each.dof, level) * each.u + noise for each in rests]
        return all(abs(each.value) <= limit for each, limit in zip(rests, limits, strict=True))

    def row(self, unknown: Unknown) -> Array:
        """(k,): an unknown as a sum of derived quantities."""
        return np.asarray(self.inverse[self.unknowns.index(unknown)])

    def total(self, row: Array, *luck: float) -> Estimate:
        """A sum of derived quantities of known uncertainty, with weights (k,)."""
        found = self.derived.outcome(row, None, *luck)
        assert found.u is not None  # only such are among the clues
        return Estimate(value=found.value, u=found.u, dof=found.dof)


WITHOUT_INERTIA = tuple(each for each in Unknown if each is not Unknown.INERTIA)


def clues_in(derived: Derived) -> tuple[Clue, ...]:
    """The clues of known uncertainty; none unless one of them is of the runs."""
    found = tuple(clue for clue in SEES if (one := derived.sum(clue)) and one.u is not None)
    return () if found == (Clue.ZEROING,) else found


def separate(derived: Derived) -> tuple[Separation, Separation]:
    """With hidden inertia left open, and with it taken as none: generalised least squares, of all
    unbiased sums of clues those with the least variance (A. C. Aitken, Proc. Roy. Soc. Edinburgh 55
    (1936) 42; from memory). What is taken as none makes the others better known. Where the scatter
    of few trials has it the other way round, both uncertainties are set to their geometric mean
    (pooling, as in isotonic regression), so that the intervals of both go on covering the truth 95
    times of 100.
    """
    clues = clues_in(derived)
    own, dof = np.array([derived.row(clue) for clue in clues]), len(derived.trials) - 1
    shared, random = covariances(derived, clues)
    size = float(np.trace(random + shared)) / len(clues)
    covariance = random + shared + (ALL_BUT_EXACT**2 * size or 1.0) * np.eye(len(clues))
    whiten, fits = np.linalg.inv(np.linalg.cholesky(covariance)), list[Separation]()
    for unknowns in (tuple(Unknown), WITHOUT_INERTIA):
        matrix, luck = _matrix(clues, unknowns), (1.0, 0.0)
        if _by_scatter(derived, clues):
            luck = _luck(matrix, covariance, random, own @ derived.values, dof)
        inverse = np.linalg.pinv(whiten @ matrix, rcond=ZERO) @ whiten @ own
        fit = Separation(
            derived=derived, clues=clues, unknowns=unknowns, matrix=matrix, inverse=inverse
        )
        known = [u for u, fixed in zip(unknowns, _fixed(matrix), strict=True) if fixed]
        settled = {unknown: fit.total(fit.row(unknown), *luck) for unknown in known}
        fits.append(replace(fit, settled=settled))
    wide, narrow = (dict(fit.settled) for fit in fits)
    for unknown, one in wide.items():
        other = narrow.get(unknown)
        if other is not None and other.u > one.u:
            u = (one.u * other.u) ** 0.5
            wide[unknown], narrow[unknown] = replace(one, u=u), replace(other, u=u)
    return replace(fits[0], settled=wide), replace(fits[1], settled=narrow)


def covariances(derived: Derived, clues: Sequence[Clue]) -> tuple[Array, Array]:
    """(m, m) each, N²: of what all trials share, and of what differs from trial to trial: their
    scatter where there are trials enough to tell it. Of fewer trials what they say of their own
    uncertainties, or the same for every clue where some say nothing.
    """
    at = np.ix_(*[[derived.names.index(clue) for clue in clues]] * 2)
    changes = np.array([each for *_, each in derived.shared]).reshape(-1, len(derived.names))
    shared, random = (changes.T @ changes)[at], np.zeros((len(clues), len(clues)))
    if derived.scatter is not None and _by_scatter(derived, clues):
        random = derived.scatter[at]
    elif derived.scatter is not None and derived.claimed is not None:
        random = derived.claimed[at]
    elif derived.scatter is not None:
        real = np.array([clue in MEASURED for clue in clues])
        random = np.diag(np.mean(np.diag(derived.scatter[at])[real]) * real)
    return shared, random


def _by_scatter(derived: Derived, clues: Sequence[Clue]) -> bool:
    """Whether the scatter has more degrees of freedom than there are clues in it."""
    return len(derived.trials) - 1 > sum(clue in MEASURED for clue in clues)


def _luck(
    matrix: Array, covariance: Array, scatter: Array, values: Array, dof: int
) -> tuple[float, float]:
    """By which factor the variance from scatter is larger than it looks along weights that were
    fitted to it, and how many degrees of freedom the fit has cost. The sums of clues that see no
    unknown serve as covariates, with as many coefficients to fit (C. R. Rao, Proc. 5th Berkeley
    Symp. 1 (1967) 355, from memory). Shared effects, which are known, need no fit: with them in the
    covariance the coefficients count by their part in it.
    """
    from scipy.linalg import null_space  # slow to import, and not every command has trials

    unseen = null_space(matrix.T).T
    if not len(unseen):
        return 1.0, 0.0
    inverse = np.linalg.inv(unseen @ covariance @ unseen.T)
    part = unseen @ scatter @ unseen.T
    fewer = float(np.trace(part @ inverse))
    size = inverse @ unseen @ values
    return dof / (dof - fewer) * (1 + float(size @ part @ size) / dof), fewer


def _matrix(clues: Sequence[Clue], unknowns: Sequence[Unknown]) -> Array:
    """(m, q): which see which."""
    rows = [[float(unknown in SEES[clue]) for unknown in unknowns] for clue in clues]
    return np.array(rows).reshape(-1, len(unknowns))


def _fixed(matrix: Array) -> list[bool]:
    """Which unknowns the rows fix: no vector that they don't see has a part of them."""
    _, sizes, vectors = np.linalg.svd(matrix)
    unseen = vectors[int(np.sum(sizes > ZERO)) :]
    return [bool(each) for each in np.all(np.abs(unseen) < ZERO, axis=0)]
