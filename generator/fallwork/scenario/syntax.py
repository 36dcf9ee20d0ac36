"""Says in plain words where a file stops being YAML.

Takes the parser's error; gives what was found and what would be right, from ``syntax.yaml``.
"""

import re
from functools import cache
from importlib.resources import files

import yaml


@cache
def _table() -> tuple[tuple[re.Pattern[str], str, str], ...]:
    text = files("fallwork.scenario").joinpath("syntax.yaml").read_text("utf-8")
    rows = yaml.load(text, Loader=yaml.BaseLoader)
    return tuple((re.compile(row["problem"], re.S), row["found"], row["expected"]) for row in rows)


def explain(error: yaml.MarkedYAMLError) -> tuple[str, str]:
    """What was found and what would be right."""
    problem = error.problem or ""
    for pattern, found, expected in _table():
        match = pattern.fullmatch(problem)
        if match:
            return found.format(*match.groups()) if match.groups() else found, expected
    raise AssertionError("the last pattern of syntax.yaml fits everything")
