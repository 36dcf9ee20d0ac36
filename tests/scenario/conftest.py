"""A sound course to spoil."""

from pathlib import Path

import pytest

from scenario import kit


@pytest.fixture
def course(tmp_path, monkeypatch) -> Path:
    monkeypatch.chdir(kit.copied(tmp_path))
    return Path()
