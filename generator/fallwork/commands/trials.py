"""Analyses recorded trials: for people as a table, for programs as JSON.

Takes paths of CSV files and, if it is known, the scenario that was run; gives the text to print.
"""

import json
from collections.abc import Sequence
from pathlib import Path

from fallwork.commands.sources import key_source
from fallwork.commands.trialstable import trials_table
from fallwork.lesson.measured import Evidence
from fallwork.measurement import Analysis, Estimate
from fallwork.measurement.analysis import Settings, analyse
from fallwork.measurement.records import read_all
from fallwork.measurement.trials_json import trials_json
from fallwork.pages.trials import analysis_of, with_judgement


def analysed_trials(
    files: Sequence[Path], *, scenario: str | None, term: str | None, as_json: bool
) -> str:
    """The analysis; with a scenario also what it predicts, except in JSON."""
    records = read_all(files)
    if scenario is None:
        analysis, figures = analyse(records, Settings()), 3
        evidence = Evidence(analysis=analysis)
    else:
        named, calculation = key_source(scenario, term=term, numbers=())
        analysis, figures = analysis_of(records, named, calculation.gravity), calculation.figures
        evidence = Evidence(analysis=analysis)
        if not as_json:
            gravity = Estimate(value=calculation.gravity, u=0.0)
            evidence = with_judgement(evidence, named, gravity)
    return _json(analysis) if as_json else trials_table(evidence, figures=figures)


def _json(analysis: Analysis) -> str:
    return json.dumps(trials_json(analysis), indent=2, ensure_ascii=False, allow_nan=False)
