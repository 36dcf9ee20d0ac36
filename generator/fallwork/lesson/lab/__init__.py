"""The one model that the files of steps ask: a set-up, its symbols and its equations.

Takes a set-up with its solution; gives each question's answer under a name of the trade.
"""

from fallwork.lesson.lab.limits import Limits
from fallwork.lesson.lab.motion import Motion
from fallwork.lesson.lab.review import Review

__all__ = ["Lab"]


class Lab(Limits, Motion, Review):
    """What a step may ask of a lab, seen in one phase of its run."""
