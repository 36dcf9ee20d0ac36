"""Values that were typed in for the trials of a lab: lists with one entry a trial, and means.

Takes what a term file says and the set-up; gives an Analysis. Where the measured acceleration has
no scatter to judge it by, final speeds give one: (v² − v₀²)/2d over the distance of the run.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot, isclose, sqrt
from operator import itemgetter

from fallwork.measurement.inputs import quantities_of, with_values
from fallwork.measurement.limits import PLACED, PROBABLE, SCALES, limits_of, two_groups
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
from fallwork.measurement.saying import number, say
from fallwork.measurement.sensors import Sensors, Values, effects
from fallwork.measurement.summaries import summaries, summarise, summary_given
from fallwork.measurement.view import driven_phases, view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import GivenMean, Measured, Quantity, Scenario
from fallwork.scenario.quantity import kinds, last_place

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
    trials, means = (
        set_aside(list(made(measured)), limits, {}, included) for made in (_trials, _means)
    )
    unused = [mean.name for mean in means if mean.excluded is not None]
    given = {
        MEASURANDS[key]: each
        for key, each in measured.values.items()
        if isinstance(each, GivenMean) and key not in unused
    }
    found = _summaries(trials, given, sensors, None)
    known = [q for q in (SPEED, Measurand.ACCELERATION) if q in found and found[q].u is not None]
    whole = way_of(scenario, gravity)
    way = whole if known == [SPEED] else None
    if way is not None:
        trials = [_with_acceleration(trial, way) for trial in trials]
        found = _summaries(trials, given, sensors, way)
    told = [trial for trial in trials if not trial.set_aside]
    counted = [trial for trial in told if trial.excluded is None]
    doubts = (*two_groups(counted, limits), *_apart(found, whole))
    return Analysis(
        trials=tuple(trials),
        summary=found,
        summary_with_excluded=_of_trials(told, sensors, way) if len(told) > len(counted) else {},
        means=tuple(means),
        doubts=doubts,
        notes=doubts,
    )


def _apart(found: Mapping[str, Summary], way: Way | None) -> Iterator[str]:
    """That a measured acceleration contradicts the final speeds."""
    mean, speed = found.get(Measurand.ACCELERATION), found.get(SPEED)
    if mean is None or speed is None or way is None or mean.value <= 0:
        return
    derived = way.outcome(speed)
    own = [each.limit or 0.0 for each in (mean, derived)]
    relative = hypot(PROBABLE * way.distance.u, PLACED) / way.distance.value
    if abs(derived.value - mean.value) > (relative + SCALES) * abs(mean.value) + hypot(*own):
        needed = way.distance.value * derived.value / mean.value
        yield say(
            "speeds",
            typed=number(mean.value, Measurand.ACCELERATION),
            derived=number(derived.value, Measurand.ACCELERATION),
            distance=number(way.distance.value, Measurand.DISTANCE),
            needed=number(needed, Measurand.DISTANCE),
        )


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
    excluded = {each.trial: each.because for each in measured.excluded}
    lists = {MEASURANDS[k]: each for k, each in measured.values.items() if isinstance(each, tuple)}
    for at in range(max(map(len, lists.values()), default=0)):
        values = {str(q): found for q, each in lists.items() if (found := each[at]) is not None}
        yield Trial(
            name=str(at + 1),
            estimates={q: _outcome(quantity) for q, quantity in values.items()},
            written={
                q: each.number.replace("-", "−")
                for q, each in values.items()
                if each.unit == kinds()[each.kind].si_unit
            },
            excluded=excluded.get(str(at + 1)),
        )


def _means(measured: Measured) -> Iterator[Trial]:
    excluded = {each.trial: each.because for each in measured.excluded}
    for key, given in measured.values.items():
        if isinstance(given, GivenMean):
            value = {str(MEASURANDS[key]): _mean(given)}
            yield Trial(name=key, estimates=value, excluded=excluded.get(key))


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
    trials: Sequence[Trial],
    given: Mapping[Measurand, GivenMean],
    sensors: Sensors,
    way: Way | None,
) -> dict[str, Summary]:
    """Of the trials that count, and of what is known as a mean only."""
    counted = [trial for trial in trials if trial.excluded is None]
    found = _of_trials(counted, sensors, way)
    values = {str(quantity): each.value.value for quantity, each in given.items()}
    for q, each in given.items():
        deviation = each.deviation.value if each.deviation else None
        shared = effects(itemgetter(q), values, sensors)
        found[q] = summary_given(q, _mean(each), each.n, shared, deviation)
    if way is not None and SPEED in given:
        mean = _squared(given[SPEED], way)
        shared = way.shared(mean.value, sensors)
        found[FROM_SPEED] = summary_given(FROM_SPEED, mean, given[SPEED].n, shared)
    return {str(quantity): found[quantity] for quantity in Measurand if quantity in found}


def _of_trials(trials: Sequence[Trial], sensors: Sensors, way: Way | None) -> dict[str, Summary]:
    found = summaries(trials, sensors)
    if way is not None and FROM_SPEED in found:
        each = {t.name: t.estimates[FROM_SPEED] for t in trials if FROM_SPEED in t.estimates}
        found[FROM_SPEED] = summarise(
            FROM_SPEED, each, way.shared(found[FROM_SPEED].value, sensors)
        )
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
        each = given if isinstance(given, tuple) else ()
        counted = [q for at, q in enumerate(each, start=1) if q and str(at) not in excluded]
        step = min(map(last_place, counted), default=0.0)
        values = [quantity.value for quantity in counted]
        if len(values) > 1 and max(values) - min(values) < 1.5 * step:
            found[str(MEASURANDS[key])] = step
    return found
