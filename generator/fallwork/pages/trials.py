"""The trials of a lab as evidence for its pages.

Takes a lab with the files or values that its term names; gives them analysed, and where the page
may show it, set against the model. Reading and analysing are the measurement stage's.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import hypot

from fallwork.errors import BadInput, Problem
from fallwork.lesson.measured import Evidence, Judgement
from fallwork.measurement import (
    Analysis,
    Case,
    Estimate,
    Measurand,
    Sensors,
    Summary,
    Trial,
    account_of_discrepancy,
    compare_all,
    predict,
    summaries,
    summary_given,
)
from fallwork.measurement.analysis import Settings, UnknownTrialError, analyse
from fallwork.measurement.expectation import expected_settings
from fallwork.measurement.records import read_all
from fallwork.measurement.tension_notes import Tare, Zero
from fallwork.measurement.zeroing import known_pull, u_of_bearings
from fallwork.mechanics.course import gravity_of
from fallwork.scenario.model import Course, GivenMean, Lab, Measured, Scenario
from fallwork.scenario.quantity import last_place
from fallwork.scenario.report import listed, shown
from fallwork.scenario.units import kinds

# m/s²; how far real gravity may be from the formula for a latitude. Anomalies of 50 mGal are common
# (from memory).
NORMAL_GRAVITY_U = 0.0005
SEED = 20_260_000  # of the draws behind a prediction: the same pages from the same course
SLACK, HELD, NO_ZERO = "slack", "held", "none"  # the authors' words for where zero is taken from
KEPT = 64  # labs whose trials are remembered within a run of the program
MEASURANDS: Mapping[str, Measurand] = {
    "acceleration": Measurand.ACCELERATION,
    "tension": Measurand.MEAN_TENSION,
    "final_speed": Measurand.FINAL_SPEED,
}


@dataclass(frozen=True)
class _Request:
    """A lab whose trials are wanted; equal if nothing in it differs, so that it's done once."""

    words: str  # everything that the answer depends on
    lab: Lab = field(compare=False)
    gravity: Estimate = field(compare=False)  # m/s²


def evidence_of(lab: Lab, gravity: Estimate) -> Evidence:
    """The trials that the lab's term names; raises BadInput for files that can't be used."""
    return _evidence(_Request(repr((lab.measured, lab.variant, gravity)), lab, gravity))


def judged(lab: Lab, course: Course) -> Evidence:
    """The same, set against what the model predicts for the lab's numbers."""
    gravity = gravity_estimate(course)
    words = repr((lab.measured, lab.variant, gravity))
    return _judged(_Request(words, lab, gravity))


@lru_cache(maxsize=KEPT)
def _evidence(request: _Request) -> Evidence:
    lab, measured = request.lab, request.lab.measured
    assert measured is not None  # asked for only where there are trials
    if measured.files:
        settings = settings_of(lab.variant, request.gravity, measured)
        try:
            analysis = analyse(read_all(measured.files), settings)
        except UnknownTrialError as error:
            raise BadInput((_unknown_trial(lab, measured, error),)) from error
        sensors = settings.sensors
    else:
        sensors = _sensors(measured)
        analysis = _of_values(measured, sensors)
    return Evidence(analysis=analysis, whose=measured.whose, sensors=sensors)


def _unknown_trial(lab: Lab, measured: Measured, error: UnknownTrialError) -> Problem:
    """That the term speaks of a trial which isn't there, where it does."""
    excluded = [each.trial for each in measured.excluded]
    windows = [each.trial for each in measured.windows]
    key, told = ("exclude", excluded) if error.word in excluded else ("windows", windows)
    path = f"measured.{key}.{told.index(error.word)}.trial"
    return Problem(
        place=lab.places[path],
        found=f"unknown trial {shown(error.word)}",
        expected=f"the trials of {lab.id} are {listed(error.names)}",
    )


@lru_cache(maxsize=KEPT)
def _judged(request: _Request) -> Evidence:
    evidence = evidence_of(request.lab, request.gravity)
    return with_judgement(evidence, request.lab.variant, request.gravity)


def with_judgement(evidence: Evidence, scenario: Scenario, gravity: Estimate) -> Evidence:
    """Trials with the model's prediction for a scenario, and what the two say together."""
    case = Case(scenario=scenario, gravity=gravity, sensors=evidence.sensors)
    prediction = predict(scenario, gravity, seed=SEED)
    judgement = Judgement(
        prediction=prediction,
        comparison=compare_all(evidence.analysis, prediction.estimates, case),
        discrepancy=account_of_discrepancy(evidence.analysis, prediction.estimates, case),
    )
    return replace(evidence, judgement=judgement)


def gravity_estimate(course: Course) -> Estimate:
    """Local gravity with its standard uncertainty."""
    given = course.gravity
    u = NORMAL_GRAVITY_U if given is None else given.u
    return Estimate(value=gravity_of(course), u=u)


def settings_of(scenario: Scenario, gravity: Estimate, said: Measured) -> Settings:
    """What the scenario tells of its records, and what its authors say on top.

    Unless they say otherwise the force sensor is zeroed where the string is slack, after a landing;
    where nothing lands, by the known pull before a release from rest.
    """
    expected = expected_settings(scenario, gravity.value)
    zero = said.zero or _usual_zero(expected)
    sensors = _sensors(said)
    if zero == HELD and not said.values:
        bearings = u_of_bearings(scenario, gravity.value)
        sensors = replace(sensors, force_zero=hypot(sensors.force_zero, bearings))
    return replace(
        expected,
        signs=said.signs,
        windows={w.trial: (w.start.value, w.end.value) for w in said.windows},
        exclude={each.trial: each.because for each in said.excluded},
        tare=_tare(zero, scenario, gravity),
        sensors=sensors,
    )


def _usual_zero(expected: Settings) -> str:
    if expected.slack_after:
        return SLACK
    return HELD if expected.from_rest else NO_ZERO


def _tare(zero: str, scenario: Scenario, gravity: Estimate) -> Tare | None:
    """From which stretch the force sensor's zero is taken."""
    if zero == HELD:
        return Tare(zero=Zero.HELD, known=known_pull(scenario, gravity))
    return Tare(zero=Zero.SLACK) if zero == SLACK else None


def _sensors(said: Measured) -> Sensors:
    """What the authors say of the sensors, and how the values that they typed in are rounded."""
    values = {
        name: given.value
        for name in Sensors.__dataclass_fields__
        if (given := getattr(said.sensors, name, None)) is not None
    }
    return Sensors(**values, value_steps=_rounded_alike(said))


# ---- values that were typed in


def _rounded_alike(said: Measured) -> dict[str, float]:
    """The last place, in SI units, of lists whose values differ by no more than that: there the
    scatter hides what rounding does (GUM F.2.2.1).
    """
    excluded = {each.trial for each in said.excluded}
    found = {}
    for key, given in said.values.items():
        if isinstance(given, GivenMean):
            continue
        counted = [q for at, q in enumerate(given, start=1) if q and str(at) not in excluded]
        step = max((last_place(quantity) for quantity in counted), default=0.0)
        values = [quantity.value for quantity in counted]
        if len(values) > 1 and max(values) - min(values) < 1.5 * step:
            found[str(MEASURANDS[key])] = step
    return found


def _of_values(measured: Measured, sensors: Sensors) -> Analysis:
    trials = tuple(_typed(measured))
    counted = tuple(trial for trial in trials if trial.excluded is None)
    found = summaries(counted, sensors) if counted else {}
    means = {
        MEASURANDS[key]: given
        for key, given in measured.values.items()
        if isinstance(given, GivenMean)
    }
    for quantity, mean in means.items():
        found[quantity] = _given(quantity, mean)
    ordered = {quantity: found[quantity] for quantity in Measurand if quantity in found}
    left_out = len(trials) > len(counted)
    return Analysis(
        trials=trials,
        summary={str(quantity): summary for quantity, summary in ordered.items()},
        summary_with_excluded=summaries(trials, sensors) if left_out else {},
    )


def _given(quantity: Measurand, mean: GivenMean) -> Summary:
    estimate = Estimate(value=mean.value.value, u=mean.value.u)
    return summary_given(quantity, estimate, mean.n)


def _typed(measured: Measured) -> list[Trial]:
    lists = {k: given for k, given in measured.values.items() if not isinstance(given, GivenMean)}
    excluded = {each.trial: each.because for each in measured.excluded}
    count = max((len(values) for values in lists.values()), default=0)
    trials = []
    for number in range(1, count + 1):
        estimates, written = {}, {}
        for key, values in lists.items():
            quantity = values[number - 1]
            if quantity is not None:
                estimates[str(MEASURANDS[key])] = Estimate(value=quantity.value, u=quantity.u)
                if quantity.unit == kinds()[quantity.kind].si_unit:
                    written[str(MEASURANDS[key])] = quantity.number.replace("-", "−")
        name = str(number)
        trials.append(
            Trial(name=name, estimates=estimates, written=written, excluded=excluded.get(name))
        )
    return trials
