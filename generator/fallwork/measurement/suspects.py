"""What speaks for and against each neglected influence as the reason of a gap.

Takes influences with their effects, the gaps in acceleration and coasting, and where energy is
missing; gives the amount that each would need and the evidence, piece by piece.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from math import hypot, inf

from fallwork.measurement.comparison import Comparison, Verdict, verdict_on
from fallwork.measurement.influences import Influence, InfluenceKind, Place
from fallwork.measurement.model import Estimate, Measurand

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


@dataclass(frozen=True, kw_only=True)
class Scene:
    """What an influence is weighed against."""

    gap: Comparison
    coasting: Comparison | None
    missing: Mapping[Place, Estimate]  # N, beside the model's friction; empty if unknown
    zero_known: bool  # of the force sensor
    givens: Mapping[InfluenceKind, float]  # u of what the lab gives, in the unit of the amount


def weighed(influence: Influence, scene: Scene) -> Suspect:
    """An influence with what it would need and what speaks for and against it."""
    effect = influence.effects.get(Measurand.ACCELERATION, 0.0)
    ratio = scene.gap.difference.value / effect if effect else None
    needed = None if ratio is None else ratio * influence.amount
    pieces = [weigh(influence, ratio, scene) for weigh in WEIGHING]
    possible = needed is not None and needed >= influence.least
    return Suspect(
        influence=influence,
        needed=needed if possible else None,
        evidence=tuple(each for each in pieces if each is not None),
    )


def _by_sign(influence: Influence, ratio: float | None, scene: Scene) -> Evidence | None:
    """Against what would have to be less than there can be; silent for either sign."""
    if ratio is None or ratio * influence.amount < influence.least:
        return Evidence(kind=EvidenceKind.SIGN, speaks=Speaks.AGAINST)
    either = influence.least == -inf
    return Evidence(kind=EvidenceKind.SIGN, speaks=Speaks.SILENT if either else Speaks.FOR)


def _by_size(influence: Influence, ratio: float | None, scene: Scene) -> Evidence | None:
    """The amount needed against one that is easily overlooked."""
    times = inf if ratio is None else abs(ratio)
    speaks = Speaks.FOR if times <= NEAR else Speaks.AGAINST if times > FAR else Speaks.SILENT
    return Evidence(kind=EvidenceKind.SIZE, speaks=speaks)


def _by_place(influence: Influence, ratio: float | None, scene: Scene) -> Evidence | None:
    """Where energy is missing, with the sign of the gap."""
    if not scene.missing:
        return None
    real = {place for place, each in scene.missing.items() if verdict_on(each) is Verdict.DIFFER}
    speaks = Speaks.AGAINST if real else Speaks.SILENT
    if influence.place in real:
        slower = scene.gap.difference.value < 0
        fits = (scene.missing[influence.place].value > 0) is slower
        speaks = Speaks.FOR if fits else Speaks.AGAINST
    return Evidence(kind=EvidenceKind.PLACE, speaks=speaks, if_zero_is_right=not scene.zero_known)


def _by_coasting(influence: Influence, ratio: float | None, scene: Scene) -> Evidence | None:
    """What the needed amount would do after landing, against what is seen there."""
    effect, gap = influence.effects.get(Measurand.COASTING_ACCELERATION), scene.gap
    if scene.coasting is None or effect is None or ratio is None:
        return None
    own, limit = scene.coasting.limit, gap.limit
    if own is None or limit is None:
        return None
    off = scene.coasting.difference.value - ratio * effect
    speaks = Speaks.SILENT
    if abs(off) > hypot(own, ratio * effect * limit / gap.difference.value):
        speaks = Speaks.AGAINST
    elif own < abs(gap.difference.value):  # friction would have shown there
        speaks = Speaks.FOR
    return Evidence(kind=EvidenceKind.COASTING, speaks=speaks)


def _by_given(influence: Influence, ratio: float | None, scene: Scene) -> Evidence | None:
    """What would be needed against the uncertainty of what the lab gives of it."""
    u = scene.givens.get(influence.kind, 0.0)
    if ratio is None or not u:
        return None
    times = abs(ratio) * influence.amount / u
    speaks = Speaks.AGAINST if times > CREDIBLE else Speaks.SILENT
    return Evidence(kind=EvidenceKind.GIVEN, speaks=speaks, times=times)


WEIGHING: tuple[Callable[[Influence, float | None, Scene], Evidence | None], ...] = (
    *(_by_sign, _by_size, _by_place, _by_coasting, _by_given),
)


def leading(suspects: Sequence[Suspect]) -> tuple[Suspect, ...]:
    """Those with something for them and nothing against; equals in the order of their kinds."""
    clean = [each for each in suspects if each.count(Speaks.FOR) and not each.count(Speaks.AGAINST)]
    return tuple(sorted(clean, key=lambda each: -each.count(Speaks.FOR)))
