"""Tables of cases, which stand in YAML beside their test."""

from pathlib import Path
from typing import Any

import yaml


def cases(test: str, name: str, *, as_text: bool = False) -> Any:
    """What the file of this name beside a test (its ``__file__``) says; all as text if asked."""
    text = Path(test).with_name(f"{name}.yaml").read_text("utf-8")
    return yaml.load(text, yaml.BaseLoader if as_text else yaml.SafeLoader)
