"""The analysis of trials as plain data for programs.

Takes an Analysis; gives dictionaries, lists, texts and numbers in SI units, ready for JSON.
"""

from collections.abc import Mapping
from math import isfinite
from typing import Any

from fallwork.measurement.model import Analysis, Outcome, Summary, Trial


def trials_json(analysis: Analysis) -> dict[str, Any]:
    """``trials``, ``summary``, ``notes``; and the summary with excluded trials if there are any.

    ``u`` is a standard uncertainty and ``dof`` its degrees of freedom, left out where infinite.
    What isn't known, such as the ``u`` of a mean without scatter, gives no entry. Values are not
    rounded.
    """
    result: dict[str, Any] = {
        "trials": [_trial(trial) for trial in analysis.trials],
        "summary": _summaries(analysis.summary),
    }
    if analysis.summary_with_excluded:
        result["summary_with_excluded"] = _summaries(analysis.summary_with_excluded)
    return {**result, "notes": [*analysis.exceptions, *analysis.notes]}


def _trial(trial: Trial) -> dict[str, Any]:
    entry: dict[str, Any] = {"name": trial.name}
    if trial.window is not None:
        entry["window"] = list(trial.window)
    if trial.window_by_hand:
        entry["window_by_hand"] = True
    if trial.record is not None and trial.record.simulated:
        entry["simulated"] = True
    if trial.excluded is not None:
        entry["excluded"] = trial.excluded
    return entry | {str(name): _estimate(each) for name, each in trial.estimates.items()}


def _estimate(found: Outcome) -> dict[str, float]:
    known = {"value": found.value} | ({} if found.u is None else {"u": found.u})
    return known | ({"dof": found.dof} if isfinite(found.dof) else {})


def _summaries(summaries: Mapping[str, Summary]) -> dict[str, Any]:
    return {str(name): _summary(summary) for name, summary in summaries.items()}


def _summary(summary: Summary) -> dict[str, Any]:
    entry: dict[str, Any] = {} if summary.n is None else {"n": summary.n}
    entry["mean"] = summary.mean
    if summary.standard_deviation is not None:
        entry["standard_deviation"] = summary.standard_deviation
    if summary.interval_95 is not None:
        entry |= {"u": summary.u, "interval_95": list(summary.interval_95)}
    if isfinite(summary.dof):
        entry["dof"] = summary.dof
    if summary.effects:
        entry["effects"] = {effect.name: effect.u for effect in summary.effects}
    if summary.outliers:
        entry["outliers"] = list(summary.outliers)
    return entry
