"""The analysis of trials as plain data for programs.

Takes an Analysis; gives dictionaries, lists, texts and numbers in SI units, ready for JSON.
"""

from collections.abc import Mapping
from math import inf
from typing import Any

from fallwork.measurement.model import Analysis, Summary, Trial


def trials_json(analysis: Analysis) -> dict[str, Any]:
    """``trials``, ``summary``, ``notes``; and the summary with excluded trials if there are any.

    ``u`` is a standard uncertainty and ``dof`` its degrees of freedom, left out where infinite.
    What isn't known, such as the ``u`` of a mean without scatter, gives no entry. Values are not
    rounded.
    """
    return {
        "trials": [_trial(trial) for trial in analysis.trials],
        "summary": _summaries(analysis.summary),
        **_known(summary_with_excluded=_summaries(analysis.summary_with_excluded)),
        "notes": [*analysis.exceptions, *analysis.notes],
    }


def _trial(trial: Trial) -> dict[str, Any]:
    values = trial.estimates.items()
    return _known(
        name=trial.name,
        window=trial.window and [*trial.window],
        window_by_hand=trial.window_by_hand,
        simulated=trial.simulated,
        excluded=trial.excluded,
        **{str(name): _known(value=each.value, u=each.u, dof=each.dof) for name, each in values},
    )


def _summaries(summaries: Mapping[str, Summary]) -> dict[str, Any]:
    return {
        str(name): _known(
            n=summary.n,
            mean=summary.value,
            standard_deviation=summary.standard_deviation,
            u=summary.u,
            interval_95=summary.interval_95 and [*summary.interval_95],
            dof=summary.dof,
            effects=dict(summary.effects),
            outliers=[*summary.outliers],
        )
        for name, summary in summaries.items()
    }


def _known(**entries: Any) -> dict[str, Any]:
    nothing: tuple[Any, ...] = (None, [], {}, inf)
    return {
        name: value
        for name, value in entries.items()
        if value is not False and value not in nothing
    }
