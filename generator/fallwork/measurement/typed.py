"""Values that were typed in for the trials of a lab: lists with one entry a trial, and means.

Takes what a term file says and the set-up; gives an Analysis. Where the measured acceleration has
no scatter to judge it by, final speeds give one: (v² − v₀²)/2d over the distance of the run.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot, isclose, sqrt
from operator import itemgetter

from fallwork.measurement.limits import PLACED, PROBABLE, SCALES, limits_of, two_groups
from fallwork.measurement.misfits import set_aside
from fallwork.measurement.model import Analysis, Estimate, Measurand, Outcome, Summary, Trial
from fallwork.measurement.prediction import driven_phases, quantities_of, view_of, with_values
from fallwork.measurement.saying import number, say
from fallwork.measurement.summaries import Sensors, effects, summaries, summarise, summary_given
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import GivenMean, Measured, Quantity, Scenario
from fallwork.scenario.quantity import kinds, last_place

MEASURANDS: Mapping[str, Measurand] = {
    "acceleration": Measurand.ACCELERATION,
    "tension": Measurand.MEAN_TENSION,
    "final_speed": Measurand.FINAL_SPEED,
}
SPEED, FROM_SPEED = Measurand.FINAL_SPEED, Measurand.ACCELERATION_FROM_SPEED
Given = Mapping[Measurand, GivenMean]
HEAVIER = 1.1  # times: a mass is changed by this to see whether distances go with masses
SAME = 1e-9  # relative


@dataclass(frozen=True, kw_only=True)
class Way:
    """What leads from a final speed to an acceleration: the run of the watched object."""

    distance: Estimate  # m, as given
    start: Estimate  # m/s

    def outcome(self, speed: Outcome, n: int | None = None) -> Outcome:
        """(v² − v₀²)/2d in m/s², with what a speed itself says of its uncertainty. The square of a
        mean over ``n`` trials is less than the mean square by the variance.
        """
        twice = 2 * self.distance.value
        slope, u = 2 * abs(speed.value) / twice, speed.u
        variance = u**2 * (n - 1) if n and u else 0.0  # with n in the denominator
        value = (speed.value**2 + variance - self.start.value**2) / twice
        u = None if u is None else slope * u
        return Outcome(value=value, u=u, dof=speed.dof, step=slope * speed.step)

    def shared(self, mean: float, sensors: Sensors) -> dict[str, float]:
        """What shifts the accelerations of all trials alike; ``mean`` is theirs."""

        def derived(values: Mapping[str, float]) -> float:
            return self.outcome(Outcome(value=values[SPEED], u=None)).value

        speed = sqrt(self.start.value**2 + 2 * mean * self.distance.value)
        own = {
            "distance of the run": abs(mean) * self.distance.u / self.distance.value,
            "speed at the start": abs(self.start.value) * self.start.u / self.distance.value,
        }
        of_sensors = effects(derived, {SPEED: speed}, sensors)
        return of_sensors | {name: u for name, u in own.items() if u > 0}


def analysis_of(measured: Measured, scenario: Scenario, gravity: Estimate) -> Analysis:
    """The trials and means; forces are taken as they stand there."""
    sensors, limits = sensors_of(measured), limits_of(scenario, gravity.value)
    included = {each.trial: each.because for each in measured.included}
    trials, means = (set_aside(each, limits, {}, included) for each in _typed(measured))
    values = {mean.name: measured.values[mean.name] for mean in means if mean.excluded is None}
    given = {MEASURANDS[key]: each for key, each in values.items() if isinstance(each, GivenMean)}
    found = _summaries([trial for trial in trials if trial.excluded is None], given, sensors)
    known = [q for q in (SPEED, Measurand.ACCELERATION) if q in found and found[q].u is not None]
    whole = way_of(scenario, gravity)
    way = whole if known == [SPEED] else None
    for at, trial in enumerate(trials):
        if way is not None and (speed := trial.estimates.get(SPEED)):
            both = {**trial.estimates, str(FROM_SPEED): way.outcome(speed)}
            trials[at] = replace(trial, estimates=both)
    told = [trial for trial in trials if not trial.set_aside]
    counted = [trial for trial in told if trial.excluded is None]
    found = _summaries(counted, given, sensors, way)
    doubts = (*two_groups(counted, limits), *_apart(found, whole))
    every = _summaries(told, {}, sensors, way) if len(told) > len(counted) else {}
    return Analysis(
        trials=tuple(trials),
        summary=found,
        summary_with_excluded=every,
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
    run, watched, ratios = scenario.run, view_of(scenario).moving, list[float]()
    masses = {p: HEAVIER * q.value for p, q in quantities_of(scenario) if p == f"{watched}.mass"}
    for each in (scenario, with_values(scenario, masses)):
        solution = solve(apparatus_of(each, gravity.value))
        phases = driven_phases(solution)
        if not solution.moves or len(phases) != 1:
            return None
        moved, counted = (phases[0].displacements.get(o) or 0.0 for o in (watched, run.object))
        if run.distance is None or not isclose(abs(counted), run.distance.value, rel_tol=SAME):
            return None
        ratios.append(abs(moved / counted))
    ratio = ratios[0]
    if run.distance is None or not isclose(ratio, ratios[1], rel_tol=SAME):
        return None
    start, u = (abs(run.speed.value), run.speed.u) if run.speed else (0.0, 0.0)
    distance = Estimate(value=ratio * run.distance.value, u=ratio * run.distance.u)
    return Way(distance=distance, start=Estimate(value=ratio * start, u=ratio * u))


def _typed(measured: Measured) -> tuple[list[Trial], list[Trial]]:
    """Trials by their numbers, and means as trials by the names of their keys."""
    excluded = {each.trial: each.because for each in measured.excluded}
    lists, trials, means = dict[str, tuple[Quantity | None, ...]](), list[Trial](), list[Trial]()
    for key, given in measured.values.items():
        if isinstance(given, GivenMean):
            value = {str(MEASURANDS[key]): _mean(given)}
            means.append(Trial(name=key, estimates=value, excluded=excluded.get(key)))
        else:
            lists[str(MEASURANDS[key])] = given
    for at in range(max(map(len, lists.values()), default=0)):
        values = {q: found for q, each in lists.items() if (found := each[at]) is not None}
        si = {q: each for q, each in values.items() if each.unit == kinds()[each.kind].si_unit}
        name, told = str(at + 1), {q: _outcome(quantity) for q, quantity in values.items()}
        written = {q: each.number.replace("-", "−") for q, each in si.items()}
        own = Trial(name=name, estimates=told, written=written, excluded=excluded.get(name))
        trials.append(own)
    return trials, means


def _outcome(quantity: Quantity) -> Outcome:
    """A value as it was typed; without ± its uncertainty is unknown."""
    if quantity.uncertainty:
        return Estimate(value=quantity.value, u=quantity.u)
    return Outcome(value=quantity.value, u=None, step=last_place(quantity))


def _summaries(
    trials: Sequence[Trial], given: Given, sensors: Sensors, way: Way | None = None
) -> dict[str, Summary]:
    found = summaries(trials, sensors)
    if way is not None and FROM_SPEED in found:
        each = {t.name: t.estimates[FROM_SPEED] for t in trials if FROM_SPEED in t.estimates}
        shared = way.shared(found[FROM_SPEED].value, sensors)
        found[FROM_SPEED] = summarise(each, shared)
    values = {str(quantity): each.value.value for quantity, each in given.items()}
    for q, mean in given.items():
        deviation = mean.deviation.value if mean.deviation else None
        own = effects(itemgetter(q), values, sensors)
        found[q] = summary_given(_mean(mean), mean.n, own, deviation)
        if way is not None and q is SPEED:
            derived = way.outcome(_mean(mean), mean.n)
            shared = way.shared(derived.value, sensors)
            found[FROM_SPEED] = summary_given(derived, mean.n, shared)
    return {str(quantity): found[quantity] for quantity in Measurand if quantity in found}


def _mean(given: GivenMean) -> Outcome:
    """With the uncertainty of the mean, if it is known."""
    mean = _outcome(given.value)
    if given.deviation is None or given.n is None:
        return mean
    return Estimate(value=mean.value, u=given.deviation.value / sqrt(given.n))


def sensors_of(said: Measured) -> Sensors:
    """What the authors say of the sensors; and the last place, in SI units, of lists whose values
    differ by no more than that: there the scatter hides what rounding does (GUM F.2.2.1). The
    finest place counts, as programs drop zeros.
    """
    known = {name: getattr(said.sensors, name, None) for name in Sensors.__dataclass_fields__}
    values = {name: each.value for name, each in known.items() if each is not None}
    excluded, steps = {each.trial for each in said.excluded}, dict[str, float]()
    for key, given in said.values.items():
        each = given if isinstance(given, tuple) else ()
        counted = [q for at, q in enumerate(each, start=1) if q and str(at) not in excluded]
        step = min(map(last_place, counted), default=0.0)
        found = [quantity.value for quantity in counted]
        if len(found) > 1 and max(found) - min(found) < 1.5 * step:
            steps[str(MEASURANDS[key])] = step
    return Sensors(**values, value_steps=steps)
