"""Calls that can't be followed: the whole message, with what was found and what would be right."""

from pathlib import Path
from typing import Any

import pytest
import yaml

from cli.runner import Run
from democourse import bytes_below

CASES: dict[str, dict[str, Any]] = yaml.safe_load(
    (Path(__file__).parent / "refused.yaml").read_text("utf-8")
)


@pytest.mark.parametrize("name", CASES)
def test_it_is_refused_in_words_that_can_be_followed(name: str, folder: Path, run: Run) -> None:
    case = CASES[name]
    for file, content in case.get("files", {}).items():
        (folder / file).parent.mkdir(exist_ok=True)
        (folder / file).write_text(content, "latin-1")
    before = bytes_below(folder)
    assert run(*case["call"].split()) == (2, "", f"{case['says']}\n")
    assert bytes_below(folder) == before
