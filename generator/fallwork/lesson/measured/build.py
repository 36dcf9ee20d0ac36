"""Puts the pages about measuring together: report, trials, and what the solution says of them.

Takes a lesson's context and the trials; gives lessons in the same form as the worked ones, so that
pages, figures and checks treat them alike.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from fallwork.lesson.build import symbols_of
from fallwork.lesson.context import Context
from fallwork.lesson.document import Lesson, Step, Text
from fallwork.lesson.measured.apart import impossible_steps, told_apart_steps
from fallwork.lesson.measured.bench import bench_steps
from fallwork.lesson.measured.budget import budget_step
from fallwork.lesson.measured.comparing import comparison_steps, prediction_step, verdict_step
from fallwork.lesson.measured.context import Measuring
from fallwork.lesson.measured.difference import discrepancy_step, numbers_step
from fallwork.lesson.measured.evidence import Evidence
from fallwork.lesson.measured.influences import influences_step, weighed_step
from fallwork.lesson.measured.questions import furnished
from fallwork.lesson.measured.report import report_steps
from fallwork.lesson.measured.rounding import rounding_step
from fallwork.lesson.measured.systems import system_steps
from fallwork.lesson.measured.together import (
    exclusion_steps,
    together_steps,
    trial_steps,
)
from fallwork.lesson.measured.values import value_steps
from fallwork.lesson.measured.words import sentence

Parts = Iterator[tuple[str, Step]]  # a step with the key of the part it stands in


def report_lesson(context: Context, rubric: Sequence[str]) -> Lesson:
    """What to do, how to compare, what to hand in; in symbols, nothing worked out."""
    measuring = Measuring(context)
    return _lesson(measuring, _report(measuring, rubric), measuring.say("summary.report"))


def data_lesson(context: Context, evidence: Evidence) -> Lesson:
    """The trials and what they say together; nothing of what the model predicts."""
    measuring = Measuring(context, replace(evidence, judgement=None))
    recorded = bool(evidence.recorded)
    summary = measuring.say("summary.data" if recorded else "summary.data-given")
    return _lesson(measuring, _data(measuring), summary)


def with_comparison(lesson: Lesson, context: Context, evidence: Evidence) -> Lesson:
    """The worked lesson, followed by the trials against the model."""
    measuring = Measuring(context, evidence)
    steps = (*lesson.steps, *_steps(measuring, _compared(measuring)))
    return replace(lesson, steps=steps, symbols=symbols_of(steps))


def _lesson(measuring: Measuring, parts: Parts, summary: Text) -> Lesson:
    steps = tuple(_steps(measuring, parts))
    setting = measuring.context.setting
    return Lesson(
        scenario=setting.scenario.id,
        title=setting.scenario.title,
        kind="symbols" if measuring.evidence is None else "numbers",
        summary=summary,
        find=(),
        givens=(),
        symbols=symbols_of(steps),
        steps=steps,
        safety=(),
    )


def _steps(measuring: Measuring, parts: Parts) -> Iterator[Step]:
    for part, step in parts:
        yield replace(furnished(measuring, step), part=sentence(f"parts.{part}"))


def _report(measuring: Measuring, rubric: Sequence[str]) -> Parts:
    yield from _in("bench", bench_steps(measuring))
    yield from _in("values", value_steps(measuring))
    if measuring.facts.moves:
        yield from _in("together", together_steps(measuring))
    yield "compare", prediction_step(measuring)
    if measuring.facts.moves:
        yield "compare", verdict_step(measuring)
        yield "compare", rounding_step(measuring)
        yield "compare", discrepancy_step(measuring)
        yield "compare", influences_step(measuring)
    yield from _in("hand-in", report_steps(measuring, rubric))


def _data(measuring: Measuring) -> Parts:
    yield from _in("trials", trial_steps(measuring))
    if not measuring.trials.analysis.summary:
        return
    yield from _in("values", value_steps(measuring))
    yield from _in("together", together_steps(measuring))


def _compared(measuring: Measuring) -> Parts:
    if not measuring.trials.analysis.summary:
        yield from _in("compared", exclusion_steps(measuring))
        return
    yield "compared", verdict_step(measuring)
    yield "compared", prediction_step(measuring)
    yield from _in("compared", comparison_steps(measuring))
    yield from _in("compared", system_steps(measuring))
    yield "compared", rounding_step(measuring)
    yield "gap", numbers_step(measuring)
    yield from _in("gap", impossible_steps(measuring))
    yield "gap", weighed_step(measuring)
    yield from _in("gap", told_apart_steps(measuring))
    yield "gap", budget_step(measuring)


def _in(part: str, steps: Iterator[Step]) -> Parts:
    for step in steps:
        yield part, step
