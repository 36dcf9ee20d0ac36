"""What the measurements can tell apart and what they can't.

Takes the clues that the trials give. Four unknowns may hide in the runs, each a force along the
path of the watched object, and every clue is a sum of some of them. Gives each unknown that the
clues settle, with its uncertainty (weighted least squares where there are more clues than needed),
and for the others the sums that are known and the clues that would settle them. An unknown can be
taken as none, which makes the others better known if it is true.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from fallwork.measurement.losses import Clue, Losses
from fallwork.measurement.model import Array, Estimate
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.statistics import LEVEL, combined, coverage_factor

ZERO = 1e-9  # numbers below this count as zero; the entries of SEES are 0 and 1


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


def separate(
    losses: Losses, sensors: Sensors, unknowns: tuple[Unknown, ...] = tuple(Unknown)
) -> Separation:
    """The separation; a known ``sensors.force_zero`` says that the zero is 0 ± that."""
    clues = tuple(clue for clue in SEES if clue in losses)
    zeroed = sensors.force_zero > 0
    matrix, inverse = _solved(clues, _sizes(losses, clues), sensors, unknowns)
    settled = {}
    weights, priors = {}, {}
    for at, unknown in enumerate(unknowns):
        if _determined(matrix, at):
            row = {clue: float(inverse[at, i]) for i, clue in enumerate(clues)}
            weights[unknown] = row
            priors[unknown] = float(inverse[at, -1]) * sensors.force_zero if zeroed else 0.0
            settled[unknown] = _widened(losses.estimate(row), priors[unknown])
    seen = np.any(matrix != 0, axis=0)
    return Separation(
        unknowns=unknowns,
        settled=settled,
        entangled=tuple(
            unknown for at, unknown in enumerate(unknowns) if seen[at] and unknown not in settled
        ),
        unseen=tuple(unknown for at, unknown in enumerate(unknowns) if not seen[at]),
        sums=tuple(
            KnownSum(
                clue=clue,
                of=tuple(each for each in SEES[clue] if each in unknowns),
                value=losses.estimate({clue: 1.0}),
            )
            for clue in clues
        ),
        would_settle=_would_settle(matrix, clues, unknowns),
        consistent=_consistent(losses, clues, matrix, inverse, sensors),
        weights=weights,
        priors=priors,
    )


def _row(seen: Sequence[Unknown], unknowns: Sequence[Unknown]) -> list[float]:
    return [1.0 if unknown in seen else 0.0 for unknown in unknowns]


def _sizes(losses: Losses, clues: Sequence[Clue]) -> list[float]:
    """How well each clue is known, for weighing. Not by the scatter of few trials: weights that go
    by luck would make the result seem better than it is.
    """
    own = [losses.own_u(clue) for clue in clues]
    if all(own):
        return own
    u = [losses.estimate({clue: 1.0}).u for clue in clues]
    return [max(u) or 1.0] * len(clues)


def _solved(
    clues: Sequence[Clue], sizes: Sequence[float], sensors: Sensors, unknowns: Sequence[Unknown]
) -> tuple[Array, Array]:
    """The matrix of the clues (the zeroing last, if known) and its weighted inverse."""
    rows = [_row(SEES[clue], unknowns) for clue in clues]
    u = list(sizes)
    if sensors.force_zero > 0:
        rows.append(_row([Unknown.FORCE_ZERO], unknowns))
        u.append(sensors.force_zero)
    matrix, weight = np.array(rows), 1 / np.array(u)
    return matrix, np.linalg.pinv(matrix * weight[:, None], rcond=1e-9) * weight


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


def _consistent(
    losses: Losses, clues: Sequence[Clue], matrix: Array, inverse: Array, sensors: Sensors
) -> bool:
    """Every clue against what all clues together say of it. The 5 % by which the verdict rule may
    err are shared out over as many tests as there are clues more than needed.
    """
    spare = len(matrix) - int(np.linalg.matrix_rank(matrix))
    if not spare:
        return True
    level = 1 - (1 - LEVEL) / spare
    noise = ZERO * max(abs(losses.estimate({clue: 1.0}).value) for clue in clues)
    for row in np.eye(len(matrix)) - matrix @ inverse:
        prior = abs(float(row[-1])) * sensors.force_zero if len(matrix) > len(clues) else 0.0
        rest = losses.estimate({clue: float(row[i]) for i, clue in enumerate(clues)})
        rest = _widened(rest, prior)
        if abs(rest.value) > coverage_factor(rest.dof, level) * rest.u + noise:
            return False
    return True
