"""A set of numbers, solved, with its lesson and its figures; and the trials of a lab as evidence
for the pages that show them.

Takes a scenario, a lab and its page; gives what the page shows: of trials, read from the files or
values that the term names, where the page may show it, also what they say of the model. Reading and
analysing are the measurement stage's.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import hypot
from typing import Any

import numpy as np

from fallwork.errors import BadInput, Problem
from fallwork.figures import Figure, Scene, draw
from fallwork.lesson.answers import answers_of
from fallwork.lesson.build import build_lesson
from fallwork.lesson.document import FigureSlot, Lesson, symbols_of
from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.matching import tolerance
from fallwork.lesson.measured import (
    Evidence,
    Judgement,
    data_lesson,
    opening,
    report_lesson,
    with_comparison,
)
from fallwork.measurement import settings as reading
from fallwork.measurement.analysis import UnknownTrialError, analyse
from fallwork.measurement.comparison import compare_all
from fallwork.measurement.discrepancy import account_of_discrepancy
from fallwork.measurement.model import Analysis, Estimate
from fallwork.measurement.prediction import Case, predict
from fallwork.measurement.records import of_one_kind, read_all
from fallwork.measurement.settings import Settings
from fallwork.measurement.summaries import Sensors
from fallwork.measurement.typed import analysis_of, sensors_of
from fallwork.mechanics import apparatus_of, run_of
from fallwork.mechanics.course import gravity_of
from fallwork.once import recalled
from fallwork.pages import schedule
from fallwork.pages.schedule import BENCH, DATA, EXAMPLE, PRELAB, REPORT, SOLUTION, SubPage
from fallwork.planning.conditions import Finding, review
from fallwork.planning.driven import columns
from fallwork.scenario import Course, CourseData, Excluded, Lab, Measured, Scenario, Window
from fallwork.scenario.course import Safety
from fallwork.scenario.inventory import SensorsOwned
from fallwork.scenario.report import listed, shown

TABLES = "tables"  # the mark of the fold of a report that holds tables to fill in
# m/s²; how far real gravity may be from the formula for a latitude. Anomalies of 50 mGal are common
# (from memory).
NORMAL_GRAVITY_U = 0.0005
SEED = 20_260_000  # of the draws behind a prediction: the same pages from the same course
SLACK, HELD = "slack", "held"  # the authors' words for where zero is taken from
KEPT = 64  # labs whose trials are remembered within a run of the program


@dataclass(frozen=True)
class Worked:
    """One set of numbers, solved, and what a page says about it."""

    setup: Setup
    base: Lesson  # the lesson of the numbers, of which each page makes its own
    lesson: Lesson
    evidence: Evidence | None = None  # the trials, where the page shows them
    # How the blocks of a step look, by its id, as far as it was asked for.
    looks: dict[str, set[str]] = field(default_factory=dict, init=False, compare=False)
    _drawn: dict[FigureSlot, Figure] = field(default_factory=dict, init=False, compare=False)

    @property
    def digits(self) -> int:
        """Significant figures of results."""
        return self.setup.figures

    def draw(self, slot: FigureSlot) -> Figure:
        """To scale exactly where the lesson shows numbers. Each drawing is made once."""
        if slot not in self._drawn:
            setup = replace(self.setup, numbers=self.lesson.kind == "numbers", index=slot.phase)
            shown = {"slot": slot, "lesson": self.lesson, "evidence": self.evidence}
            self._drawn[slot] = draw(setup.seen_as(Scene, **shown))
        return self._drawn[slot]

    @property
    def on_overview(self) -> tuple[Symbol, ...]:
        """Every symbol that stands on a lab's overview, in the order of the page."""
        lesson = self.lesson
        givens = tuple(each.symbol for each in lesson.givens)
        return symbols_of((lesson.summary, lesson.find, givens, lesson.safety))


def worked(
    lab: Lab,
    sub: SubPage,
    scenario: Scenario,
    course: Course,
    *,
    telling: bool = True,
    alike: Worked | None = None,
) -> Worked:
    """The scenario worked through as a page of the lab shows it: with numbers or in symbols only,
    and with what the page adds of trials; ``telling`` how well results are known. ``alike``: the
    same for another page, if both are in symbols.
    """
    setup, base = (
        (alike.setup, alike.base) if alike else _based(lab, sub, scenario, course, telling)
    )
    evidence = None
    if sub is DATA or (sub is SOLUTION and lab.measured is not None and setup.moves):
        evidence = evidence_of(lab, gravity_estimate(course), judged=sub is SOLUTION)
    seen = replace(setup, numbers=sub is SOLUTION)
    return Worked(setup, base, _lesson_on(sub, base, seen, evidence, course.rubric), evidence)


def _based(
    lab: Lab, sub: SubPage, scenario: Scenario, course: Course, telling: bool
) -> tuple[Setup, Lesson]:
    """The scenario solved, and the lesson of it that has nothing to do with trials."""
    figures, gravity = course.significant_figures, gravity_of(course)
    numbers, apparatus = sub not in schedule.IN_SYMBOLS, apparatus_of(scenario, gravity)
    setup = Setup(scenario, apparatus, run_of(scenario, apparatus), figures, numbers)
    case = Case(scenario=scenario, gravity=Estimate(value=gravity, u=0.0)) if telling else None
    known: dict[str, Any] = {"figures": figures, "numbers": numbers, "case": case}
    widest = lab.widest if lab.variants and sub is not EXAMPLE else None
    known |= {"safety": course.safety, "widest": widest}
    return setup, build_lesson(scenario, apparatus, setup.solution, **known)


def _lesson_on(
    sub: SubPage, base: Lesson, setup: Setup, evidence: Evidence | None, rubric: Sequence[str]
) -> Lesson:
    """The page's own lesson; ``base`` as it is for a page that has nothing to do with trials."""
    if sub is PRELAB:  # the overview shows it
        return replace(base, find=(*base.find, opening(setup)))
    if sub is BENCH:  # the tables of the report, to fill in at the bench
        tables = (
            replace(step, short=fold.title, blocks=fold.blocks, folds=(), slips=(), questions=())
            for step in report_lesson(setup, ()).steps
            for fold in step.folds
            if fold.mark == TABLES
        )
        return replace(base, steps=tuple(tables))
    if sub is REPORT:
        return replace(report_lesson(setup, rubric), safety=base.safety)
    if evidence is None:
        return base
    return data_lesson(setup, evidence) if sub is DATA else with_comparison(base, setup, evidence)


def with_data(found: Worked) -> Lesson:
    """The solution's lesson, with what the page of the trials works out."""
    if found.evidence is None:
        return found.lesson
    more = data_lesson(replace(found.setup, numbers=False), found.evidence).steps
    return replace(found.lesson, steps=(*found.lesson.steps, *more))


# ---- trials

_known: dict[str, Evidence] = {}  # by everything that it depends on


def evidence_of(lab: Lab, gravity: Estimate, *, judged: bool = False) -> Evidence:
    """The trials that the lab's term names, read and analysed once for as long as nothing about
    them differs; ``judged``: set against what the model predicts for the lab's numbers. ``gravity``
    in m/s². Raises BadInput for files that can't be used.
    """
    key = repr((lab.measured, lab.variant, gravity, judged))
    if key not in _known:
        if len(_known) >= KEPT:
            del _known[next(iter(_known))]
        found = evidence_of(lab, gravity) if judged else _evidence(lab, gravity)
        _known[key] = with_judgement(found, lab.variant, gravity) if judged else found
    return _known[key]


def _evidence(lab: Lab, gravity: Estimate) -> Evidence:
    measured = lab.measured
    assert measured is not None  # asked for only where there are trials
    paths = [*map(str, measured.files)]

    def found() -> tuple[Analysis, Sensors]:
        if not measured.files:
            return analysis_of(measured, lab.variant, gravity), sensors_of(measured)
        settings = settings_of(lab.variant, gravity, measured)
        records = of_one_kind(read_all(measured.files), measured.whose, lab.places)
        return analyse(records, settings), settings.sensors

    try:
        analysis, sensors = recalled(found, "trials", lab.variant, gravity, measured, paths)
    except UnknownTrialError as error:
        raise BadInput((unknown_trial(lab, measured, error),)) from error
    return Evidence(analysis=analysis, whose=measured.whose, sensors=sensors)


def unknown_trial(lab: Lab, said: Measured, error: UnknownTrialError) -> Problem:
    """That the term speaks of a trial which isn't there, where it does."""
    told: dict[str, Sequence[Excluded | Window]]
    told = {"exclude": said.excluded, "include": said.included, "windows": said.windows}
    path = next(
        f"measured.{key}.{at}.trial"
        for key, entries in told.items()
        for at, each in enumerate(entries)
        if each.trial == error.word
    )
    expected = f"the trials of {lab.id} are {listed(error.names)}"
    return Problem(lab.places[path], f"unknown trial {shown(error.word)}", expected)


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


def findings_of(
    lab: Lab, data: CourseData, evidence: Evidence | None = None
) -> dict[str, tuple[Finding, ...]]:
    """The review of a lab's numbers, by "", and of each variant's, by its id; where there are
    records, for the usual rate (readings a second) of their motion sensors.
    """
    rates = []
    recorded = evidence.recorded if evidence else ()
    for record in (trial.record for trial in recorded if trial.record):
        motion = record.velocity if record.position is None else record.position
        if motion is not None:
            times = record.time[np.isfinite(motion)]
            rates += [1 / float(np.median(np.diff(times)))] if len(times) > 1 else []
    rate = float(np.median(rates)) if rates else None
    found = reviewed(lab.every_variant, gravity_estimate(data.course), data, rate)
    return dict(zip(("", *lab.variants), found, strict=True))


def reviewed(
    alike: Sequence[Scenario],
    gravity: Estimate,
    data: CourseData | None,
    rate: float | None = None,
    **more: Any,
) -> list[tuple[Finding, ...]]:
    """The reviews of the numbers of scenarios that run alike, by the formulas of the first, with
    sensors and limits of their course if they have one; ``more`` as ``Figures`` has it.
    """
    figures = data.course.significant_figures if data else 3
    sensors = SensorsOwned()
    if data and data.inventory:
        sensors = data.inventory.sensors
    known: dict[str, Any] = {
        "sensors": sensors if rate is None else replace(sensors, rate=rate),
        "safety": data.course.safety if data else Safety(),
        "tolerance": tolerance(figures),
        **more,
    }

    def found() -> list[tuple[Finding, ...]]:
        answers = answers_of(alike[0], gravity.value, figures)
        return [review(each, gravity, answers(columns(each)), **known) for each in alike]

    return recalled(found, "review", [*alike], gravity, figures, known)


def settings_of(scenario: Scenario, gravity: Estimate, said: Measured) -> Settings:
    """What the scenario tells of its records, and what its authors say on top.

    Unless they say otherwise the force sensor is zeroed where the string is slack, after a landing;
    where nothing lands, by the known pull before a release from rest.
    """
    expected, sensors = reading.expected_settings(scenario, gravity.value), sensors_of(said)
    usual = SLACK if expected.slack_after else HELD if expected.from_rest else ""
    zero, tare = said.zero or usual, None
    if zero == SLACK:
        tare = reading.Tare(zero=reading.Zero.SLACK)
    elif zero == HELD:
        tare = reading.Tare(zero=reading.Zero.HELD, known=reading.known_pull(scenario, gravity))
        if not said.values:
            bearings = reading.u_of_bearings(scenario, gravity.value)
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
