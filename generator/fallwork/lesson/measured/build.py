"""Puts the pages about measuring together: report, trials, and what the solution says of them.

Takes a lab and the trials; gives lessons in the same form as the worked ones, so that
pages, figures and checks treat them alike. Which steps a page has, and in which order, stands
here; each step's own file says for which set-ups and trials it is there.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from fallwork.lesson.build import symbols_of
from fallwork.lesson.document import Lesson, Step
from fallwork.lesson.lab.measured import MeasuredLab
from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.measured.evidence import Evidence
from fallwork.lesson.measured.words import say, sentence
from fallwork.lesson.stepfiles import step_from

Parts = Iterator[tuple[str, Step]]  # a step with the key of the part it stands in

BENCH = ("your-masses", "track-and-string", "distance", "force-zero", "signs", "trials", "holding")
VALUES = (
    *("window", "how-acceleration", "how-final-speed", "how-distance", "how-tension", "how-work"),
)
TOGETHER = ("summary", "outliers")
COMPARE = ("prediction", "verdict", "rounding", "discrepancy", "influences")
HAND_IN = ("hand-in", "tables", "questions-to-answer", "how-judged")
GAP = ("discrepancy", "impossible", "influences", "told-apart", "budget")
TRIALS = ("trials", "from-speed", "exclusions", "assumptions")


def report_lesson(lab: Setup, rubric: Sequence[str]) -> Lesson:
    """What to do, how to compare, what to hand in; in symbols, nothing worked out."""
    measured = lab.seen_as(MeasuredLab)
    return _lesson(measured, _report(measured, rubric), "report" if lab.moves else "report-at-rest")


def data_lesson(lab: Setup, evidence: Evidence) -> Lesson:
    """The trials and what they say together; nothing of what the model predicts."""
    measured = lab.seen_as(MeasuredLab, evidence=replace(evidence, judgement=None))
    return _lesson(measured, _data(measured), "data" if evidence.recorded else "data-given")


def with_comparison(lesson: Lesson, lab: Setup, evidence: Evidence) -> Lesson:
    """The worked lesson, followed by the trials against the model."""
    measured = lab.seen_as(MeasuredLab, evidence=evidence)
    steps = (*lesson.steps, *_in_parts(_compared(measured)))
    return replace(lesson, steps=steps, symbols=symbols_of(steps))


def _lesson(lab: MeasuredLab, parts: Parts, summary: str) -> Lesson:
    steps = tuple(_in_parts(parts))
    scenario = lab.scenario
    return Lesson(
        scenario=scenario.id,
        title=scenario.title,
        kind="symbols" if lab.evidence is None else "numbers",
        summary=say(f"summary.{summary}"),
        find=(),
        givens=(),
        symbols=symbols_of(steps),
        steps=steps,
        safety=(),
    )


def _in_parts(parts: Parts) -> Iterator[Step]:
    for part, step in parts:
        yield replace(step, part=sentence(f"parts.{part}"))


def _files(part: str, names: Sequence[str], lab: MeasuredLab, **asked: object) -> Parts:
    """The steps that the files give for a lab."""
    for name in names:
        step = step_from(f"measured/{name}", lab, **asked)
        if step is not None:
            yield part, step


def _report(lab: MeasuredLab, rubric: Sequence[str]) -> Parts:
    yield from _files("bench", BENCH, lab)
    yield from _files("values", VALUES, lab)
    yield from _files("together", TOGETHER, lab)
    yield from _files("compare", COMPARE, lab)
    yield from _files("hand-in", HAND_IN, lab, rubric=rubric)


def _data(lab: MeasuredLab) -> Parts:
    yield from _files("trials", TRIALS, lab)
    if lab.analysis.summary:
        yield from _files("values", VALUES, lab)
        yield from _files("together", TOGETHER, lab)


def _compared(lab: MeasuredLab) -> Parts:
    yield from _files("compared", ("exclusions",), lab)
    if not lab.analysis.summary:
        return
    yield from _files("compared", ("verdict", "prediction"), lab)
    for name in lab.judgement.comparison.quantities:
        yield from _files("compared", ("comparison",), lab, q=lab.of(name))
    yield from _files("compared", ("by-trial",), lab)
    for account in lab.accounts:
        yield from _files("compared", ("system",), lab, account=account)
    yield from _files("compared", ("rounding",), lab)
    yield from _files("gap", GAP, lab)
