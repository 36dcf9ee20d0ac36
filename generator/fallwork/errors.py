"""The one family of errors that a person may meet, and the tables of the stages.

An error carries data; its ``str`` writes the sentence. Every stage may import this module.
"""

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

# Where the reader and writer of YAML in C are there, they take a tenth of the time.
TEXTS: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)  # every scalar is text
VALUES: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
DUMPER: Any = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
_FOLDER = Path(__file__).parent


class FallworkError(Exception):
    """Root of every error that Fallwork raises on purpose."""


@dataclass(frozen=True, kw_only=True, order=True)
class Place:
    """A point in a file that somebody wrote."""

    file: str  # as the user named it
    line: int = 1  # from 1
    column: int = 1  # from 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True)
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


@cache
def table(stage: str, name: str) -> Any:
    """What a YAML file in the folder of a stage says; every scalar is text: ``on`` stays a word."""
    return yaml.load((_FOLDER / stage / f"{name}.yaml").read_text("utf-8"), Loader=TEXTS)


def said(stage: str, reason: str, **names: object) -> str:
    """The sentence of a refusal, from ``refused.yaml`` of its stage."""
    return str(table(stage, "refused")[reason]).format(**names)
