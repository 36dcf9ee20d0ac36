"""What a set-up can't be, though each part of it can be read.

A number may stand in a scenario, in a term or on the command line, so a fault has paths and whoever
read them knows the place. The rules are in ``joints`` and ``limits``; some things only the solver
finds out.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from fallwork.errors import Place, Problem
from fallwork.scenario.report import Impossible, Malformed, refusal, refusals
from fallwork.scenario.tree import Keys


@dataclass(frozen=True)
class Fault:
    """Something that can't be, or a name that stands for nothing."""

    reason: str  # the key of its words
    paths: tuple[Keys, ...]  # of the values that clash, the likeliest culprit first
    names: Mapping[str, str]  # what its words are about

    @property
    def at_key(self) -> bool:
        """Whether it points at the first path's key rather than at its value."""
        return "at" in refusals()[self.reason]

    def at(self, place: Place) -> Problem:
        """The problem that this fault is, now that its place is known."""
        found, expected = refusal(self.reason, **self.names)
        kind = Malformed if "wrong" in refusals()[self.reason] else Impossible
        return kind(place=place, found=found, expected=expected)


def fault(reason: str, *paths: Keys, **names: str) -> Fault:
    """A fault at these paths."""
    return Fault(reason, paths, names)
