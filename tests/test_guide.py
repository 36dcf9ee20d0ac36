"""What the guides name is there: files, folders, targets of make and commands."""

import re
from pathlib import Path

import pytest

from fallwork.cli import main

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "generator" / "fallwork"
GUIDES = ("README.md", "DEVELOPERS.md")


def quoted(guide: str) -> list[str]:
    return re.findall(r"`([^`\n]+)`", (ROOT / guide).read_text("utf-8"))


def test_the_files_that_developers_are_led_to_are_there() -> None:
    named = [text for text in quoted("DEVELOPERS.md") if re.fullmatch(r"[\w.*-]+/[\w./*-]*", text)]
    lost = [text for text in named if not [*PACKAGE.glob(text), *ROOT.glob(text)]]
    assert len(named) > 20
    assert [text for text in lost if not text.startswith((".venv/", "site/"))] == []


@pytest.mark.parametrize("guide", GUIDES)
def test_the_targets_of_make_are_there(guide: str) -> None:
    text = (ROOT / guide).read_text("utf-8")
    targets = re.findall(r"^([\w-]+):", (ROOT / "Makefile").read_text("utf-8"), re.MULTILINE)
    named = re.findall(r"(?:`|^)make ([a-z]+)", text, re.MULTILINE)
    assert named
    assert set(named) <= set(targets)


def test_the_commands_of_the_readme_are_all_there_are() -> None:
    named = [text.split()[1] for text in quoted("README.md") if text.startswith("fallwork ")]
    assert sorted(set(named)) == sorted(main.commands)
