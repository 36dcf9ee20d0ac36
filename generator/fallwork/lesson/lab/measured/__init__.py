"""The one model that the files about measuring ask: a set-up, its trials and their symbols."""

from fallwork.lesson.lab.measured.budget import Budget
from fallwork.lesson.lab.measured.influences import Influences
from fallwork.lesson.lab.measured.record import Record
from fallwork.lesson.lab.measured.report import Report

__all__ = ["MeasuredLab"]


class MeasuredLab(Record, Influences, Budget, Report):
    """What a step about measuring may ask."""
