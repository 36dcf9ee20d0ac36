"""Whatever is installed is installed in an exact version with known hashes, from any index."""

import re
import tomllib
from importlib.metadata import requires
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PROJECT = Path(__file__).parents[1]
TABLE = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
EXTRAS = {"requirements.txt": ("build",), "requirements-test.txt": ("build", "test")}
LOCKS = {
    name: re.sub(r"(?m)^#.*\n", "", (PROJECT / name).read_text("utf-8")).replace("\\\n", "")
    for name in EXTRAS
}


def locked(lock: str) -> dict[str, str]:
    pairs = (line.split(" ")[0].split("==") for line in LOCKS[lock].splitlines())
    return {canonicalize_name(name): version for name, version in pairs}


def wanted(lock: str) -> list[Requirement]:
    extras = [text for extra in EXTRAS[lock] for text in TABLE["optional-dependencies"][extra]]
    return [Requirement(text) for text in (*TABLE["dependencies"], *extras)]


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


@pytest.mark.parametrize("lock", EXTRAS)
def test_each_line_is_a_name_a_version_and_hashes(lock: str) -> None:
    line = re.compile(r"[\w.-]+==[\w.]+(?: ;[^\\]+?)?(?:\s+--hash=sha256:[0-9a-f]{64})+\s*")
    assert [each for each in LOCKS[lock].splitlines() if not line.fullmatch(each)] == []


@pytest.mark.parametrize("lock", EXTRAS)
def test_every_package_that_is_needed_is_locked(lock: str) -> None:
    assert sorted(set(with_their_own(wanted(lock))) - set(locked(lock))) == []


@pytest.mark.parametrize("lock", EXTRAS)
def test_what_is_locked_is_what_the_project_asks_for(lock: str) -> None:
    versions = locked(lock)
    for requirement in wanted(lock):
        assert requirement.specifier.contains(versions[canonicalize_name(requirement.name)])


def test_pages_are_tested_with_the_versions_that_make_them() -> None:
    assert locked("requirements.txt").items() <= locked("requirements-test.txt").items()


@pytest.mark.parametrize("lock", EXTRAS)
def test_no_host_is_named(lock: str) -> None:
    assert not re.search(r"https?:|file:|--index|--find-links", LOCKS[lock])
