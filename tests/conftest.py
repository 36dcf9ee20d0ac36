"""What all tests share. Random cases are the same in every run; ``--hypothesis-profile=search``
draws new ones, ``--thorough`` takes as many as the figures in the texts rest on.
"""

import fcntl
import os
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from hypothesis import settings
from jinja2 import FileSystemLoader

from democourse import copy_of_the_course, framed, nothing_known
from fallwork.lesson import build
from fallwork.once import NAMED_BY
from fallwork.pages import worked
from pages.interference import worked_once

settings.register_profile("fixed", derandomize=True, deadline=None, max_examples=40)
settings.register_profile("thorough", derandomize=True, deadline=None, max_examples=1000)
settings.register_profile("search", derandomize=False, deadline=None, max_examples=1000)
settings.load_profile("fixed")

ALL_OPEN = "2100-01-01"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--thorough", action="store_true", help="all simulated cases, not a share")


def pytest_configure(config: pytest.Config) -> None:
    os.environ[NAMED_BY] = ""  # a test may change what an answer depends on
    if config.getoption("thorough"):
        settings.load_profile("thorough")


@pytest.fixture(autouse=True)
def in_short(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither drawings nor uncertainties of results in the pages of a test, unless it is marked."""
    marks = {mark.name for mark in request.node.iter_markers()}
    if not marks & {"drawn", "in_full"}:
        monkeypatch.setattr(worked, "draw", framed)
    if "in_full" not in marks:
        monkeypatch.setattr(build, "uncertainties", nothing_known)


@pytest.fixture(scope="session", autouse=True)
def theme_listed_once() -> Iterator[None]:
    """The theme's thousands of icons, which are no pages, are not looked through at every build."""
    listed = FileSystemLoader.list_templates

    @cache
    def packaged(folder: str) -> list[str]:
        names = listed(FileSystemLoader(folder))
        return [name for name in names if not name.startswith(".icons/")]

    def list_templates(loader: FileSystemLoader) -> list[str]:
        found: set[str] = set()
        for folder in loader.searchpath:
            installed = "site-packages" in folder
            found |= {*(packaged(folder) if installed else listed(FileSystemLoader(folder)))}
        return sorted(found)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(FileSystemLoader, "list_templates", list_templates)
        yield


@pytest.fixture(scope="session")
def thorough(request: pytest.FixtureRequest) -> bool:
    """Whether all simulated cases are asked for."""
    return bool(request.config.getoption("thorough"))


@pytest.fixture(scope="session")
def everything_open(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Path:
    """The students' site of the whole demo course, everything open, built once: read it only."""
    base = tmp_path_factory.getbasetemp()
    root = (base if worker_id == "master" else base.parent) / "everything"
    root.mkdir(exist_ok=True)
    site = root / "host/faculty/mechanics"
    with (root / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not site.exists():
            course = copy_of_the_course(root / "course", whole=True)
            site.parent.mkdir(parents=True)
            run = "from fallwork.cli import main; main()"
            words = ["publish", "--as-of", ALL_OPEN, "--to", str(site)]
            subprocess.run([sys.executable, "-c", run, *words], cwd=course, check=True)
    return site


@pytest.fixture(scope="module")
def lessons_once() -> Iterator[None]:
    """Lessons and drawings of exactly the same things are made only once in a file of tests."""
    with pytest.MonkeyPatch.context() as patch, worked_once(patch):
        yield
