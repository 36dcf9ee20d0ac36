"""What all tests share: how random cases are drawn, and one build of the whole demo course.

Random cases are the same in every run; a search for new ones is asked for by name.

``pytest --hypothesis-profile=search`` draws new cases each time. What it finds is written down as
an ``@example`` beside the test. ``pytest --thorough`` takes as many simulated cases as the figures
in the texts rest on; without it, as many as show a fault of the size that matters.
"""

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import settings

from democourse import copy_of_the_course

settings.register_profile("fixed", derandomize=True, deadline=None, max_examples=100)
settings.register_profile("thorough", derandomize=True, deadline=None, max_examples=1000)
settings.register_profile("search", derandomize=False, deadline=None, max_examples=1000)
settings.load_profile("fixed")

ALL_OPEN = "2100-01-01"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--thorough", action="store_true", help="all simulated cases, not a share")


def pytest_configure(config: pytest.Config) -> None:
    if config.getoption("thorough"):
        settings.load_profile("thorough")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Each file's tests run in one process, and all that share the demo site in the same one."""
    for item in items:
        shared = "everything_open" in getattr(item, "fixturenames", ())
        item.add_marker(pytest.mark.xdist_group("demo" if shared else str(item.path)))


@pytest.fixture(scope="session")
def thorough(request: pytest.FixtureRequest) -> bool:
    """Whether all simulated cases are asked for."""
    return bool(request.config.getoption("thorough"))


@pytest.fixture(scope="session")
def everything_open(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The students' site of the whole demo course, every page of every lab open: read it only."""
    root = tmp_path_factory.mktemp("everything")
    course, site = copy_of_the_course(root / "course", whole=True), root / "host/faculty/mechanics"
    site.parent.mkdir(parents=True)
    run = "from fallwork.cli import main; main()"
    words = ["publish", "--as-of", ALL_OPEN, "--to", str(site)]
    subprocess.run([sys.executable, "-c", run, *words], cwd=course, check=True)
    return site
