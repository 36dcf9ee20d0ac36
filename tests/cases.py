"""Tables of cases, which stand in YAML beside their test."""

import re
from pathlib import Path
from typing import Any

import yaml


def cases(test: str, name: str, *, as_text: bool = False) -> Any:
    """What the file of this name beside a test (its ``__file__``) says; all as text if asked."""
    text = Path(test).with_name(f"{name}.yaml").read_text("utf-8")
    return yaml.load(text, yaml.BaseLoader if as_text else yaml.SafeLoader)


def as_an_editor_reads(path: Path) -> Any:
    """The data as YAML 1.2 editors see it: numbers are numbers, dates stay text."""
    return _as_numbers(yaml.load(path.read_text("utf-8"), yaml.BaseLoader))


def _as_numbers(data: Any) -> Any:
    if isinstance(data, dict):
        return {key: _as_numbers(value) for key, value in data.items()}
    if isinstance(data, list):
        return [_as_numbers(value) for value in data]
    if re.fullmatch("-?[0-9]+", data):
        return int(data)
    return float(data) if re.fullmatch(r"-?[0-9]+\.[0-9]+", data) else data
