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
from fallwork.measurement.losses import Clue
from fallwork.measurement.model import Array, Estimate
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.statistics import LEVEL, combined, limit_of

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
    """What is settled and what isn't: the least-squares solution for some of the unknowns."""

    derived: Derived
    clues: tuple[Clue, ...]
    force_zero: float  # N, standard uncertainty of a zeroing; 0: none is known of
    unknowns: tuple[Unknown, ...]  # the others were taken as none
    matrix: Array  # (m, q): which clues see which unknowns; the zeroing last, if known
    inverse: Array  # (q, m): each unknown as a sum of clues
    luck: tuple[float, float]  # what the fit of the weights does, see ``_luck``
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
    def sums(self) -> tuple[KnownSum, ...]:
        """Every clue, as it stands."""
        return tuple(
            KnownSum(
                clue=clue,
                of=tuple(each for each in SEES[clue] if each in self.unknowns),
                value=self.derived.estimate({clue: 1.0}),
            )
            for clue in self.clues
        )

    @property
    def would_settle(self) -> dict[Unknown, tuple[Clue, ...]]:
        """For each unknown that isn't settled, the missing clues each of which would settle it."""
        missing = [clue for clue in SEES if clue not in self.clues]
        rows = {clue: _row(SEES[clue], self.unknowns) for clue in missing}
        with_it = {clue: _fixed(np.vstack([self.matrix, row])) for clue, row in rows.items()}
        return {
            unknown: tuple(clue for clue in missing if with_it[clue][at])
            for at, unknown in enumerate(self.unknowns)
            if unknown not in self.settled
        }

    @property
    def consistent(self) -> bool:
        """Whether clues that see the same agree: every clue against what all say of it. The 5 % by
        which the verdict rule may err are shared out over as many tests as there are clues more
        than needed.
        """
        matrix = self.matrix
        spare = len(matrix) - int(np.linalg.matrix_rank(matrix))
        if not spare:
            return True
        level = 1 - (1 - LEVEL) / spare
        noise = ZERO * max(abs(each.value.value) for each in self.sums)
        rests = [self.total(row) for row in np.eye(len(matrix)) - matrix @ self.inverse]
        return all(abs(each.value) <= limit_of(each, level) + noise for each in rests)

    def row(self, unknown: Unknown) -> Array:
        """(m,): an unknown as a sum of clues."""
        return np.asarray(self.inverse[self.unknowns.index(unknown)])

    def weights(self, row: Array) -> dict[Clue, float]:
        """The clues in such a sum."""
        return dict(zip(self.clues, map(float, row), strict=False))

    def total(
        self,
        row: Array,
        larger: float = 1.0,
        fewer: float = 0.0,
        also: Mapping[Clue, float] | None = None,
    ) -> Estimate:
        """Σ weight × clue, N, with the zeroing's part in its uncertainty; ``also``: more clues."""
        weights = self.weights(row)
        for clue, more in (also or {}).items():
            weights[clue] = weights.get(clue, 0.0) + more
        known = self.derived.estimate(weights, larger, fewer)
        prior = abs(float(row[-1])) * self.force_zero if self.force_zero > 0 else 0.0
        u, dof = combined([(known.u, known.dof), (prior, np.inf)])
        return Estimate(value=known.value, u=u, dof=dof)

    def with_unknown(
        self, weights: Mapping[Clue, float], unknown: Unknown, factor: float
    ) -> Estimate:
        """Σ weight × clue + factor × unknown; without the unknown if it isn't settled."""
        row = factor * self.row(unknown) if unknown in self.settled else np.zeros(len(self.matrix))
        return self.total(row, also=weights)


WITHOUT_INERTIA = tuple(each for each in Unknown if each is not Unknown.INERTIA)


def clues_in(derived: Derived) -> tuple[Clue, ...]:
    """The clues that can be weighed: those whose uncertainty is known."""
    return tuple(clue for clue in SEES if (found := derived.sum(clue)) and found.u is not None)


def separate(derived: Derived, sensors: Sensors, *, hidden_inertia: bool = True) -> Separation:
    """The separation by some clues, with hidden inertia left open or taken as none; a known
    ``sensors.force_zero`` says that the zero is 0 ± that.

    What is taken as none makes the others better known. Where the scatter of few trials has it
    the other way round, both uncertainties are set to their geometric mean (pooling, as in
    isotonic regression), so that the intervals of both go on covering the truth 95 times of 100.
    """
    fits = [_fitted(derived, sensors, some) for some in (tuple(Unknown), WITHOUT_INERTIA)]
    wide, narrow = ({u: f.total(f.row(u), *f.luck) for u in _known(f)} for f in fits)
    fit, settled = (fits[0], wide) if hidden_inertia else (fits[1], narrow)
    pooled = {
        unknown: replace(each, u=(wide[unknown].u * narrow[unknown].u) ** 0.5)
        for unknown, each in settled.items()
        if unknown in wide and unknown in narrow and narrow[unknown].u > wide[unknown].u
    }
    return replace(fit, settled=settled | pooled)


def _known(fit: Separation) -> list[Unknown]:
    return [u for u, known in zip(fit.unknowns, _fixed(fit.matrix), strict=True) if known]


def covariance_of(
    derived: Derived, clues: Sequence[Clue], covariance: Array | None = None
) -> Array:
    """The covariance of the clues, N²: what all trials share, or their part of another one."""
    places = derived.places(clues)
    whole = derived.terms.covariance if covariance is None else covariance
    return np.asarray(whole[np.ix_(places, places)])


def _by_scatter(derived: Derived, clues: Sequence[Clue]) -> bool:
    """Whether the scatter has more degrees of freedom than there are clues."""
    return derived.scatter is not None and len(derived.trials) - 1 > len(clues)


def at_random(derived: Derived, clues: Sequence[Clue]) -> Array:
    """The same of what differs from trial to trial: their scatter where there are trials enough to
    tell it. Of fewer trials what they say of their own uncertainties, or the same for every clue
    where some say nothing.
    """
    if derived.scatter is None:
        return np.zeros((len(clues), len(clues)))
    scatter = covariance_of(derived, clues, derived.scatter)
    if _by_scatter(derived, clues):
        return scatter
    if derived.claimed is not None:
        return covariance_of(derived, clues, derived.claimed)
    return np.asarray(np.mean(np.diag(scatter)) * np.eye(len(clues)))


def _fitted(derived: Derived, sensors: Sensors, unknowns: tuple[Unknown, ...]) -> Separation:
    """Generalised least squares: of all unbiased sums of clues those with the least variance
    (A. C. Aitken, Proc. Roy. Soc. Edinburgh 55 (1936) 42; from memory).
    """
    clues = clues_in(derived)
    matrix = np.array([_row(SEES[clue], unknowns) for clue in clues])
    random, shared = at_random(derived, clues), covariance_of(derived, clues)
    values = np.array([derived.estimate({clue: 1.0}).value for clue in clues])
    if sensors.force_zero > 0:
        matrix = np.vstack([matrix, _row([Unknown.FORCE_ZERO], unknowns)])
        random, shared = np.pad(random, (0, 1)), np.pad(shared, (0, 1))
        shared[-1, -1] = sensors.force_zero**2
        values = np.append(values, 0.0)
    size = float(np.trace(random + shared)) / len(matrix)
    exact = ALL_BUT_EXACT**2 * size or 1.0
    covariance = random + shared + exact * np.eye(len(matrix))
    whiten = np.linalg.inv(np.linalg.cholesky(covariance))
    luck = (1.0, 0.0)
    if _by_scatter(derived, clues):
        luck = _luck(matrix, covariance, random, values, len(derived.trials) - 1)
    return Separation(
        derived=derived,
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


def _row(seen: Sequence[Unknown], unknowns: Sequence[Unknown]) -> list[float]:
    return [1.0 if unknown in seen else 0.0 for unknown in unknowns]


def _fixed(matrix: Array) -> list[bool]:
    """Which unknowns the rows fix: no vector that they don't see has a part of them."""
    _, sizes, vectors = np.linalg.svd(matrix)
    unseen = vectors[int(np.sum(sizes > ZERO)) :]
    return [bool(each) for each in np.all(np.abs(unseen) < ZERO, axis=0)]
