"""Lessons about measuring: the report, the trials, the comparison with the model.

Takes a set-up and its trials; gives the same ``Lesson`` as the worked solution does. Which steps a
page has stands here; each step's own file says for which set-ups and trials it is there.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from fallwork.lesson.document import Lesson, Step, Text, symbols_of
from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.measured.accounts import Accounts
from fallwork.lesson.measured.bench import Bench
from fallwork.lesson.measured.judged import Judged
from fallwork.lesson.measured.quantities import Evidence, Judgement
from fallwork.lesson.measured.words import title
from fallwork.lesson.notation import noted
from fallwork.lesson.stepfiles import following, step_from

__all__ = [
    "Evidence",
    "Judgement",
    "data_lesson",
    "opening",
    "quality",
    "report_lesson",
    "with_comparison",
]

VALUES = {  # steps by the part of the page that they stand in
    "values": "window how-acceleration how-distance how-tension",
    "together": "summary",
}
REPORT = {
    "bench": "your-masses track-and-string distance signs trials holding",
    **VALUES,
    "compare": "prediction verdict discrepancy influences",
    "hand-in": "hand-in questions-to-answer how-judged",
}
TRIALS = {"trials": "trials from-speed exclusions assumptions"}
GAP = {"gap": "discrepancy impossible influences told-apart budget"}


class MeasuredLab(Bench, Judged, Accounts):
    """What a step about measuring may ask: a set-up, its trials and their symbols."""


def report_lesson(lab: Setup, rubric: Sequence[str]) -> Lesson:
    """What to do, how to compare, what to hand in; in symbols, nothing worked out."""
    measured = lab.seen_as(MeasuredLab)
    return _lesson(measured, _parts(measured, REPORT, rubric=rubric), opening(lab))


def opening(lab: Setup) -> Text:
    """What is measured with what, in a few sentences."""
    step = step_from("measured/opening", lab.seen_as(MeasuredLab))
    return step.idea if step else ()


def data_lesson(lab: Setup, evidence: Evidence) -> Lesson:
    """The trials and what they say together; nothing of what the model predicts."""
    measured = lab.seen_as(MeasuredLab, evidence=replace(evidence, judgement=None))
    steps = _parts(measured, {**TRIALS, **(VALUES if evidence.analysis.summary else {})})
    summary = title(f"summary.{'data' if evidence.recorded else 'data-given'}")
    return _lesson(measured, steps, (summary,))


def with_comparison(lesson: Lesson, lab: Setup, evidence: Evidence) -> Lesson:
    """The worked lesson, followed by the trials against the model."""
    measured = lab.seen_as(MeasuredLab, evidence=evidence)
    steps = [*lesson.steps, *_parts(measured, {"compared": "exclusions"})]
    if evidence.analysis.summary:
        steps += _parts(measured, {"compared": "verdict prediction"})
        for choice in measured.scenario.systems:
            steps += _parts(measured, {"compared": "system"}, choice=choice)
        steps += _parts(measured, GAP)
    return replace(lesson, steps=tuple(steps), symbols=symbols_of(tuple(steps)))


def quality(lab: Setup, evidence: Evidence) -> Sequence[Step]:
    """What staff read of the trials: how they scatter, what is odd, what was assumed of them."""
    measured = lab.seen_as(MeasuredLab, evidence=evidence)
    return tuple(_parts(measured, {"trials": "quality assumptions"}))


def _lesson(lab: MeasuredLab, parts: Iterator[Step], summary: Text) -> Lesson:
    steps = tuple(parts)
    return Lesson(
        scenario=lab.scenario.id,
        title=lab.scenario.title,
        kind="symbols" if lab.evidence is None else "numbers",
        summary=summary,
        symbols=symbols_of(steps),
        steps=steps,
    )


def _parts(lab: MeasuredLab, parts: Mapping[str, str], **asked: object) -> Iterator[Step]:
    for part, names in parts.items():
        files = (f"measured/{name}" for name in names.split())
        for file in (own for each in files for own in (each, *following(lab, each))):
            step = step_from(file, lab, **asked)
            if step is not None:
                yield noted(replace(step, part=title(f"parts.{part}")), lab.scenario.notation)
