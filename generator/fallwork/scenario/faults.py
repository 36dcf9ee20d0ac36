"""What the checks of a set-up give: faults without places.

A number may stand in a scenario, in a term or on the command line, so whoever read it knows
the place and the checks do not.
"""

from dataclasses import dataclass

from fallwork.errors import Place, Problem
from fallwork.scenario.report import Impossible, Malformed
from fallwork.scenario.tree import Keys


@dataclass(frozen=True, kw_only=True)
class Fault:
    """Something that can't be, or a name that stands for nothing."""

    paths: tuple[Keys, ...]  # of the values that clash, the likeliest culprit first
    found: str
    expected: str
    at_key: bool = False  # points at the first path's key rather than at its value
    unknown_name: bool = False  # the file is at fault, not the apparatus

    def at(self, place: Place) -> Problem:
        """The problem that this fault is, now that its place is known."""
        kind = Malformed if self.unknown_name else Impossible
        return kind(place=place, found=self.found, expected=self.expected)
