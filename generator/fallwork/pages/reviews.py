"""What staff read of a lab's numbers and of its trials.

Takes a lab; gives tables and sentences in Markdown. What is good and what isn't is told by the
planning and the measurement stages, their words by the lesson stage.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from fallwork.lesson import reviewing
from fallwork.lesson.document import Step
from fallwork.lesson.measured import Evidence, quality
from fallwork.pages.blocks import pipe_table
from fallwork.pages.context import Context
from fallwork.pages.escape import plain
from fallwork.pages.given import GivenLab
from fallwork.pages.measured import setup_of
from fallwork.pages.schedule import SOLUTION
from fallwork.pages.trials import evidence_of, gravity_estimate
from fallwork.planning import USUAL_RATE, Finding, review
from fallwork.scenario import Course, Lab


@dataclass(frozen=True, kw_only=True)
class NumbersNote:
    """The design of a lab's numbers."""

    table: Markup | None  # None where nothing moves
    advice: tuple[Markup, ...]


def findings_of(lab: Lab, course: Course, evidence: Evidence | None = None) -> tuple[Finding, ...]:
    """The review of a lab's numbers; where there are records, for the rate at which they read."""
    rate = USUAL_RATE if evidence is None else _rate(evidence)
    return review(lab.variant, gravity_estimate(course), rate=rate)


def of_numbers(context: Context, given: GivenLab) -> NumbersNote:
    """What staff read of the numbers."""
    evidence = context.worked(given, SOLUTION).evidence
    findings = findings_of(given.lab, context.data.course, evidence)
    nouns = given.lab.variant.nouns
    cells = [
        (row.what, row.value, row.wanted, row.verdict) for row in reviewing.rows(findings, nouns)
    ]
    return NumbersNote(
        table=_table(reviewing.caption(), reviewing.heads(), cells) if findings else None,
        advice=tuple(plain(each) for each in reviewing.advice(findings, nouns)),
    )


def of_trials(context: Context, given: GivenLab) -> Sequence[Step]:
    """What staff read of the trials, whether they are open or not."""
    base = context.worked(given, SOLUTION)
    evidence = base.evidence or evidence_of(given.lab, gravity_estimate(context.data.course))
    return quality(setup_of(base, numbers=True), evidence)


def _rate(evidence: Evidence) -> float:
    """Readings a second of the motion sensor, the usual of the records."""
    rates = []
    for trial in evidence.recorded:
        record = trial.record
        motion = None if record is None else record.position
        if record is not None and motion is None:
            motion = record.velocity
        if record is not None and motion is not None:
            times = record.time[np.isfinite(motion)]
            rates += [1 / float(np.median(np.diff(times)))] if len(times) > 1 else []
    return float(np.median(rates)) if rates else USUAL_RATE


def _table(caption: str, head: Sequence[str], rows: Sequence[Sequence[str]]) -> Markup:
    return pipe_table(
        plain(caption), [plain(cell) for cell in head], [[plain(c) for c in row] for row in rows]
    )
