"""Measurement: takes sensor records or summary values and the mechanics solver; gives estimates
with uncertainties, predictions, their comparison and the account of the discrepancy.

Knows nothing of pages. Only the functions that read records touch files.
"""

from fallwork.measurement.comparison import ComparisonResult, Verdict, compare, compare_all
from fallwork.measurement.derived import Case
from fallwork.measurement.discrepancy import Discrepancy, account_of_discrepancy
from fallwork.measurement.model import (
    Analysis,
    Effect,
    Estimate,
    Measurand,
    Record,
    Summary,
    Trial,
)
from fallwork.measurement.prediction import Prediction, predict
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.simulate import Behaviour, SimulatedTrial, csv_of, simulate
from fallwork.measurement.summaries import summaries, summarise, summary_given

__all__ = [
    "Analysis",
    "Behaviour",
    "Case",
    "ComparisonResult",
    "Discrepancy",
    "Effect",
    "Estimate",
    "Measurand",
    "Prediction",
    "Record",
    "Sensors",
    "SimulatedTrial",
    "Summary",
    "Trial",
    "Verdict",
    "account_of_discrepancy",
    "compare",
    "compare_all",
    "csv_of",
    "predict",
    "simulate",
    "summaries",
    "summarise",
    "summary_given",
]
