"""The analysis of trials as plain text in columns.

Takes evidence; gives lines: every trial, the means, against the prediction if there is one, and
what was assumed. A value ends where the two figures of its standard uncertainty end.
"""

from collections.abc import Sequence

from fallwork.lesson.measured import Evidence
from fallwork.lesson.measured.means import on_means
from fallwork.lesson.measured.words import (
    UNITS,
    amount,
    in_trial,
    interval,
    quantity_words,
    shown,
    size,
    unknown,
)
from fallwork.measurement import Measurand, Summary

Row = Sequence[str]


def trials_table(evidence: Evidence, *, figures: int) -> str:
    """All blocks, with an empty line between them."""
    analysis = evidence.analysis
    blocks = [_trials(evidence, figures), _means(evidence, figures)]
    if evidence.judgement is not None:
        blocks.append(_against(evidence, figures))
    notes = [*analysis.exceptions, *analysis.notes, *on_means(evidence)]
    if notes:
        blocks.append(["Notes", *(f"  {note}" for note in notes)])
    if evidence.simulated:
        blocks.insert(0, ["The data are simulated."])
    text = "\n\n".join("\n".join(block) for block in blocks if block)
    return text.replace("\u00a0", " ")


def _trials(evidence: Evidence, figures: int) -> list[str]:
    trials = evidence.analysis.trials
    if not trials:
        return []
    quantities = [q for q in Measurand if any(q in trial.estimates for trial in trials)]
    rows: list[Row] = [["Trial", *(f"{quantity_words(q)} in {UNITS[q]}" for q in quantities)]]
    for trial in trials:
        found = evidence.analysis.summary
        cells = [in_trial(trial, q, found.get(q), figures) for q in quantities]
        name = trial.name if trial.excluded is None else f"{trial.name} (doesn't count)"
        rows.append([name, *cells])
    return _columns(rows)


def _means(evidence: Evidence, figures: int) -> list[str]:
    rows: list[Row] = [
        ["Mean over the trials", "n", "mean", "standard deviation", "u of the mean", "95 %"]
    ]
    rows += [_mean(summary, figures) for summary in evidence.analysis.summary.values()]
    return _columns(rows)


def _mean(summary: Summary, figures: int) -> Row:
    unit, deviation = UNITS[summary.quantity], summary.standard_deviation
    return [
        quantity_words(summary.quantity),
        unknown() if summary.n is None else str(summary.n),
        shown(summary.outcome, unit, figures),
        "" if deviation is None and summary.u is not None else size(deviation, unit),
        size(summary.u, unit),
        interval(summary.interval_95, summary.u, unit, figures),
    ]


def _against(evidence: Evidence, figures: int) -> list[str]:
    judgement = evidence.judgement
    assert judgement is not None  # asked for where there is one
    rows: list[Row] = [
        ["Against the prediction", "predicted", "difference", "percent error", "limit", "verdict"]
    ]
    for quantity, found in judgement.comparison.quantities.items():
        overall, unit = found.overall, UNITS[quantity]
        rows.append(
            [
                quantity_words(quantity),
                amount(overall.expected, unit, figures),
                shown(overall.difference, unit, figures),
                "" if overall.percent is None else size(overall.percent, "%"),
                size(overall.limit, unit),
                overall.verdict.value,
            ]
        )
    return _columns(rows)


def _columns(rows: Sequence[Row]) -> list[str]:
    """Rows with their cells below one another; the first row stands out by its place."""
    count = max(len(row) for row in rows)
    widths = [max(len(row[at]) for row in rows if at < len(row)) for at in range(count)]
    return (
        []
        if len(rows) == 1
        else [
            ("  " if index else "")
            + "  ".join(
                cell.ljust(widths[at] + (2 if not index and not at else 0))
                for at, cell in enumerate(row)
            ).rstrip()
            for index, row in enumerate(rows)
        ]
    )
