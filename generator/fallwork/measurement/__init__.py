"""Measurement: takes sensor records or summary values and the mechanics solver; gives estimates
with uncertainties, predictions, their comparison and the account of the discrepancy.

Knows nothing of pages. Only the functions that read records touch files.
"""

from fallwork.measurement.model import (
    Analysis,
    Effect,
    Estimate,
    Measurand,
    Record,
    Summary,
    Trial,
)
from fallwork.measurement.sensors import Sensors
from fallwork.measurement.summaries import summaries, summarise, summary_given

__all__ = [
    "Analysis",
    "Effect",
    "Estimate",
    "Measurand",
    "Record",
    "Sensors",
    "Summary",
    "Trial",
    "summaries",
    "summarise",
    "summary_given",
]
