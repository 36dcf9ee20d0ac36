"""What speaks for and against each neglected influence as the reason of a gap.

Takes influences with their effects, the gaps in acceleration and coasting, and where energy is
missing; gives the amount that each would need and the evidence, piece by piece.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from math import hypot, inf

from fallwork.measurement.comparison import Comparison
from fallwork.measurement.influences import Influence, InfluenceKind, Place
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.statistics import Verdict

NEAR = 2.0  # an influence may be so many times the amount that is easily overlooked
FAR = 5.0  # beyond so many times it would have been noticed
CREDIBLE = 2.0  # standard uncertainties by which a given may well be off


class EvidenceKind(Enum):
    """Where evidence comes from."""

    SIGN = "sign"  # of the gap in acceleration
    SIZE = "size"  # of what would be needed
    PLACE = "place"  # where energy is missing
    COASTING = "coasting"  # what happens after landing
    GIVEN = "given"  # how uncertain the given is that would have to be off


class Speaks(Enum):
    """For or against an influence."""

    FOR = "for"
    AGAINST = "against"
    SILENT = "silent"


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """One piece of evidence about one influence."""

    kind: EvidenceKind
    speaks: Speaks
    if_zero_is_right: bool = False  # holds only if the force sensor's zero is
    times: float = 0.0  # standard uncertainties of its given that would be needed


@dataclass(frozen=True, kw_only=True)
class Suspect:
    """A neglected influence with what speaks for it."""

    influence: Influence
    needed: float | None  # the amount that alone would close the gap; None: it can't, or no gap
    evidence: tuple[Evidence, ...]

    def count(self, speaks: Speaks) -> int:
        """How many pieces of evidence speak so."""
        return sum(each.speaks is speaks for each in self.evidence)


def weighed(
    influence: Influence,
    gap: Comparison,
    coasting: Comparison | None,
    missing: Mapping[Place, Estimate],
    givens: Mapping[InfluenceKind, float],
    *,
    zero_known: bool,
) -> Suspect:
    """An influence with what it would need and what speaks for and against it, by the gaps in
    acceleration and coasting, what is ``missing`` beside the model's friction (N; empty if unknown)
    and u of what the lab gives, in the unit of the amount; ``zero_known``: of the force sensor.
    """
    effect = influence.effects.get(Measurand.ACCELERATION, 0.0)
    ratio = gap.difference.value / effect if effect else None
    needed = None if ratio is None else ratio * influence.amount
    possible = needed is not None and needed >= influence.least
    u = givens.get(influence.kind, 0.0)
    times = abs(needed) / u if needed and u else 0.0
    says = {
        EvidenceKind.SIGN: _by_sign(influence, possible=possible),
        EvidenceKind.SIZE: _by_size(inf if ratio is None else abs(ratio)),
        EvidenceKind.PLACE: _by_place(influence, gap, missing),
        EvidenceKind.COASTING: _by_coasting(influence, ratio, gap, coasting),
        EvidenceKind.GIVEN: _against(times > CREDIBLE) if times else None,
    }
    evidence = tuple(
        Evidence(
            kind=kind,
            speaks=speaks,
            if_zero_is_right=kind is EvidenceKind.PLACE and not zero_known,
            times=times if kind is EvidenceKind.GIVEN else 0.0,
        )
        for kind, speaks in says.items()
        if speaks is not None
    )
    return Suspect(influence=influence, needed=needed if possible else None, evidence=evidence)


def _against(against: bool) -> Speaks:
    return Speaks.AGAINST if against else Speaks.SILENT


def _by_sign(influence: Influence, *, possible: bool) -> Speaks:
    """Against what would have to be less than there can be; silent for either sign."""
    if not possible:
        return Speaks.AGAINST
    return Speaks.SILENT if influence.least == -inf else Speaks.FOR


def _by_size(times: float) -> Speaks:
    """The amount needed, in times of one that is easily overlooked."""
    return Speaks.FOR if times <= NEAR else _against(times > FAR)


def _by_place(
    influence: Influence, gap: Comparison, missing: Mapping[Place, Estimate]
) -> Speaks | None:
    """Where energy is missing, with the sign of the gap."""
    if not missing:
        return None
    real = [place for place, each in missing.items() if each.verdict is Verdict.DIFFER]
    if influence.place not in real:
        return _against(bool(real))
    fits = (missing[influence.place].value > 0) is (gap.difference.value < 0)
    return Speaks.FOR if fits else Speaks.AGAINST


def _by_coasting(
    influence: Influence, ratio: float | None, gap: Comparison, coasting: Comparison | None
) -> Speaks | None:
    """What the needed amount would do after landing, against what is seen there."""
    effect, limit = influence.effects.get(Measurand.COASTING_ACCELERATION), gap.limit
    own = None if coasting is None else coasting.limit
    if coasting is None or effect is None or ratio is None or own is None or limit is None:
        return None
    off = coasting.difference.value - ratio * effect
    if abs(off) > hypot(own, ratio * effect * limit / gap.difference.value):
        return Speaks.AGAINST
    shown = own < abs(gap.difference.value)  # friction would have shown there
    return Speaks.FOR if shown else Speaks.SILENT


def leading(suspects: Sequence[Suspect]) -> tuple[Suspect, ...]:
    """Those with something for them and nothing against; equals in the order of their kinds."""
    clean = [each for each in suspects if each.count(Speaks.FOR) and not each.count(Speaks.AGAINST)]
    return tuple(sorted(clean, key=lambda each: -each.count(Speaks.FOR)))
