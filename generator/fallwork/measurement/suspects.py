"""What speaks for and against each neglected influence as the reason of a gap.

Takes influences with their effects, the gaps in acceleration and coasting, and where energy is
missing; gives the amount that each would need and the evidence, piece by piece.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import hypot, inf

from fallwork.measurement.comparison import Comparison
from fallwork.measurement.influences import Influence, InfluenceKind, Place
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.statistics import Verdict

NEAR = 2.0  # an influence may be so many times the amount that is easily overlooked
FAR = 5.0  # beyond so many times it would have been noticed
CREDIBLE = 2.0  # standard uncertainties by which a given may well be off


class Evidence(StrEnum):
    """Where evidence comes from."""

    SIGN = "sign"  # of the gap in acceleration
    SIZE = "size"  # of what would be needed
    PLACE = "place"  # where energy is missing
    COASTING = "coasting"  # what happens after landing
    GIVEN = "given"  # how uncertain the given is that would have to be off


class Speaks(StrEnum):
    """For or against an influence."""

    FOR = "for"
    AGAINST = "against"
    SILENT = "silent"


@dataclass(frozen=True, kw_only=True)
class Suspect:
    """A neglected influence with what speaks for it."""

    influence: Influence
    needed: float | None = (
        None  # the amount that alone would close the gap; None: it can't, or no gap
    )
    evidence: Mapping[Evidence, Speaks]
    times: float = 0.0  # standard uncertainties of its given that would be needed
    zero_known: bool = (
        True  # of the force sensor: if not, the evidence of place holds if it is right
    )

    def those(self, speaks: str) -> list[Evidence]:
        """The evidence that speaks so."""
        return [kind for kind, said in self.evidence.items() if said == speaks]


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
    either, size = influence.least == -inf, inf if ratio is None else abs(ratio)
    u = givens.get(influence.kind, 0.0)
    times = abs(needed) / u if needed and u else 0.0
    says = {
        Evidence.SIGN: _against(not possible) if either or not possible else Speaks.FOR,
        Evidence.SIZE: Speaks.FOR if size <= NEAR else _against(size > FAR),
        Evidence.PLACE: _by_place(influence, gap, missing) if missing else None,
        Evidence.COASTING: coasting and ratio and _by_coasting(influence, ratio, gap, coasting),
        Evidence.GIVEN: _against(times > CREDIBLE) if times else None,
    }
    return Suspect(
        influence=influence,
        needed=needed if possible else None,
        evidence={kind: speaks for kind, speaks in says.items() if isinstance(speaks, Speaks)},
        times=times,
        zero_known=zero_known,
    )


def _against(against: bool) -> Speaks:
    return Speaks.AGAINST if against else Speaks.SILENT


def _by_place(influence: Influence, gap: Comparison, missing: Mapping[Place, Estimate]) -> Speaks:
    """Where energy is missing, with the sign of the gap."""
    real = [place for place, each in missing.items() if each.verdict is Verdict.DIFFER]
    if influence.place not in real:
        return _against(bool(real))
    fits = (missing[influence.place].value > 0) is (gap.difference.value < 0)
    return Speaks.FOR if fits else Speaks.AGAINST


def _by_coasting(
    influence: Influence, ratio: float, gap: Comparison, coasting: Comparison
) -> Speaks | None:
    """What the needed amount would do after landing, against what is seen there."""
    effect = influence.effects.get(Measurand.COASTING_ACCELERATION)
    if effect is None or coasting.limit is None or gap.limit is None:
        return None
    off = coasting.difference.value - ratio * effect
    if abs(off) > hypot(coasting.limit, ratio * effect * gap.limit / gap.difference.value):
        return Speaks.AGAINST
    shown = coasting.limit < abs(gap.difference.value)  # friction would have shown there
    return Speaks.FOR if shown else Speaks.SILENT


def leading(suspects: Sequence[Suspect]) -> tuple[Suspect, ...]:
    """Those with something for them and nothing against; equals in the order of their kinds."""
    clean = [s for s in suspects if s.those(Speaks.FOR) and not s.those(Speaks.AGAINST)]
    return tuple(sorted(clean, key=lambda suspect: -len(suspect.those(Speaks.FOR))))
