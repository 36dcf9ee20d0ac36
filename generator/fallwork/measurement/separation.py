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
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from fallwork.measurement.losses import Clue, Losses
from fallwork.measurement.model import Array, Estimate
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.statistics import LEVEL, combined, coverage_factor

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
}


@dataclass(frozen=True, kw_only=True)
class KnownSum:
    """A sum of unknowns that a clue tells."""

    clue: Clue
    of: tuple[Unknown, ...]
    value: Estimate  # N


@dataclass(frozen=True, kw_only=True)
class Separation:
    """What is settled and what isn't."""

    unknowns: tuple[Unknown, ...]  # the others were taken as none
    settled: Mapping[Unknown, Estimate]  # N
    entangled: tuple[Unknown, ...]  # in the runs, but only known as parts of sums
    unseen: tuple[Unknown, ...]  # in no clue at all
    sums: tuple[KnownSum, ...]  # every clue, as it stands
    would_settle: Mapping[Unknown, tuple[Clue, ...]]  # any one of these; empty: none alone does
    consistent: bool  # clues that see the same agree
    weights: Mapping[Unknown, Mapping[Clue, float]]  # a settled one is Σ weight × clue
    priors: Mapping[Unknown, float]  # N, what the zeroing adds to its uncertainty

    def with_unknown(
        self, losses: Losses, weights: Mapping[Clue, float], unknown: Unknown, factor: float
    ) -> Estimate:
        """Σ weight × clue + factor × unknown; without the unknown if it isn't settled."""
        total = dict(weights)
        for clue, weight in self.weights.get(unknown, {}).items():
            total[clue] = total.get(clue, 0.0) + factor * weight
        return _widened(losses.estimate(total), factor * self.priors.get(unknown, 0.0))


WITHOUT_INERTIA = tuple(each for each in Unknown if each is not Unknown.INERTIA)


def separate(losses: Losses, sensors: Sensors, *, hidden_inertia: bool = True) -> Separation:
    """The separation, with hidden inertia left open or taken as none; a known
    ``sensors.force_zero`` says that the zero is 0 ± that.
    """
    every = _solved(losses, sensors, tuple(Unknown))
    plain = _solved(losses, sensors, WITHOUT_INERTIA)
    solution = every if hidden_inertia else plain
    unknowns, matrix = solution.unknowns, solution.matrix
    settled = {each: _settled(each, solution, every, plain) for each in solution.settled}
    seen = [unknown for at, unknown in enumerate(unknowns) if np.any(matrix[:, at] != 0)]
    return Separation(
        unknowns=unknowns,
        settled=settled,
        entangled=tuple(each for each in seen if each not in settled),
        unseen=tuple(each for each in unknowns if each not in seen),
        sums=tuple(
            KnownSum(
                clue=clue,
                of=tuple(each for each in SEES[clue] if each in unknowns),
                value=losses.estimate({clue: 1.0}),
            )
            for clue in solution.clues
        ),
        would_settle=_would_settle(matrix, solution.clues, unknowns),
        consistent=_consistent(solution),
        weights={each: solution.weights(solution.row(each)) for each in settled},
        priors={each: solution.prior(solution.row(each)) for each in settled},
    )


@dataclass(frozen=True, kw_only=True)
class _Solution:
    """The least-squares solution for some of the unknowns."""

    losses: Losses
    clues: tuple[Clue, ...]
    force_zero: float  # N, standard uncertainty of a zeroing; 0: none is known of
    unknowns: tuple[Unknown, ...]
    matrix: Array  # (m, q): which clues see which unknowns; the zeroing last, if known
    inverse: Array  # (q, m): each unknown as a sum of clues
    luck: tuple[float, float]  # what the fit of the weights does, see ``_luck``

    @property
    def settled(self) -> tuple[Unknown, ...]:
        found = enumerate(self.unknowns)
        return tuple(each for at, each in found if _determined(self.matrix, at))

    def row(self, unknown: Unknown) -> Array:
        return np.asarray(self.inverse[self.unknowns.index(unknown)])

    def weights(self, row: Array) -> dict[Clue, float]:
        return {clue: float(row[at]) for at, clue in enumerate(self.clues)}

    def prior(self, row: Array) -> float:
        """What the zeroing adds to the uncertainty of a sum of clues, N."""
        return float(row[-1]) * self.force_zero if self.force_zero > 0 else 0.0

    def total(self, row: Array, larger: float = 1.0, fewer: float = 0.0) -> Estimate:
        """Σ weight × clue."""
        known = self.losses.estimate(self.weights(row), larger, fewer)
        return _widened(known, self.prior(row))

    def estimate(self, unknown: Unknown) -> Estimate:
        """A settled unknown."""
        return self.total(self.row(unknown), *self.luck)


def _solved(losses: Losses, sensors: Sensors, unknowns: tuple[Unknown, ...]) -> _Solution:
    """Generalised least squares: of all unbiased sums of clues those with the least variance
    (A. C. Aitken, Proc. Roy. Soc. Edinburgh 55 (1936) 42; from memory).
    """
    clues = tuple(clue for clue in SEES if clue in losses)
    rows = [_row(SEES[clue], unknowns) for clue in clues]
    random, shared = losses.at_random(clues), losses.shared(clues)
    values = [losses.estimate({clue: 1.0}).value for clue in clues]
    if sensors.force_zero > 0:
        rows.append(_row([Unknown.FORCE_ZERO], unknowns))
        random, shared = np.pad(random, (0, 1)), np.pad(shared, (0, 1))
        shared[-1, -1] = sensors.force_zero**2
        values.append(0.0)
    matrix, covariance = np.array(rows), _regular(random + shared)
    whiten = np.linalg.inv(np.linalg.cholesky(covariance))
    luck = (1.0, 0.0)
    if losses.by_scatter(clues):
        luck = _luck(matrix, covariance, random, np.array(values), len(losses.derived.trials) - 1)
    return _Solution(
        losses=losses,
        clues=clues,
        force_zero=sensors.force_zero,
        unknowns=unknowns,
        matrix=matrix,
        inverse=np.linalg.pinv(whiten @ matrix, rcond=ZERO) @ whiten,
        luck=luck,
    )


def _luck(
    matrix: Array, covariance: Array, scatter: Array, values: Array, dof: int
) -> tuple[float, float]:
    """By which factor the variance from scatter is larger than it looks along weights that were
    fitted to it, and how many degrees of freedom the fit has cost.

    The sums of clues that see no unknown serve as covariates, with as many coefficients to fit
    (C. R. Rao, Proc. 5th Berkeley Symp. 1 (1967) 355, from memory). Shared effects, which are
    known, need no fit: with them in the covariance the coefficients count by their part in it.
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


def _settled(unknown: Unknown, solution: _Solution, every: _Solution, plain: _Solution) -> Estimate:
    """What is taken as none makes the others better known. Where the scatter of few trials has it
    the other way round, both uncertainties are set to their geometric mean (pooling, as in
    isotonic regression), so that the intervals of both go on covering the truth 95 times of 100.
    """
    own = solution.estimate(unknown)
    if unknown not in every.settled or unknown not in plain.settled:
        return own
    wide, narrow = (each.estimate(unknown).u for each in (every, plain))
    return replace(own, u=(wide * narrow) ** 0.5) if narrow > wide else own


def _regular(covariance: Array) -> Array:
    """The same where it has an inverse; what is known exactly counts as all but exact."""
    size = float(np.trace(covariance)) / len(covariance)
    return covariance + (ALL_BUT_EXACT**2 * size or 1.0) * np.eye(len(covariance))


def _row(seen: Sequence[Unknown], unknowns: Sequence[Unknown]) -> list[float]:
    return [1.0 if unknown in seen else 0.0 for unknown in unknowns]


def _determined(matrix: Array, at: int) -> bool:
    """Whether the rows fix an unknown: no vector that they don't see has a part of it."""
    _, sizes, vectors = np.linalg.svd(matrix)
    rank = int(np.sum(sizes > ZERO))
    return bool(np.all(np.abs(vectors[rank:, at]) < ZERO))


def _widened(estimate: Estimate, more: float) -> Estimate:
    u, dof = combined([(estimate.u, estimate.dof), (abs(more), np.inf)])
    return Estimate(value=estimate.value, u=u, dof=dof)


def _would_settle(
    matrix: Array, clues: Sequence[Clue], unknowns: Sequence[Unknown]
) -> dict[Unknown, tuple[Clue, ...]]:
    """For each unknown that isn't settled, the missing clues each of which would settle it."""
    missing = [clue for clue in SEES if clue not in clues]
    return {
        unknown: tuple(
            clue
            for clue in missing
            if _determined(np.vstack([matrix, _row(SEES[clue], unknowns)]), at)
        )
        for at, unknown in enumerate(unknowns)
        if not _determined(matrix, at)
    }


def _consistent(solution: _Solution) -> bool:
    """Every clue against what all clues together say of it. The 5 % by which the verdict rule may
    err are shared out over as many tests as there are clues more than needed.
    """
    matrix, losses = solution.matrix, solution.losses
    spare = len(matrix) - int(np.linalg.matrix_rank(matrix))
    if not spare:
        return True
    level = 1 - (1 - LEVEL) / spare
    noise = ZERO * max(abs(losses.estimate({clue: 1.0}).value) for clue in solution.clues)
    rests = [solution.total(row) for row in np.eye(len(matrix)) - matrix @ solution.inverse]
    return all(
        abs(rest.value) <= coverage_factor(rest.dof, level) * rest.u + noise for rest in rests
    )
