"""The account of the discrepancy: what the gap between measurement and model says.

Takes the trials, the prediction and the scenario; gives what is missing where, estimates of the
resistances with what can't be told apart, impossible values with what to check, and each neglected
influence with its size and the evidence for and against it. Keys and numbers only: the sentences
are left to others.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from fallwork.measurement.comparison import Comparison, Verdict, compare, verdict_on
from fallwork.measurement.derived import Case
from fallwork.measurement.influences import Place, influences_of, uncertain_givens
from fallwork.measurement.losses import Clue, Losses, losses_of
from fallwork.measurement.model import Analysis, Estimate, Measurand, Outcome
from fallwork.measurement.separation import SEES, Separation, Unknown, separate
from fallwork.measurement.suspects import Scene, Suspect, leading, weighed
from fallwork.measurement.view import view_of


class Impossible(Enum):
    """Values that no resistance can give."""

    TENSION_TOO_SMALL = "tension too small"  # below what the pulled object's energy needs
    TENSION_TOO_LARGE = "tension too large"  # above what the other end can give
    ENERGY_GAINED = "energy gained"
    NEGATIVE_FRICTION = "negative friction"  # the object resists less than nothing
    SPEEDS_UP_COASTING = "speeds up while coasting"


class Check(Enum):
    """What to look at."""

    FORCE_ZERO = "zero of the force sensor"
    FORCE_SIGN = "sign and unit of the force"
    FORCE_SCALE = "calibration of the force sensor"
    WEIGHT_MASS = "mass of what hangs, hook included"
    CART_MASS = "mass of the cart, with everything that rides on it"
    TILT = "level of the track"
    WINDOW = "start and end of the run"
    POSITION_SCALE = "scale of the position sensor"
    PUSH = "push at the release"
    DISTANCE = "distance"


CHECKS: Mapping[Impossible, tuple[Check, ...]] = {
    Impossible.TENSION_TOO_SMALL: (
        *(Check.FORCE_ZERO, Check.CART_MASS, Check.TILT),
        *(Check.FORCE_SCALE, Check.WINDOW, Check.POSITION_SCALE),
    ),
    Impossible.TENSION_TOO_LARGE: (
        *(Check.FORCE_ZERO, Check.WINDOW, Check.WEIGHT_MASS),
        *(Check.FORCE_SCALE, Check.DISTANCE),
    ),
    Impossible.ENERGY_GAINED: (
        *(Check.PUSH, Check.TILT, Check.CART_MASS),
        *(Check.WEIGHT_MASS, Check.POSITION_SCALE, Check.DISTANCE),
    ),
    Impossible.NEGATIVE_FRICTION: (Check.TILT, Check.FORCE_ZERO, Check.CART_MASS, Check.WINDOW),
    Impossible.SPEEDS_UP_COASTING: (Check.TILT, Check.WINDOW),
}


@dataclass(frozen=True, kw_only=True)
class ImpossibleValue:
    """An impossible value that the trials show."""

    kind: Impossible
    value: Outcome  # J, N or m/s²: negative where it is impossible
    verdict: Verdict  # DIFFER: below zero by more than k × u; else the uncertainty may do it
    checks: tuple[Check, ...]  # the likeliest first


@dataclass(frozen=True, kw_only=True)
class Balance:
    """Energy that went, J, positive where it is missing."""

    pulled: Outcome | None  # at the pulled object: work of the pull less gain of energy
    everything: Outcome  # in everything together
    elsewhere: Outcome | None  # the difference: the pulley's share, and the string's
    pulled_beside: Outcome | None  # the same beside the friction in the scenario
    everything_beside: Outcome
    elsewhere_beside: Outcome | None
    counted: tuple[str, ...]  # what the uncertainties come from, as ``Derived.counted`` names it
    trials: tuple[str, ...]  # the trials that these are means of


@dataclass(frozen=True, kw_only=True)
class Consistency:
    """Ways to the same acceleration; if they differ, it wasn't constant or a value is off."""

    slope_and_speed: Outcome | None  # m/s², fitted slope less that of final speed and distance
    time_and_speed: Outcome | None  # m/s², likewise of time and distance


@dataclass(frozen=True, kw_only=True)
class Discrepancy:
    """The whole account."""

    gap: Comparison | None  # in acceleration; None if it wasn't measured
    coasting: Comparison | None  # of the acceleration after landing; None where it isn't known
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
    # ^ the same causes, as all measurements together tell them apart, with the slope as given; and
    # "friction_at_most", if nothing else resists: from the whole alone
    impossible: tuple[ImpossibleValue, ...]
    consistency: Consistency
    suspects: tuple[Suspect, ...]  # every influence, in the order of its kind
    leading: tuple[Suspect, ...]  # with something for and nothing against, the best first


def account_of_discrepancy(
    analysis: Analysis, predicted: Mapping[str, Estimate], case: Case
) -> Discrepancy:
    """The account; ``predicted`` holds the predicted measurands (``Prediction.estimates``)."""
    losses = losses_of(analysis, case)
    known = _known(losses)
    separation = None if known is None else separate(known, case.sensors)
    plain = None if known is None else separate(known, case.sensors, hidden_inertia=False)
    if plain is not None and not plain.consistent:
        plain = None
    gap_of = _acceleration(analysis)
    gap = _gap(analysis, predicted, gap_of)
    coasting = _gap(analysis, predicted, Measurand.COASTING_ACCELERATION)
    suspects = _suspects(case, gap, coasting, known, separation)
    return Discrepancy(
        gap=gap,
        coasting=coasting,
        gap_of=gap_of,
        balance=None if losses is None else _balance(losses),
        alone={} if losses is None else _alone(losses),
        separation=separation,
        plain=plain,
        estimates=_estimates(losses, separation, plain),
        impossible=_impossible(losses, separation),
        consistency=_consistency(losses),
        suspects=suspects,
        leading=leading(suspects),
    )


def _known(losses: Losses | None) -> Losses | None:
    """What can be weighed: clues of known uncertainty, if there is one that tells of an unknown."""
    known = None if losses is None else losses.known
    return known if known is not None and any(clue in known for clue in SEES) else None


def _acceleration(analysis: Analysis) -> Measurand:
    """Which of the measured accelerations is set against the model."""
    ways = (Measurand.ACCELERATION, Measurand.ACCELERATION_FROM_SPEED)
    known = [way for way in ways if (each := analysis.summary.get(way)) and each.u is not None]
    return next(iter(known), Measurand.ACCELERATION)


def _gap(
    analysis: Analysis, predicted: Mapping[str, Estimate], quantity: Measurand
) -> Comparison | None:
    if quantity not in analysis.summary or quantity.predicted not in predicted:
        return None
    return compare(analysis.summary[quantity].outcome, predicted[quantity.predicted])


# ---- what is missing

MISSING = (Clue.PULLED, Clue.ALL, Clue.PULLED_BESIDE, Clue.ALL_BESIDE)


def _balance(losses: Losses) -> Balance:
    def known(plus: Clue, minus: Clue | None = None) -> Outcome | None:
        weights = {plus: 1.0} if minus is None else {plus: 1.0, minus: -1.0}
        return losses.outcome(weights) if all(each in losses for each in weights) else None

    return Balance(
        pulled=known(Clue.PULLED),
        everything=losses.outcome({Clue.ALL: 1.0}),
        elsewhere=known(Clue.ALL, Clue.PULLED),
        pulled_beside=known(Clue.PULLED_BESIDE),
        everything_beside=losses.outcome({Clue.ALL_BESIDE: 1.0}),
        elsewhere_beside=known(Clue.ALL_BESIDE, Clue.PULLED_BESIDE),
        counted=losses.derived.counted([each for each in MISSING if each in losses]),
        trials=tuple(losses.derived.trials),
    )


def _alone(losses: Losses) -> dict[str, Outcome]:
    """Divided by distance, normal force and acceleration, which are known far better."""
    if Clue.PULLED not in losses:
        return {}
    distance, normal = losses.distance, losses.frame.normal_force
    acceleration = losses.outcome({Clue.ACCELERATION: 1.0}).value
    beside = losses.outcome({Clue.PULLED_BESIDE: 1.0})
    rest = losses.outcome({Clue.ALL_BESIDE: 1.0, Clue.PULLED_BESIDE: -1.0})
    return _told(
        friction=_over(losses.outcome({Clue.PULLED: 1.0}), distance * (normal or 0.0)),
        hidden_mass=_over(beside, distance * acceleration),
        pulley_mass=_over(rest, distance * acceleration),
        pulley_force=_over(rest, distance),
        force_zero=_over(rest, -distance),
    )


def _estimates(
    losses: Losses | None, separation: Separation | None, plain: Separation | None
) -> dict[str, Outcome]:
    if losses is None or separation is None:
        return {}
    settled, normal = (plain or separation).settled, losses.frame.normal_force
    acceleration = losses.outcome({Clue.ACCELERATION: 1.0}).value
    elsewhere = settled.get(Unknown.ELSEWHERE)
    return _told(
        friction=_over(settled.get(Unknown.FRICTION), normal),
        hidden_mass=_over(separation.settled.get(Unknown.INERTIA), acceleration),
        pulley_mass=_over(elsewhere, acceleration),
        pulley_force=elsewhere,
        force_zero=settled.get(Unknown.FORCE_ZERO),
        friction_at_most=_over(losses.outcome({Clue.ALL_FORCE: 1.0}), normal),
    )


def _told(**outcomes: Outcome | None) -> dict[str, Outcome]:
    return {cause: outcome for cause, outcome in outcomes.items() if outcome is not None}


def _over(outcome: Outcome | None, divisor: float | None) -> Outcome | None:
    """A quotient whose divisor is known far better than the dividend."""
    if outcome is None or not divisor:
        return None
    u, step = outcome.u, outcome.step / abs(divisor)
    u = None if u is None else u / abs(divisor)
    return Outcome(value=outcome.value / divisor, u=u, dof=outcome.dof, step=step)


def _impossible(
    losses: Losses | None, separation: Separation | None
) -> tuple[ImpossibleValue, ...]:
    """Every kind that the trials show, the significant ones first."""
    if losses is None:
        return ()
    found = [
        ImpossibleValue(kind=kind, value=value, verdict=verdict_on(value), checks=CHECKS[kind])
        for kind, value in _signed(losses, separation)
        if value.value < 0
    ]
    return tuple(sorted(found, key=lambda each: each.verdict is not Verdict.DIFFER))


def _signed(losses: Losses, separation: Separation | None) -> list[tuple[Impossible, Outcome]]:
    """What can't be negative."""
    sums: tuple[tuple[Impossible, dict[Clue, float]], ...] = (
        (Impossible.TENSION_TOO_SMALL, {Clue.PULLED_FORCE: 1.0}),
        (Impossible.TENSION_TOO_LARGE, {Clue.ALL_FORCE: 1.0, Clue.PULLED_FORCE: -1.0}),
        (Impossible.ENERGY_GAINED, {Clue.ALL: 1.0}),
        (Impossible.SPEEDS_UP_COASTING, {Clue.COASTING_FORCE: 1.0}),
    )
    found = [
        (kind, losses.outcome(weights))
        for kind, weights in sums
        if all(clue in losses for clue in weights)
    ]
    if separation is not None and Unknown.FRICTION in separation.settled:
        found.append((Impossible.NEGATIVE_FRICTION, separation.settled[Unknown.FRICTION]))
    return found


def _consistency(losses: Losses | None) -> Consistency:
    def apart(clue: Clue) -> Outcome | None:
        return None if losses is None or clue not in losses else losses.outcome({clue: 1.0})

    return Consistency(
        slope_and_speed=apart(Clue.SLOPE_DIFFERENCE), time_and_speed=apart(Clue.TIME_DIFFERENCE)
    )


# ---- suspects


def _suspects(
    case: Case,
    gap: Comparison | None,
    coasting: Comparison | None,
    losses: Losses | None,
    separation: Separation | None,
) -> tuple[Suspect, ...]:
    """Every influence; weighed only if there is a gap that asks for a reason."""
    found = influences_of(case.apparatus(), view_of(case.scenario))
    if gap is None or gap.verdict is not Verdict.DIFFER:
        return tuple(Suspect(influence=each, needed=None, evidence=()) for each in found)
    scene = Scene(
        gap=gap,
        coasting=coasting,
        missing=_missing(losses, separation),
        zero_known=separation is not None and Unknown.FORCE_ZERO in separation.settled,
        givens=uncertain_givens(case.scenario, case.gravity.u),
    )
    return tuple(weighed(each, scene) for each in found)


def _missing(losses: Losses | None, separation: Separation | None) -> dict[Place, Estimate]:
    """What is missing where beside the model's friction, N; corrected for a known zero offset."""
    if losses is None or separation is None or Clue.PULLED_BESIDE not in losses:
        return {}
    each = 1 / losses.distance
    here = {Clue.PULLED_BESIDE: each}
    there = {Clue.ALL_BESIDE: each, Clue.PULLED_BESIDE: -each}
    return {
        Place.PULLED: separation.with_unknown(losses, here, Unknown.FORCE_ZERO, -1.0),
        Place.ELSEWHERE: separation.with_unknown(losses, there, Unknown.FORCE_ZERO, 1.0),
    }
