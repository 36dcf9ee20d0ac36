"""A copy of the tests' own course in a folder in which commands are run."""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from democourse import Run
from fallwork.cli import main
from pages.history import COURSE


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    """The current folder of the commands, with the course in ``site-data``."""
    shutil.copytree(COURSE, tmp_path / "site-data")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def run() -> Run:
    """Runs a command line in the current folder: exit status, output, messages."""

    def command(*words: str) -> tuple[int, str, str]:
        result = CliRunner().invoke(main, words, catch_exceptions=False)
        return result.exit_code, result.stdout, result.stderr

    return command
