"""What a set-up can't be, though each part of it can be read: every rule's words in one table.

A number may stand in a scenario, in a term or on the command line, so a fault has paths and whoever
read them knows the place. The rules are in ``joints`` and ``limits``; some things only the solver
finds out.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import NamedTuple

import yaml

from fallwork.errors import Place, Problem
from fallwork.scenario.report import Impossible, Malformed
from fallwork.scenario.tree import Keys


class Words(NamedTuple):
    """Parts of a sentence about what can't be."""

    found: str
    expected: str


def words_of(reason: str) -> Words:
    """What is said where the solver finds that a set-up can't be; ``reason`` is its key."""
    return Words(_reasons()[reason]["found"], _reasons()[reason]["expected"])


@cache
def _reasons() -> Mapping[str, Mapping[str, str]]:
    text = files("fallwork.scenario").joinpath("impossible.yaml").read_text("utf-8")
    found: Mapping[str, Mapping[str, str]] = yaml.load(text, Loader=yaml.BaseLoader)
    return found


@dataclass(frozen=True)
class Fault:
    """Something that can't be, or a name that stands for nothing."""

    reason: str  # the key of its words
    paths: tuple[Keys, ...]  # of the values that clash, the likeliest culprit first
    names: Mapping[str, str]  # what its words are about

    @property
    def at_key(self) -> bool:
        """Whether it points at the first path's key rather than at its value."""
        return "at" in _reasons()[self.reason]

    def at(self, place: Place) -> Problem:
        """The problem that this fault is, now that its place is known."""
        found, expected = (text.format(**self.names) for text in words_of(self.reason))
        kind = Malformed if "wrong" in _reasons()[self.reason] else Impossible
        return kind(place=place, found=found, expected=expected)


def fault(reason: str, *paths: Keys, **names: str) -> Fault:
    """A fault at these paths."""
    return Fault(reason, paths, names)
