"""The one model that the files about measuring ask: a set-up, its trials and their symbols."""

from fallwork.lesson.lab.measured.bench import Bench
from fallwork.lesson.lab.measured.systems import Systems

__all__ = ["MeasuredLab"]


class MeasuredLab(Bench, Systems):
    """What a step about measuring may ask."""
