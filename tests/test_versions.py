"""Whatever is installed is installed in an exact version, from whichever index the machine uses."""

import re
import tomllib
from importlib.metadata import requires
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PROJECT = Path(__file__).parents[1]
LOCK = (PROJECT / "constraints.txt").read_text("utf-8")
LINES = [line for line in LOCK.splitlines() if not line.startswith("#")]


def locked() -> dict[str, str]:
    pairs = (line.split("==") for line in LINES)
    return {canonicalize_name(name): version for name, version in pairs}


def wanted() -> list[Requirement]:
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
    return [
        Requirement(text)
        for text in [*project["dependencies"], *project["optional-dependencies"]["test"]]
    ]


def with_their_own(requirements: list[Requirement]) -> dict[str, Requirement]:
    """The requirements and what they require in turn, as far as it applies here."""
    found: dict[str, Requirement] = {}
    waiting = list(requirements)
    while waiting:
        requirement = waiting.pop()
        name = canonicalize_name(requirement.name)
        if name not in found:
            found[name] = requirement
            needed = map(Requirement, requires(requirement.name) or ())
            waiting += [
                each for each in needed if not each.marker or each.marker.evaluate({"extra": ""})
            ]
    return found


def test_each_line_is_a_name_and_a_version() -> None:
    assert [line for line in LINES if not re.fullmatch(r"[\w.-]+==[\w.]+", line)] == []


def test_every_package_that_is_needed_is_locked() -> None:
    assert sorted(set(with_their_own(wanted())) - set(locked())) == []


def test_what_is_locked_is_what_the_project_asks_for() -> None:
    versions = locked()
    for requirement in wanted():
        assert requirement.specifier.contains(versions[canonicalize_name(requirement.name)])


def test_no_host_is_named() -> None:
    assert not re.search(r"https?:|file:|--index|--find-links", LOCK)
