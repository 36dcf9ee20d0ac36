"""The quality of a lab's trials, for staff: how they scatter, and what is odd about single ones.

Takes evidence, set against the model or not; gives rows of a table and sentences.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from statistics import median

from fallwork.lesson.measured.evidence import Evidence
from fallwork.lesson.measured.words import (
    FIGURES_OF_U,
    UNITS,
    amount,
    quantity_words,
    shown,
    size,
    unbroken,
)
from fallwork.lesson.rounding import rounded
from fallwork.lesson.words import fill, listing, sentence, upper_first, without_formulas
from fallwork.measurement import Analysis, Summary, Trial, Verdict

WILD = 3.0  # times: a scatter so much larger than a record's own uncertainty needs a reason
FEW = 8  # trials; with fewer the factor of an interval is well above 2
NO_BREAK = "\u00a0"


@dataclass(frozen=True, kw_only=True)
class Quality:
    """What staff read of the trials, in words."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]  # one for each measured quantity
    sentences: tuple[str, ...]  # what to know, and what to look into
    about: str  # what the columns mean
    reading_title: str
    reading: tuple[str, ...]  # what was assumed in reading the records


def quality(evidence: Evidence, figures: int) -> Quality:
    """``figures`` are those of results."""
    analysis = evidence.analysis
    columns = ("quantity", "n", "mean", "scatter", "share", "alone", "outliers")
    return Quality(
        caption=_say("caption"),
        head=tuple(_say(f"head.{name}") for name in columns),
        rows=tuple(_row(evidence, summary, figures) for summary in analysis.summary.values()),
        sentences=tuple(_sentences(evidence, figures)),
        about=_say("about"),
        reading_title=_say("reading"),
        reading=tuple(upper_first(note) for note in analysis.notes),
    )


def _row(evidence: Evidence, summary: Summary, figures: int) -> tuple[str, ...]:
    unit, deviation = UNITS[summary.quantity], summary.standard_deviation
    share = abs(deviation / summary.mean) if deviation is not None and summary.mean else None
    alone = _alone(evidence, summary.quantity)
    return (
        upper_first(quantity_words(summary.quantity)),
        "" if summary.n is None else str(summary.n),
        amount(summary.outcome, unit, figures),
        "" if deviation is None else size(deviation, unit),
        "" if share is None or share > 1 else size(100 * share, "%"),
        "" if alone is None else size(alone, unit),
        listing([unbroken(name) for name in summary.outliers]),
    )


def _alone(evidence: Evidence, quantity: str) -> float | None:
    """The median of what single records say of their own uncertainty."""
    counted = evidence.analysis.counted
    known = [t.estimates[quantity].u or 0.0 for t in counted if t.run and quantity in t.estimates]
    return median(known) if known and median(known) > 0 else None


def _sentences(evidence: Evidence, figures: int) -> Iterator[str]:
    analysis = evidence.analysis
    count, all_of_them = len(analysis.counted), len(analysis.trials)
    if analysis.trials:
        yield _say("counted", count=str(count), all=str(all_of_them))
    if evidence.simulated:
        yield _say("simulated")
    if not evidence.recorded:
        yield _say("typed")
    yield from on_means(evidence)
    yield from _few(evidence)
    yield from _wild(evidence)
    yield from (f"{upper_first(each).rstrip('.')}." for each in analysis.exceptions)
    for trial in analysis.trials:
        yield from _odd(evidence, trial, figures)
    yield from _excluded(evidence, figures)
    yield from _against(evidence, figures)


def on_means(evidence: Evidence) -> Iterator[str]:
    """What can't be judged, and what to record so that it can be; and means over other trials."""
    lists: dict[str, list[str]] = {}
    for each in evidence.analysis.summary.values():
        single = any(each.quantity in trial.estimates for trial in evidence.analysis.counted)
        if each.u is None:
            key = "unscattered-one" if each.n == 1 else "unscattered-alike" if single else ""
            words = f"the {quantity_words(each.quantity)}"
            lists.setdefault(key or "unscattered", []).append(words)
    for key, names in lists.items():
        yield _say(key, list=listing(names))
    counted = str(len(evidence.analysis.counted))
    for quantity, n in over_others(evidence.analysis).items():
        yield _say("over-others", quantity=quantity_words(quantity), n=str(n), counted=counted)


def over_others(analysis: Analysis) -> dict[str, int]:
    """The number of trials of each mean that can't be over those that count beside it."""
    counted = analysis.counted
    known = {q: each.n or 0 for q, each in analysis.summary.items() if (each.n or 1) > 1}
    return {
        q: n
        for q, n in known.items()
        if counted and n != len(counted) and not any(q in trial.estimates for trial in counted)
    }


def _excluded(evidence: Evidence, figures: int) -> Iterator[str]:
    """What the exclusions do to the means: both ways, as a report has to give it."""
    for quantity, whole in evidence.analysis.summary_with_excluded.items():
        counted = evidence.analysis.summary.get(quantity)
        if counted is not None and counted.n != whole.n:
            unit = UNITS[quantity]
            yield _say(
                "moved",
                quantity=quantity_words(quantity),
                after=amount(counted.outcome, unit, figures),
                before=amount(whole.outcome, unit, figures),
            )


def _few(evidence: Evidence) -> Iterator[str]:
    for summary in evidence.analysis.summary.values():
        if summary.coverage_factor is not None and 1 < (summary.n or 0) < FEW:
            factor = rounded(summary.coverage_factor, 3).text
            yield _say("few", count=str(summary.n), factor=factor)
            return


def _wild(evidence: Evidence) -> Iterator[str]:
    for quantity, summary in evidence.analysis.summary.items():
        alone, deviation = _alone(evidence, quantity), summary.standard_deviation
        if alone is not None and deviation is not None and deviation > WILD * alone:
            times = rounded(deviation / alone, FIGURES_OF_U).text
            yield _say("wild", quantity=quantity_words(quantity), times=times)


def _odd(evidence: Evidence, trial: Trial, figures: int) -> Iterator[str]:
    name = unbroken(trial.name)
    summaries = evidence.analysis.summary
    far = [quantity_words(q) for q, each in summaries.items() if trial.name in each.outliers]
    if far:
        yield _say("outlier", trial=name, quantities=listing(far))
    if trial.window_by_hand and trial.window is not None:
        start, end = (f"{at:.3f}{NO_BREAK}s" for at in trial.window)
        yield _say("by-hand", trial=name, start=start, end=end)


def _against(evidence: Evidence, figures: int) -> Iterator[str]:
    if evidence.judgement is None or not evidence.judgement.comparison.quantities:
        return
    agree = []
    for quantity, found in evidence.judgement.comparison.quantities.items():
        overall, unit, words = found.overall, UNITS[quantity], quantity_words(quantity)
        difference = shown(overall.difference, unit, figures)
        if overall.verdict is Verdict.AGREE:
            agree.append(f"the {words}")
        elif overall.verdict is Verdict.DIFFER:
            limit = size(overall.limit, unit)
            yield _say("differ", quantity=words, difference=difference, limit=limit)
        else:
            percent = "" if overall.percent is None else size(overall.percent, "%")
            yield _say("open", quantity=words, difference=difference, percent=percent)
    if agree:
        everything = len(agree) == len(evidence.judgement.comparison.quantities)
        yield _say("agree" if everything else "some-agree", list=listing(agree))


def _say(key: str, **parts: str) -> str:
    return without_formulas(fill(sentence(f"quality.{key}", "reviewing"), **parts))
