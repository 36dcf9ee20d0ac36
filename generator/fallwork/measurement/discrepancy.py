"""The account of the discrepancy: what the gap between measurement and model says.

Takes the trials, the prediction and the scenario; gives what is missing where, estimates of the
resistances with what can't be told apart, impossible values with what to check, and each neglected
influence with its size and the evidence for and against it, piece by piece. Keys and numbers only:
the sentences are left to others.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import partial

from fallwork.errors import table
from fallwork.measurement.comparison import Comparison, compare
from fallwork.measurement.derived import Derived
from fallwork.measurement.energies import ELSEWHERE, PULLED, Clue, Losses, losses_of
from fallwork.measurement.influences import Speaks, Suspect, influences_of, u_given, weighed
from fallwork.measurement.model import Analysis, Estimate, Estimates, Measurand, Outcome
from fallwork.measurement.prediction import Case, view_of
from fallwork.measurement.separation import Separation, Unknown, clues_in, separate
from fallwork.measurement.statistics import Verdict

Gap = Comparison | None  # None where it wasn't measured


class Impossible(Enum):
    """Values that no resistance can give."""

    TENSION_TOO_SMALL = "tension too small"  # below what the pulled object's energy needs
    TENSION_TOO_LARGE = "tension too large"  # above what the other end can give
    ENERGY_GAINED = "energy gained"
    NEGATIVE_FRICTION = "negative friction"  # the object resists less than nothing
    SPEEDS_UP_COASTING = "speeds up while coasting"

    @property
    def checks(self) -> tuple[str, ...]:
        """What to look at, the likeliest first."""
        return tuple(table("measurement", "sentences")["checks"][self.value])


@dataclass(frozen=True, kw_only=True)
class Balance:
    """Energy that went, J, positive where it is missing: at the ``pulled`` object, where the pull
    is measured; in ``everything`` together; and ``elsewhere``, the pulley's share and the string's.
    """

    bare: Mapping[str, Outcome]  # by place
    beside: Mapping[str, Outcome]  # the same beside the friction in the scenario
    counted: tuple[str, ...]  # what the uncertainties come from, as ``Derived.counted`` names it
    trials: tuple[str, ...]  # the trials that these are means of


@dataclass(frozen=True, kw_only=True)
class Discrepancy:
    """The whole account."""

    gap: Gap  # in acceleration
    coasting: Gap  # of the acceleration after landing
    gap_of: Measurand  # the measured acceleration; from the speeds where only that can be judged
    balance: Balance | None  # None where the run doesn't allow it
    alone: Mapping[str, Outcome]
    # ^ by cause, what it would have to be to account by itself for all that is missing in its
    # place, with the zero of the force sensor as right but for itself: "friction", the effective
    # coefficient at the pulled object, the model's included; "hidden_mass", kg, inertia there, and
    # "pulley_mass", kg, I/r² at the rim, or "pulley_force", N, bearing torque/r, beside the
    # model's; "force_zero", N, if nothing is missing elsewhere
    separation: Separation | None  # of all unknowns
    plain: Separation | None  # without hidden inertia; None if the trials contradict that
    estimates: Mapping[str, Outcome]
    # ^ "friction", the coefficient as all measurements together tell it apart, with the slope as
    # given; and "friction_at_most", if nothing else resists: from the whole alone
    impossible: Mapping[Impossible, Outcome]  # J, N or m/s², negative; the significant ones first
    slope_and_speed: Outcome | None
    # ^ m/s², fitted slope less the acceleration that final speed and distance tell: what differs
    # wasn't constant, or a value is off
    suspects: tuple[Suspect, ...]  # every influence, in the order of its kind
    leading: tuple[Suspect, ...]  # with something for and nothing against, the best first


def account_of_discrepancy(analysis: Analysis, predicted: Estimates, case: Case) -> Discrepancy:
    """The account; ``predicted`` holds the predicted measurands (``Prediction.estimates``)."""
    losses, separation, plain = losses_of(analysis, case), None, None
    if losses is not None and clues_in(losses.derived):
        separation, plain = separate(losses.derived)
        plain = plain if plain.consistent else None
    ways = (Measurand.ACCELERATION, Measurand.ACCELERATION_FROM_SPEED)
    judged = [way for way in ways if (s := analysis.summary.get(way)) and s.u is not None]
    gap_of = next(iter(judged), Measurand.ACCELERATION)
    summary, asked = analysis.summary, (gap_of, Measurand.COASTING_ACCELERATION)
    pairs = ((summary.get(way), predicted.get(way.predicted)) for way in asked)
    gap, coasting = (compare(one, other) if one and other else None for one, other in pairs)
    suspects = _suspects(case, gap, coasting, losses, separation)
    clean = [s for s in suspects if s.those(Speaks.FOR) and not s.those(Speaks.AGAINST)]
    estimates = {}
    if losses and separation:
        found, normal = (plain or separation).settled, losses.normal_force
        rubs, whole = found.get(Unknown.FRICTION), losses.derived.sum(Clue.ALL_FORCE)
        estimates = _quotients(friction=(rubs, normal), friction_at_most=(whole, normal))
    return Discrepancy(
        gap=gap,
        coasting=coasting,
        gap_of=gap_of,
        balance=None if losses is None else _balance(losses.derived),
        alone={} if losses is None else _alone(losses),
        separation=separation,
        plain=plain,
        estimates=estimates,
        impossible={} if losses is None else _impossible(losses.derived, separation),
        slope_and_speed=losses.derived.sum(Clue.SLOPE_DIFFERENCE) if losses else None,
        suspects=suspects,
        leading=tuple(sorted(clean, key=lambda suspect: -len(suspect.those(Speaks.FOR)))),
    )


def _balance(derived: Derived) -> Balance:
    def places(pulled: Clue, whole: Clue) -> dict[str, Outcome]:
        rows = {PULLED: (pulled,), "everything": (whole,), ELSEWHERE: (whole, pulled)}
        return {place: each for place, clues in rows.items() if (each := derived.sum(*clues))}

    bare, beside = (Clue.PULLED, Clue.ALL), (Clue.PULLED_BESIDE, Clue.ALL_BESIDE)
    names = [clue for clue in (*bare, *beside) if clue in derived.names]
    counted, trials = derived.counted(names), tuple(derived.trials)
    return Balance(bare=places(*bare), beside=places(*beside), counted=counted, trials=trials)


def _alone(losses: Losses) -> dict[str, Outcome]:
    """Divided by distance, normal force and acceleration, which are known far better."""
    derived, distance = losses.derived, losses.distance
    accelerated = distance * derived.outcome(derived.row(Clue.ACCELERATION)).value
    rest = derived.sum(Clue.ALL_BESIDE, Clue.PULLED_BESIDE)
    return _quotients(
        friction=(derived.sum(Clue.PULLED), distance * (losses.normal_force or 0.0)),
        hidden_mass=(derived.sum(Clue.PULLED_BESIDE), accelerated),
        pulley_mass=(rest, accelerated),
        pulley_force=(rest, distance),
        force_zero=(rest, -distance),
    )


def _quotients(**causes: tuple[Outcome | None, float | None]) -> dict[str, Outcome]:
    """Of those that are known, by divisors that are known far better than the dividends."""
    return {
        cause: each.times(1 / divisor)
        for cause, (each, divisor) in causes.items()
        if each is not None and divisor
    }


def _impossible(derived: Derived, separation: Separation | None) -> dict[Impossible, Outcome]:
    settled = {} if separation is None else separation.settled
    signed = {  # what can't be negative
        Impossible.TENSION_TOO_SMALL: derived.sum(Clue.PULLED_FORCE),
        Impossible.TENSION_TOO_LARGE: derived.sum(Clue.ALL_FORCE, Clue.PULLED_FORCE),
        Impossible.ENERGY_GAINED: derived.sum(Clue.ALL),
        Impossible.SPEEDS_UP_COASTING: derived.sum(Clue.COASTING_FORCE),
        Impossible.NEGATIVE_FRICTION: settled.get(Unknown.FRICTION),
    }
    found = [(kind, each) for kind, each in signed.items() if each and each.value < 0]
    return dict(sorted(found, key=lambda each: each[1].verdict is not Verdict.DIFFER))


def _suspects(
    case: Case, gap: Gap, coasting: Gap, losses: Losses | None, separation: Separation | None
) -> tuple[Suspect, ...]:
    """Every influence; weighed only if there is a gap that asks for a reason."""
    found = influences_of(case.apparatus(), view_of(case.scenario))
    if gap is None or gap.verdict is not Verdict.DIFFER:
        return tuple(Suspect(each, {}) for each in found)
    missing, known = dict[str, Estimate](), False
    beside = losses and losses.derived.sum(Clue.PULLED_BESIDE)
    if separation is not None:
        known = Unknown.FORCE_ZERO in separation.settled
    if losses and separation and beside and beside.u is not None:
        row, each = losses.derived.row, 1 / losses.distance
        zero = separation.row(Unknown.FORCE_ZERO) * known
        here, there = each * row(Clue.PULLED_BESIDE), each * row(Clue.ALL_BESIDE)
        missing[PULLED] = separation.total(here - zero)
        missing[ELSEWHERE] = separation.total(there - here + zero)
    givens = u_given(case.scenario, case.gravity.u)
    weigh = partial(weighed, gap=gap, coasting=coasting, missing=missing, zero_known=known)
    return tuple(weigh(each, u=givens.get(each.kind, 0.0)) for each in found)
