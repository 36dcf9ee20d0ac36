"""The trials of a lab as evidence for its pages.

Takes a lab with the files or values that its term names; gives them analysed, and where the page
may show it, set against the model. Reading and analysing are the measurement stage's.
"""

from dataclasses import dataclass, field, replace
from functools import lru_cache
from math import hypot

import numpy as np

from fallwork.errors import BadInput, Problem
from fallwork.lesson.measured import Evidence, Judgement
from fallwork.measurement.analysis import UnknownTrialError, analyse
from fallwork.measurement.comparison import compare_all
from fallwork.measurement.discrepancy import account_of_discrepancy
from fallwork.measurement.model import Estimate
from fallwork.measurement.prediction import Case, predict
from fallwork.measurement.records import of_one_kind, read_all
from fallwork.measurement.settings import (
    Settings,
    Tare,
    Zero,
    expected_settings,
    known_pull,
    u_of_bearings,
)
from fallwork.measurement.typed import analysis_of, sensors_of
from fallwork.mechanics.course import gravity_of
from fallwork.planning.review import USUAL_RATE, Finding, review
from fallwork.scenario import Course, Lab, Measured, Scenario
from fallwork.scenario.report import listed, shown

# m/s²; how far real gravity may be from the formula for a latitude. Anomalies of 50 mGal are common
# (from memory).
NORMAL_GRAVITY_U = 0.0005
SEED = 20_260_000  # of the draws behind a prediction: the same pages from the same course
SLACK, HELD = "slack", "held"  # the authors' words for where zero is taken from
KEPT = 64  # labs whose trials are remembered within a run of the program


@dataclass(frozen=True)
class _Request:
    """A lab whose trials are wanted; equal if nothing in it differs, so that it's done once."""

    lab: Lab = field(compare=False)
    gravity: Estimate = field(compare=False)  # m/s²
    words: str = field(init=False)  # everything that the answer depends on

    def __post_init__(self) -> None:
        words = repr((self.lab.measured, self.lab.variant, self.gravity))
        object.__setattr__(self, "words", words)


def evidence_of(lab: Lab, gravity: Estimate) -> Evidence:
    """The trials that the lab's term names; raises BadInput for files that can't be used."""
    return _evidence(_Request(lab, gravity))


def judged(lab: Lab, course: Course) -> Evidence:
    """The same, set against what the model predicts for the lab's numbers."""
    return _judged(_Request(lab, gravity_estimate(course)))


@lru_cache(maxsize=KEPT)
def _judged(request: _Request) -> Evidence:
    return with_judgement(_evidence(request), request.lab.variant, request.gravity)


@lru_cache(maxsize=KEPT)
def _evidence(request: _Request) -> Evidence:
    lab, measured = request.lab, request.lab.measured
    assert measured is not None  # asked for only where there are trials
    if not measured.files:
        analysis = analysis_of(measured, lab.variant, request.gravity)
        return Evidence(analysis=analysis, whose=measured.whose, sensors=sensors_of(measured))
    settings = settings_of(lab.variant, request.gravity, measured)
    records = of_one_kind(read_all(measured.files), measured.whose, lab.places)
    try:
        analysis = analyse(records, settings)
    except UnknownTrialError as error:
        raise BadInput((unknown_trial(lab, measured, error),)) from error
    return Evidence(analysis=analysis, whose=measured.whose, sensors=settings.sensors)


def unknown_trial(lab: Lab, measured: Measured, error: UnknownTrialError) -> Problem:
    """That the term speaks of a trial which isn't there, where it does."""
    told = {
        "exclude": [each.trial for each in measured.excluded],
        "include": [each.trial for each in measured.included],
        "windows": [each.trial for each in measured.windows],
    }
    key = next(key for key, trials in told.items() if error.word in trials)
    path = f"measured.{key}.{told[key].index(error.word)}.trial"
    return Problem(
        place=lab.places[path],
        found=f"unknown trial {shown(error.word)}",
        expected=f"the trials of {lab.id} are {listed(error.names)}",
    )


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


def findings_of(lab: Lab, course: Course, evidence: Evidence | None = None) -> tuple[Finding, ...]:
    """The review of a lab's numbers; where there are records, for the rate at which they read."""
    rate = USUAL_RATE if evidence is None else _rate(evidence)
    return review(lab.variant, gravity_estimate(course), rate=rate)


def _rate(evidence: Evidence) -> float:
    """Readings a second of the motion sensor, the usual of the records."""
    rates = []
    for record in (trial.record for trial in evidence.recorded if trial.record):
        motion = record.velocity if record.position is None else record.position
        if motion is not None:
            times = record.time[np.isfinite(motion)]
            rates += [1 / float(np.median(np.diff(times)))] if len(times) > 1 else []
    return float(np.median(rates)) if rates else USUAL_RATE


def settings_of(scenario: Scenario, gravity: Estimate, said: Measured) -> Settings:
    """What the scenario tells of its records, and what its authors say on top.

    Unless they say otherwise the force sensor is zeroed where the string is slack, after a landing;
    where nothing lands, by the known pull before a release from rest.
    """
    expected, sensors = expected_settings(scenario, gravity.value), sensors_of(said)
    usual = SLACK if expected.slack_after else HELD if expected.from_rest else ""
    zero, tare = said.zero or usual, None
    if zero == SLACK:
        tare = Tare(zero=Zero.SLACK)
    elif zero == HELD:
        tare = Tare(zero=Zero.HELD, known=known_pull(scenario, gravity))
        if not said.values:
            bearings = u_of_bearings(scenario, gravity.value)
            sensors = replace(sensors, force_zero=hypot(sensors.force_zero, bearings))
    return replace(
        expected,
        signs=said.signs,
        windows={w.trial: (w.start.value, w.end.value) for w in said.windows},
        exclude={each.trial: each.because for each in said.excluded},
        include={each.trial: each.because for each in said.included},
        tare=tare,
        sensors=sensors,
    )
