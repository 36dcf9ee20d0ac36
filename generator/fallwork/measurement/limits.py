"""How far a value may be from what it should be: from what the numbers of a lab allow, and from
what is usual among the trials of one lab; and the mistakes in writing it down that lead astray.

Takes a scenario; gives for each measurand the range in which every trial of the lab must lie. The
ranges are wide on purpose: they hold a lab with friction, tilt, hidden mass and a bearing so large
that they would have been noticed. Whoever lies outside was another run, or is written down wrongly.
A mean may lie within and be doubtful all the same, and trials of one lab differ much less from each
other. The margins are common practice, no standard.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, inf, sqrt
from statistics import median

from fallwork.measurement.influences import FAR, NEAR, Influence, InfluenceKind, influences_of
from fallwork.measurement.model import Estimate, Measurand, Outcome, Trial
from fallwork.measurement.prediction import Case, driven_phases, view_of
from fallwork.measurement.saying import named, noun, number, say
from fallwork.mechanics import solve
from fallwork.scenario import Scenario

SURE = 4.0  # standard uncertainties of what is given
PROBABLE = 2.0  # likewise, within which a mean is looked for
UNLISTED = 0.05  # of a value: scales of sensors, and what no list of influences holds
SCALES = 0.02  # of a value: scales of sensors that are in order, and what a value varies by itself
PLACED = 0.010  # m, by which a release or an end may be misplaced
FRICTION_SHARE = 0.05  # of a friction as given, that is easily overlooked
FRICTION_VARIES = 0.3  # of a friction, by which two trials may differ
VARYING = (InfluenceKind.FRICTION, InfluenceKind.PULLEY_BEARING)  # from trial to trial
HELD_BY_THE_CART = 0.5  # of the held pull: with less a hand carries the hanging mass
FORCES = (Measurand.MEAN_TENSION, Measurand.TENSION_OVER_TIME)
OF_MASSES = (Measurand.ACCELERATION, *FORCES)
OF_FORCE = (*FORCES, Measurand.FORCE_HELD)


@dataclass(frozen=True, kw_only=True)
class Range:
    """Between which values a measurand of any trial lies, before its own uncertainty."""

    value: float  # what the lab's numbers give
    low: float
    high: float
    doubtful: float  # from which distance from ``value`` on a mean calls for a second look
    varies: float  # by how much trials of one lab may differ from what is usual among them

    def carried(self, held: float) -> bool:
        """Whether a hand carries the hanging mass before the release, for a pull while held."""
        return held < HELD_BY_THE_CART * self.low

    def excludes(self, value: float, name: str, more: float) -> bool:
        """Whether a value of this measurand lies outside by ``more`` than its own uncertainty."""
        if name == Measurand.FORCE_HELD and self.carried(value):
            return value < -more
        return not self.low - more <= value <= self.high + more


Limits = Mapping[str, Range]  # by Measurand


def limits_of(scenario: Scenario, gravity: float) -> Limits:
    """The ranges for what can be measured in this scenario; forces without the sensor's zero. What
    follows from the masses holds influences as large as can just be overlooked, as large as one may
    well be, and as they change from trial to trial.
    """
    case = Case(scenario=scenario, gravity=Estimate(value=gravity, u=0.0))
    view, apparatus, zeros = view_of(scenario), case.apparatus(), dict.fromkeys(OF_MASSES, 0.0)
    solution = solve(apparatus)
    values, found = view.measurands(solution), dict[str, Range]()
    influences = influences_of(apparatus, view) if solution.moves else ()
    known = case.propagated(lambda other: {**zeros, **view.measurands(solve(other))})
    for name in (name for name in OF_MASSES if name in values):
        u, easily = known.estimate(name).u, hypot(*_effects(influences, name).values())
        varying = _effects(influences, name, FRICTION_VARIES)
        sure, probable = hypot(FAR * easily, SURE * u), hypot(NEAR * easily, PROBABLE * u)
        varies = hypot(*(varying.get(kind, 0.0) for kind in VARYING))
        found[name] = _about(values[name], sure, probable, varies)
    if (distance := values.get(Measurand.DISTANCE)) is not None:
        given = scenario.run.distance
        u = distance * given.u / given.value if given and given.value else 0.0
        found[Measurand.DISTANCE] = _about(distance, PLACED + SURE * u, PROBABLE * u, PLACED)
        starts = values[Measurand.ACCELERATION] != 0  # else another object moves alone
        if starts and len(driven_phases(solution)) == 1 and scenario.run.speed is None:
            found |= _after(found[Measurand.ACCELERATION], found[Measurand.DISTANCE])
    if view.string is not None:
        effects = _effects(influences, Measurand.MEAN_TENSION, 0.0)
        bearing = effects.get(InfluenceKind.PULLEY_BEARING, 0.0)
        held = view.held_pull(apparatus)
        found[Measurand.FORCE_HELD] = _about(held, FAR * bearing, bearing, 0.0)
    return {name.value: found[name] for name in Measurand if name in found}


def _effects(
    influences: tuple[Influence, ...], name: str, share: float = FRICTION_SHARE
) -> dict[InfluenceKind, float]:
    """What each influence easily overlooked does; of a given friction at least a ``share``."""
    found = {each.kind: abs(each.effects.get(name, 0.0)) for each in influences}
    for each in influences:
        if each.kind is InfluenceKind.FRICTION:
            found[each.kind] *= max(1.0, share * -each.least / each.kind.amount)
    return found


def _about(value: float, off: float, doubtful: float, varies: float) -> Range:
    whole, scales = UNLISTED * abs(value) + off, SCALES * abs(value)
    doubtful, varies = min(hypot(scales, doubtful), whole), min(scales + varies, whole)
    ends = {"low": value - whole, "high": value + whole}
    return Range(value=value, **ends, doubtful=doubtful, varies=varies)


def _after(acceleration: Range, distance: Range) -> dict[str, Range]:
    """Final speed and time from rest: v² = 2 a d, t² = 2 d/a."""
    both = (acceleration, distance)
    (a, slow, fast), (d, near, far) = ([r.value, max(r.low, 0), max(r.high, 0)] for r in both)
    speeds = [sqrt(2 * x * y) for x, y in ((a, d), (slow, near), (fast, far))]
    times = [sqrt(2 * y / x) if x > 0 else inf for x, y in ((a, d), (fast, near), (slow, far))]
    doubtful = hypot(*(each.doubtful / each.value for each in both)) / 2
    varies = hypot(*(each.varies / each.value for each in both)) / 2
    found = {Measurand.FINAL_SPEED: speeds, Measurand.TRAVEL_TIME: times}
    return {
        name: Range(value=v, low=low, high=high, doubtful=doubtful * v, varies=varies * v)
        for name, (v, low, high) in found.items()
    }


# ---- what is usual among the trials of a lab, and which of them is far from it

FEWEST = 3  # trials that tell what is usual
RUN = (Measurand.ACCELERATION, Measurand.FINAL_SPEED, Measurand.DISTANCE)
AMONG = (*RUN, *OF_FORCE)  # what is compared among trials
FOLLOWS: Mapping[str, str] = {  # what says nothing more where another measurand is known
    Measurand.FINAL_SPEED: Measurand.ACCELERATION,
    Measurand.TRAVEL_TIME: Measurand.ACCELERATION,
    Measurand.TENSION_OVER_TIME: Measurand.MEAN_TENSION,
}
NORMAL = 1.4826  # standard deviations for each median of deviations, of a normal distribution
DRIFT = 0.02  # N, by which the zero of a force sensor may move between two trials
UNLIKE = 10.0  # times what is usual: an uncertainty beyond excuses no value
APART = 3.0  # times the width of the wider group: so far apart are two groups


@dataclass(frozen=True, kw_only=True)
class Usual:
    """What is usual of one measurand."""

    median: float
    own: float  # by how much a value is usually off by itself
    varies: float  # so far off the lab explains it
    scatter: float  # of the trials as they are: so far off is still by chance

    def holds(self, found: Outcome, *, chance: bool = True) -> bool:
        """Whether a value is so near that the lab explains it, or the scatter by chance."""
        more = max(self.varies, self.scatter if chance else 0.0)
        own = min(found.limit or 0.0, UNLIKE * self.own or inf)  # of typed values none may be known
        return abs(found.value - self.median) <= more + own


Usuals = Mapping[str, Usual]  # by Measurand


def usual_of(trials: Sequence[Trial], limits: Limits) -> dict[str, Usual]:
    """By measurand; nothing of what fewer than three trials tell. Of n trials one may be off the
    median by 4 + 16/n deviations by chance: of few by more, for their deviation is known badly.
    Simulated: beyond it lies 1 of 250 normal values of ten.
    """
    found = {}
    for name in AMONG:
        each = [value for trial in trials if (value := compared(trial, name, limits))]
        if len(each) >= FEWEST:
            usual = median(one.value for one in each)
            deviation = NORMAL * median(abs(one.value - usual) for one in each)
            found[name.value] = Usual(
                median=usual,
                own=median(one.limit or 0.0 for one in each),
                varies=limits[name].varies + (DRIFT if name in OF_FORCE else 0.0),
                scatter=(4 + 16 / len(each)) * deviation,
            )
    return found


def two_groups(trials: Sequence[Trial], limits: Limits) -> Iterator[str]:
    """That trials fall into two groups, so that none is the odd one out; said of one measurand."""
    for name in AMONG:
        values = sorted(v.value for trial in trials if (v := compared(trial, name, limits)))
        gaps = [after - before for before, after in pairwise(values)]
        if not gaps:
            continue
        at = gaps.index(max(gaps)) + 1
        parts = values[:at], values[at:]
        inner = max(part[-1] - part[0] for part in parts)
        fewest = min(len(values) // 2, 2)  # one alone among others is named by itself
        apart = max(gaps) > max(limits[name].varies, APART * inner)
        if apart and min(map(len, parts)) >= fewest:
            told = [(len(part), number(median(part), name)) for part in parts]
            both = [say("group", count=count, usual=usual) for count, usual in told]
            yield say("two-groups", both=" and ".join(both), noun=noun(name))
            return


def compared(trial: Trial, name: str, limits: Limits) -> Outcome | None:
    """What a trial has to compare: not the pull of a hanging mass that a hand carries."""
    found = trial.estimates.get(name) if name in limits else None
    if found is None or says_nothing_more(trial, name):
        return None
    carried = name == Measurand.FORCE_HELD and limits[name].carried(found.value)
    return None if carried else found


def says_nothing_more(trial: Trial, name: str) -> bool:
    """Whether a value was found by way of another one; one that was typed in stands for itself."""
    return trial.record is not None and FOLLOWS.get(name) in trial.estimates


# ---- mistakes in writing a trial down, each with what undoes it, from the likeliest on

GRAM_FORCE = 0.00980665  # N, by the conventional gravity of the 3rd CGPM (1901)
SCALED: Mapping[str, Mapping[str, float]] = {  # SI units in one of them
    "position": {"cm": 0.01, "mm": 0.001},
    "velocity": {"cm/s": 0.01, "mm/s": 0.001},
    "force": {"mN": 0.001, "g": GRAM_FORCE, "kg": 1000 * GRAM_FORCE},
    "time": {"ms": 0.001},
}
TYPED: Mapping[str, Mapping[str, float]] = {
    Measurand.ACCELERATION: {"cm/s²": 0.01, "mm/s²": 0.001},
    Measurand.FINAL_SPEED: SCALED["velocity"],
    Measurand.MEAN_TENSION: SCALED["force"],
}
TIMES = (10, 100, 1000)  # by which a decimal point in the wrong place changes a value
Ends = Mapping[str, tuple[float, float]]  # of the values of measurands
Columns = Mapping[str, tuple[str, float]]
# ^ channel that a record must have → the channel that holds it, and a factor, to undo a mistake


def mistakes() -> Iterator[tuple[str, Columns]]:
    """Ways to write a record down wrongly."""
    for channel, units in SCALED.items():
        for unit, factor in units.items():
            yield say("scaled", channel=channel, unit=unit), {channel: (channel, factor)}
            yield say("unscaled", channel=channel, unit=unit), {channel: (channel, 1 / factor)}
    for unit, factor in SCALED["position"].items():
        words = say("scaled", channel="position and velocity", unit=f"{unit} and {unit}/s")
        yield words, {channel: (channel, factor) for channel in ("position", "velocity")}
    for one, other in (("position", "velocity"), ("velocity", "force"), ("position", "force")):
        yield say("swapped", one=one, other=other), {one: (other, 1.0), other: (one, 1.0)}
    yield say("sign"), {"force": ("force", -1.0)}


def mistakes_typed(name: str, value: float, digits: str, allowed: Ends) -> Iterator[str]:
    """How a value may have got so far off: by its unit, decimal point, sign, place or digits."""

    def fits(name: str, value: float) -> bool:
        low, high = allowed.get(name, (inf, -inf))
        return low <= value <= high

    scales = {say("typed-unit", unit=unit): f for unit, f in TYPED.get(name, {}).items()}
    for times in TIMES:
        scales[say("typed-times", times=times, words="large")] = 1 / times
        scales[say("typed-times", times=times, words="small")] = times
    scales[say("typed-sign")] = -1.0
    yield from (words for words, factor in scales.items() if fits(name, value * factor))
    for other in TYPED:
        if other != name and fits(other, value):
            yield say("typed-other", other=named(other))
    for at in range(len(digits) - 1):
        swapped = digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :]
        if digits[at : at + 2].isdigit() and fits(name, float(swapped.replace("−", "-"))):
            yield say("digits", digits=swapped)
    yield say("typed")
