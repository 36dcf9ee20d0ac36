"""The one family of errors that a person may meet.

An error carries data; its ``str`` writes the sentence. Every stage may import this module.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import yaml


class FallworkError(Exception):
    """Root of every error that Fallwork raises on purpose."""


@dataclass(frozen=True, kw_only=True, order=True)
class Place:
    """A point in a file that somebody wrote."""

    file: str  # as the user named it
    line: int  # from 1
    column: int  # from 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One thing that is wrong in an input file."""

    place: Place
    found: str  # what stands there
    expected: str  # what would be right

    def __str__(self) -> str:
        return f"{self.place}: {self.found}; {self.expected}"


class BadInput(FallworkError):
    """Input files that can't be used; ``problems`` holds all of them in file order."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(problems)
        self.problems = problems

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


def said(stage: str, reason: str, **names: object) -> str:
    """The sentence of a refusal, from ``refused.yaml`` of its stage."""
    return _sentences(stage)[reason].format(**names)


@cache
def _sentences(stage: str) -> Mapping[str, str]:
    text = files(f"fallwork.{stage}").joinpath("refused.yaml").read_text("utf-8")
    found: Mapping[str, str] = yaml.load(text, Loader=yaml.BaseLoader)
    return found
