"""The trials of a lab as evidence for its pages.

Takes a lab with the files or values that its term names; gives them analysed, and where the page
may show it, set against the model. Reading and analysing are the measurement stage's.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache

from fallwork.errors import FallworkError
from fallwork.lesson.measured import Evidence, Judgement
from fallwork.measurement import (
    Analysis,
    Case,
    Estimate,
    Measurand,
    Record,
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
from fallwork.measurement.motion import held_pull
from fallwork.measurement.records import read_all
from fallwork.measurement.tension_notes import Tare, Zero
from fallwork.measurement.view import view_of
from fallwork.mechanics import apparatus_of
from fallwork.mechanics.course import gravity_of
from fallwork.scenario.model import Course, GivenMean, Hanging, Lab, Measured, Scenario

# m/s²; how far real gravity may be from the formula for a latitude. Anomalies of 50 mGal are common
# (from memory).
NORMAL_GRAVITY_U = 0.0005
SEED = 20_260_000  # of the draws behind a prediction: the same pages from the same course
KEPT = 64  # labs whose trials are remembered within a run of the program
MEASURANDS: Mapping[str, Measurand] = {
    "acceleration": Measurand.ACCELERATION,
    "tension": Measurand.MEAN_TENSION,
    "final_speed": Measurand.FINAL_SPEED,
}


class TrialsError(FallworkError):
    """Something that a term says of trials and that they haven't got."""

    def __init__(self, lab: str, reason: str) -> None:
        super().__init__(lab, reason)
        self.lab = lab
        self.reason = reason

    def __str__(self) -> str:
        return f"trials of {self.lab}: {self.reason}"


@dataclass(frozen=True)
class _Request:
    """A lab whose trials are wanted; equal if nothing in it differs, so that it's done once."""

    words: str  # everything that the answer depends on
    lab: Lab = field(compare=False)
    gravity: float = field(compare=False)  # m/s²
    gravity_u: float = field(default=0.0, compare=False)


def evidence_of(lab: Lab, gravity: float) -> Evidence:
    """The trials that the lab's term names; raises BadInput for files that can't be used."""
    return _evidence(_Request(repr((lab.measured, lab.variant, gravity)), lab, gravity))


def judged(lab: Lab, course: Course) -> Evidence:
    """The same, set against what the model predicts for the lab's numbers."""
    gravity = gravity_estimate(course)
    words = repr((lab.measured, lab.variant, gravity))
    return _judged(_Request(words, lab, gravity.value, gravity.u))


@lru_cache(maxsize=KEPT)
def _evidence(request: _Request) -> Evidence:
    lab, measured = request.lab, request.lab.measured
    assert measured is not None  # asked for only where there are trials
    sensors = _sensors(measured)
    if measured.files:
        records = read_all(measured.files)
        try:
            analysis = analysis_of(records, lab.variant, request.gravity, measured)
        except UnknownTrialError as error:
            raise TrialsError(lab.id, str(error)) from error
    else:
        analysis = _of_values(measured, sensors)
    return Evidence(analysis=analysis, whose=measured.whose, sensors=sensors)


@lru_cache(maxsize=KEPT)
def _judged(request: _Request) -> Evidence:
    gravity = Estimate(value=request.gravity, u=request.gravity_u)
    evidence = evidence_of(request.lab, request.gravity)
    return with_judgement(evidence, request.lab.variant, gravity)


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


def analysis_of(
    records: tuple[Record, ...],
    scenario: Scenario,
    gravity: float,
    measured: Measured | None = None,
) -> Analysis:
    """Records analysed as runs of the scenario, with what the authors of the lab say of them.

    Unless they say otherwise the force sensor is zeroed where the string is slack, after a landing.
    """
    said = measured or Measured()
    slack = _slack_after(scenario)
    speed = scenario.run.speed
    settings = Settings(
        signs=said.signs,
        windows={w.trial: (w.start.value, w.end.value) for w in said.windows},
        exclude={each.trial: each.because for each in said.excluded},
        tare=_tare(said.zero or ("slack" if slack else "none"), scenario, gravity),
        from_rest=speed is None or not speed.value,
        slack_after=slack,
        sensors=_sensors(said),
    )
    return analyse(records, settings)


def _tare(zero: str, scenario: Scenario, gravity: float) -> Tare | None:
    """From which stretch the force sensor's zero is taken."""
    if zero == "held":
        pull = held_pull(apparatus_of(scenario, gravity), view_of(scenario))
        return Tare(zero=Zero.HELD, known=Estimate(value=pull, u=0.0))
    return Tare(zero=Zero.SLACK) if zero == "slack" else None


def _slack_after(scenario: Scenario) -> bool:
    """Whether the driven part ends with the landing of something else than the watched object."""
    run = scenario.run
    lands = isinstance(scenario.objects[run.object], Hanging) and run.distance is not None
    return lands and view_of(scenario).moving != run.object


def _sensors(measured: Measured) -> Sensors:
    given = measured.sensors
    values = {
        name: getattr(given, name)
        for name in Sensors.__dataclass_fields__
        if getattr(given, name, None) is not None
    }
    return Sensors(**{name: quantity.value for name, quantity in values.items()})


# ---- values that were typed in


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
        estimates = {}
        for key, values in lists.items():
            quantity = values[number - 1]
            if quantity is not None:
                estimates[str(MEASURANDS[key])] = Estimate(value=quantity.value, u=quantity.u)
        name = str(number)
        trials.append(Trial(name=name, estimates=estimates, excluded=excluded.get(name)))
    return trials
