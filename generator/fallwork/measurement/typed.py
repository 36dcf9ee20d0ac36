"""Values that were typed in for the trials of a lab: lists with one entry a trial, and means.

Takes what a term file says and the set-up; gives an Analysis. Where the measured acceleration has
no scatter to judge it by, final speeds give one: (v² − v₀²)/2d over the distance of the run.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot, isclose, sqrt
from operator import itemgetter
from typing import Any, TypeGuard

from fallwork.measurement.among import own_limit, two_groups
from fallwork.measurement.inputs import quantities_of, with_values
from fallwork.measurement.limits import PLACED, PROBABLE, SCALES, limits_of
from fallwork.measurement.misfit_notes import off_speeds
from fallwork.measurement.misfits import set_aside
from fallwork.measurement.model import (
    Analysis,
    Effect,
    Estimate,
    Measurand,
    Outcome,
    Summary,
    Trial,
)
from fallwork.measurement.sensors import Sensors, Values, effects
from fallwork.measurement.summaries import summaries, summarise, summary_given
from fallwork.measurement.view import driven_phases, view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import GivenMean, Measured, Quantity, Scenario
from fallwork.scenario.quantity import last_place
from fallwork.scenario.units import kinds

MEASURANDS: Mapping[str, Measurand] = {
    "acceleration": Measurand.ACCELERATION,
    "tension": Measurand.MEAN_TENSION,
    "final_speed": Measurand.FINAL_SPEED,
}
SPEED, FROM_SPEED = Measurand.FINAL_SPEED, Measurand.ACCELERATION_FROM_SPEED
HEAVIER = 1.1  # times: a mass is changed by this to see whether distances go with masses
SAME = 1e-9  # relative


@dataclass(frozen=True, kw_only=True)
class Way:
    """What leads from a final speed to an acceleration: the run of the watched object."""

    distance: Estimate  # m, as given
    start: Estimate  # m/s

    def acceleration(self, speed: float) -> float:
        """(v² − v₀²)/2d in m/s²."""
        return (speed**2 - self.start.value**2) / (2 * self.distance.value)

    def speed(self, acceleration: float) -> float:
        """The final speed to which an acceleration leads."""
        return sqrt(self.start.value**2 + 2 * acceleration * self.distance.value)

    def outcome(self, speed: Outcome) -> Outcome:
        """The same with what a speed itself says of its uncertainty."""
        slope = abs(speed.value) / self.distance.value
        u = None if speed.u is None else slope * speed.u
        value = self.acceleration(speed.value)
        return Outcome(value=value, u=u, dof=speed.dof, step=slope * speed.step)

    def shared(self, mean: float, sensors: Sensors) -> tuple[Effect, ...]:
        """What shifts the accelerations of all trials alike; ``mean`` is theirs."""

        def derived(values: Values) -> float:
            return self.acceleration(values[SPEED])

        slope = mean / self.distance.value
        start = self.start.value / self.distance.value
        own = (
            Effect(name="distance of the run", u=abs(slope) * self.distance.u),
            Effect(name="speed at the start", u=abs(start) * self.start.u),
        )
        of_sensors = effects(derived, {SPEED: self.speed(mean)}, sensors)
        return (*of_sensors, *(effect for effect in own if effect.u > 0))


def analysis_of(measured: Measured, scenario: Scenario, gravity: Estimate) -> Analysis:
    """The trials and means; forces are taken as they stand there."""
    sensors, limits = sensors_of(measured), limits_of(scenario, gravity.value)
    included = {each.trial: each.because for each in measured.included}
    trials = tuple(set_aside(list(_trials(measured)), limits, {}, included))
    means = tuple(set_aside(list(_means(measured)), limits, {}, included))
    unused = {mean.name for mean in means if mean.excluded is not None}
    gone: dict[str, Any] = dict.fromkeys(unused & measured.values.keys())
    measured = replace(measured, **gone)
    found = _summaries(trials, measured, sensors, None)
    way = None
    if _judged(found.get(SPEED)) and not _judged(found.get(Measurand.ACCELERATION)):
        way = way_of(scenario, gravity)
    if way is not None:
        trials = tuple(_with_acceleration(trial, way) for trial in trials)
        found = _summaries(trials, measured, sensors, way)
    told = [trial for trial in trials if not trial.set_aside]
    doubts = (
        *two_groups([trial for trial in told if trial.excluded is None], limits),
        *_apart(found, way_of(scenario, gravity)),
    )
    left_out = any(trial.excluded is not None for trial in told)
    return Analysis(
        trials=trials,
        summary=found,
        summary_with_excluded=_of_trials(told, sensors, way) if left_out else {},
        means=means,
        doubts=doubts,
        notes=doubts,
    )


def _apart(found: Mapping[str, Summary], way: Way | None) -> Iterator[str]:
    """That a measured acceleration contradicts the final speeds."""
    mean, speed = found.get(Measurand.ACCELERATION), found.get(SPEED)
    if mean is None or speed is None or way is None or mean.mean <= 0:
        return
    derived = way.outcome(speed.outcome)
    own = [own_limit(each) for each in (mean.outcome, derived)]
    relative = hypot(PROBABLE * way.distance.u, PLACED) / way.distance.value
    if abs(derived.value - mean.mean) > (relative + SCALES) * abs(mean.mean) + hypot(*own):
        needed = way.distance.value * derived.value / mean.mean
        yield off_speeds(mean.mean, derived.value, (way.distance.value, needed))


def _judged(summary: Summary | None) -> bool:
    return summary is not None and summary.u is not None


def way_of(scenario: Scenario, gravity: Estimate) -> Way | None:
    """The way of the watched object; None where no single stretch of known length leads along it.

    The ratio of its distance to the given one must be settled by the strings alone: where it goes
    with the masses too, it is a result.
    """
    run, watched = scenario.run, view_of(scenario).moving
    ratio = _ratio(scenario, gravity)
    if run.distance is None or ratio is None:
        return None
    mass = next(each for path, each in quantities_of(scenario) if path == f"{watched}.mass")
    heavier = with_values(scenario, {f"{watched}.mass": HEAVIER * mass.value})
    other = _ratio(heavier, gravity)
    if other is None or not isclose(ratio, other, rel_tol=SAME):
        return None
    start = Estimate(value=0.0, u=0.0)
    if run.speed is not None:
        start = Estimate(value=ratio * abs(run.speed.value), u=ratio * run.speed.u)
    distance = Estimate(value=ratio * run.distance.value, u=ratio * run.distance.u)
    return Way(distance=distance, start=start)


def _ratio(scenario: Scenario, gravity: Estimate) -> float | None:
    """How far the watched object goes for each metre of the run's; None but for one stretch."""
    solution, run = solve(apparatus_of(scenario, gravity.value)), scenario.run
    phases = driven_phases(solution)
    if not solution.moves or len(phases) != 1 or run.distance is None:
        return None
    moved = [phases[0].displacements.get(name) for name in (view_of(scenario).moving, run.object)]
    watched, counted = (abs(each or 0.0) for each in moved)
    if not isclose(counted, run.distance.value, rel_tol=SAME):
        return None
    return watched / counted


# ---- trials


def _trials(measured: Measured) -> Iterator[Trial]:
    lists = {MEASURANDS[key]: each for key, each in measured.values.items() if _is_list(each)}
    for number in range(1, max(map(len, lists.values()), default=0) + 1):
        values = {q: found for q, each in lists.items() if (found := each[number - 1]) is not None}
        name = str(number)
        yield Trial(
            name=name,
            estimates={str(q): _outcome(quantity) for q, quantity in values.items()},
            written={str(q): _digits(each) for q, each in values.items() if _is_in_si(each)},
            excluded=_excluded(measured, name),
        )


def _means(measured: Measured) -> Iterator[Trial]:
    for key, given in measured.values.items():
        if isinstance(given, GivenMean):
            value, excluded = {str(MEASURANDS[key]): _mean(given)}, _excluded(measured, key)
            yield Trial(name=key, estimates=value, excluded=excluded)


def _excluded(measured: Measured, name: str) -> str | None:
    return next((each.because for each in measured.excluded if each.trial == name), None)


def _is_list(
    given: GivenMean | tuple[Quantity | None, ...],
) -> TypeGuard[tuple[Quantity | None, ...]]:
    return not isinstance(given, GivenMean)


def _is_in_si(quantity: Quantity) -> bool:
    return quantity.unit == kinds()[quantity.kind].si_unit


def _digits(quantity: Quantity) -> str:
    return quantity.number.replace("-", "−")


def _outcome(quantity: Quantity) -> Outcome:
    """A value as it was typed; without ± its uncertainty is unknown."""
    if quantity.uncertainty:
        return Estimate(value=quantity.value, u=quantity.u)
    return Outcome(value=quantity.value, u=None, step=last_place(quantity))


def _with_acceleration(trial: Trial, way: Way) -> Trial:
    speed = trial.estimates.get(SPEED)
    if speed is None:
        return trial
    return replace(trial, estimates={**trial.estimates, str(FROM_SPEED): way.outcome(speed)})


# ---- means


def _summaries(
    trials: Sequence[Trial], measured: Measured, sensors: Sensors, way: Way | None
) -> dict[str, Summary]:
    """Of the trials that count, and of what is known as a mean only."""
    counted = [trial for trial in trials if trial.excluded is None]
    found = _of_trials(counted, sensors, way) | _given(measured, sensors, way)
    return {str(quantity): found[quantity] for quantity in Measurand if quantity in found}


def _of_trials(trials: Sequence[Trial], sensors: Sensors, way: Way | None) -> dict[str, Summary]:
    found = summaries(trials, sensors)
    if way is not None and FROM_SPEED in found:
        each = {t.name: t.estimates[FROM_SPEED] for t in trials if FROM_SPEED in t.estimates}
        found[FROM_SPEED] = summarise(FROM_SPEED, each, way.shared(found[FROM_SPEED].mean, sensors))
    return found


def _given(measured: Measured, sensors: Sensors, way: Way | None) -> dict[str, Summary]:
    means = {
        MEASURANDS[k]: each for k, each in measured.values.items() if isinstance(each, GivenMean)
    }
    values = {str(quantity): given.value.value for quantity, given in means.items()}
    found = {
        str(q): summary_given(
            q,
            _mean(given),
            given.n,
            effects(itemgetter(q), values, sensors),
            given.deviation.value if given.deviation else None,
        )
        for q, given in means.items()
    }
    if way is not None and SPEED in means:
        given = means[SPEED]
        mean = _squared(given, way)
        shared = way.shared(mean.value, sensors)
        found[str(FROM_SPEED)] = summary_given(FROM_SPEED, mean, given.n, shared)
    return found


def _mean(given: GivenMean) -> Outcome:
    """With the uncertainty of the mean, if it is known."""
    mean = _outcome(given.value)
    if given.deviation is None or given.n is None:
        return mean
    return Estimate(value=mean.value, u=given.deviation.value / sqrt(given.n))


def _squared(given: GivenMean, way: Way) -> Outcome:
    """From a mean speed, whose square is less than the mean square by the variance."""
    mean = _mean(given)
    found = way.outcome(mean)
    if mean.u is None or given.n is None:
        return found
    variance = mean.u**2 * (given.n - 1)  # with n in the denominator
    return replace(found, value=found.value + variance / (2 * way.distance.value))


# ---- sensors


def sensors_of(said: Measured) -> Sensors:
    """What the authors say of the sensors, and how the values that they typed in are rounded."""
    values = {
        name: given.value
        for name in Sensors.__dataclass_fields__
        if (given := getattr(said.sensors, name, None)) is not None
    }
    return Sensors(**values, value_steps=_rounded_alike(said))


def _rounded_alike(said: Measured) -> dict[str, float]:
    """The last place, in SI units, of lists whose values differ by no more than that: there the
    scatter hides what rounding does (GUM F.2.2.1). The finest place counts, as programs drop zeros.
    """
    excluded = {each.trial for each in said.excluded}
    found = {}
    for key, given in said.values.items():
        if not _is_list(given):
            continue
        counted = [q for at, q in enumerate(given, start=1) if q and str(at) not in excluded]
        step = min((last_place(quantity) for quantity in counted), default=0.0)
        values = [quantity.value for quantity in counted]
        if len(values) > 1 and max(values) - min(values) < 1.5 * step:
            found[str(MEASURANDS[key])] = step
    return found
