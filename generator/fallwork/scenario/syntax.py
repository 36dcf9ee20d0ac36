"""Says in plain words where a file stops being YAML.

Takes the parser's error; gives what was found and what would be right, from ``syntax.yaml``.
"""

import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import yaml


@dataclass(frozen=True, kw_only=True)
class Explained:
    """A parser's error in plain words."""

    mark: Any  # the parser's own mark of the place, or None
    found: str
    expected: str


@cache
def _table() -> tuple[dict[str, str], ...]:
    text = files("fallwork.scenario").joinpath("syntax.yaml").read_text("utf-8")
    return tuple(yaml.load(text, Loader=yaml.BaseLoader))


def explain(error: yaml.MarkedYAMLError) -> Explained:
    """Where the error is best shown, what was found and what would be right."""
    row, match = next(
        (row, match)
        for row in _table()
        if (match := re.fullmatch(row["problem"], error.problem or "", re.DOTALL))
    )
    opening = error.context_mark or error.problem_mark
    found = row["found"].replace("{0}", match[1] if match.groups() else "")
    return Explained(
        mark=opening if row.get("at") == "opening" else error.problem_mark,
        found=found.replace("<line>", str(opening.line + 1 if opening else 1)),
        expected=row["expected"],
    )
