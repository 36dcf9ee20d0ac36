"""The one model that the files about measuring ask: a set-up, its trials and their symbols."""

from fallwork.lesson.lab.measured.bench import Bench
from fallwork.lesson.lab.measured.budget import Budget
from fallwork.lesson.lab.measured.influences import Influences
from fallwork.lesson.lab.measured.report import Report
from fallwork.lesson.lab.measured.systems import Systems

__all__ = ["MeasuredLab"]


class MeasuredLab(Bench, Systems, Influences, Budget, Report):
    """What a step about measuring may ask."""
