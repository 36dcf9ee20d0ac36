"""Measurement: takes sensor records or summary values and the mechanics solver; gives estimates
with uncertainties, predictions, their comparison and the account of the discrepancy.

Knows nothing of pages. Only the functions that read records touch files.
"""

from fallwork.measurement.analysis import Settings, UnknownTrialError, analyse
from fallwork.measurement.comparison import ComparisonResult, Verdict, compare, compare_all
from fallwork.measurement.discrepancy import Discrepancy, account_of_discrepancy
from fallwork.measurement.expectation import expected_settings
from fallwork.measurement.inputs import Case, with_values
from fallwork.measurement.model import (
    Analysis,
    Effect,
    Estimate,
    Measurand,
    Outcome,
    Record,
    Summary,
    Trial,
)
from fallwork.measurement.prediction import Prediction, predict
from fallwork.measurement.records import read_all
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.simulate import Behaviour, SimulatedTrial, csv_of, simulate
from fallwork.measurement.summaries import summaries, summarise, summary_given
from fallwork.measurement.tension import Tare, Zero
from fallwork.measurement.trials_json import trials_json

__all__ = [
    "Analysis",
    "Behaviour",
    "Case",
    "ComparisonResult",
    "Discrepancy",
    "Effect",
    "Estimate",
    "Measurand",
    "Outcome",
    "Prediction",
    "Record",
    "Sensors",
    "Settings",
    "SimulatedTrial",
    "Summary",
    "Tare",
    "Trial",
    "UnknownTrialError",
    "Verdict",
    "Zero",
    "account_of_discrepancy",
    "analyse",
    "compare",
    "compare_all",
    "csv_of",
    "expected_settings",
    "predict",
    "read_all",
    "simulate",
    "summaries",
    "summarise",
    "summary_given",
    "trials_json",
    "with_values",
]
