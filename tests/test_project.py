"""The project's own files: guides, locks, examples of a scheduled build, and what imports what."""

import ast
import re
import tomllib
from collections.abc import Iterator
from datetime import UTC, datetime
from importlib.metadata import requires
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
import yaml
from click.testing import CliRunner
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from cases import cases
from democourse import PROJECT
from fallwork.cli import main

PACKAGE = PROJECT / "generator/fallwork"
GUIDES = ("README.md", "DEVELOPERS.md")
MAKEFILE = (PROJECT / "Makefile").read_text("utf-8")
EXAMPLES = PROJECT / ".ci" / "schedule"
WORKFLOW = yaml.load((EXAMPLES / "daily.yml").read_text("utf-8"), yaml.BaseLoader)
STEPS = WORKFLOW["jobs"]["publish"]["steps"]
ZONE = ZoneInfo("Europe/Zurich")  # as in the demo course
TABLE = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
EXTRAS = {"requirements.txt": ("build",), "requirements-test.txt": ("build", "test")}
DOCS_BUILDER = ("mkdocs", "material")
FILES = sorted(PACKAGE.rglob("*.py"))


def quoted(guide: str) -> list[str]:
    return re.findall(r"`([^`\n]+)`", (PROJECT / guide).read_text("utf-8"))


def test_the_files_that_developers_are_led_to_are_there():
    named = [text for text in quoted("DEVELOPERS.md") if re.fullmatch(r"[\w.*-]+/[\w./*-]*", text)]
    lost = [text for text in named if not [*PACKAGE.glob(text), *PROJECT.glob(text)]]
    assert len(named) > 20
    assert [text for text in lost if not text.startswith((".venv/", "site/"))] == []


def test_the_targets_of_make_and_the_commands_that_guides_name_are_there():
    targets = re.findall(r"^([\w-]+):", MAKEFILE, re.MULTILINE)
    for guide in GUIDES:
        text = (PROJECT / guide).read_text("utf-8")
        named = re.findall(r"(?:`|^)make ([a-z]+)", text, re.MULTILINE)
        assert named
        assert set(named) <= set(targets)
    named = [text.split()[1] for text in quoted("README.md") if text.startswith("fallwork ")]
    assert set(named) <= set(main.commands)
    links = re.findall(r"\]\(([^)]+)\)", (PROJECT / "README.md").read_text("utf-8"))
    assert [each for each in links if not (PROJECT / each).exists()] == []


# ---- a scheduled build runs what is there, at the time that it says
@pytest.mark.parametrize(("month", "day"), [(1, 15), (3, 29), (7, 15), (10, 25)])
def test_one_run_a_day_comes_just_after_midnight(month, day):
    runs = [entry["cron"].split() for entry in WORKFLOW["on"]["schedule"]]
    assert all(run[2:] == ["*", "*", "*"] for run in runs)
    evening = datetime(2026, month, day, tzinfo=UTC)
    local = [
        evening.replace(hour=int(hour), minute=int(minute)).astimezone(ZONE)
        for minute, hour, *_ in runs
    ]
    assert [f"{at:%H:%M}" for at in local].count("00:05") == 1


def test_a_scheduled_build_runs_commands_that_exist_and_uploads_the_site():
    # With a target that the Makefile has; what others wrote is named by digest.
    assert next(step["run"] for step in STEPS if "run" in step) == "make publish"
    assert "\npublish: $(VENV)/.ready\n\t$(BIN)/fallwork publish\n" in MAKEFILE
    *_, keep, upload = STEPS
    assert "git add site-data/published" in keep["run"]
    assert upload["with"]["path"] == "site/"
    named = [step["uses"] for step in STEPS if "uses" in step]
    assert len(named) == 3
    assert [each for each in named if not re.fullmatch(r"[\w/-]+@[0-9a-f]{40}", each)] == []
    lines = (EXAMPLES / "crontab").read_text("utf-8").splitlines()
    (line,) = (line for line in lines if not line.startswith("#"))
    assert line.split()[:5] == ["5,35", "*", "*", "*", "*"]
    assert " .venv/bin/fallwork publish " in line
    assert CliRunner().invoke(main, ["publish", "--help"]).exit_code == 0


# ---- whatever is installed is installed in an exact version with known hashes, from any index
LOCKS = {
    name: re.sub(r"(?m)^#.*\n", "", (PROJECT / name).read_text("utf-8")).replace("\\\n", "")
    for name in EXTRAS
}


def locked(lock: str) -> dict[str, str]:
    pairs = (line.split(" ")[0].split("==") for line in LOCKS[lock].splitlines())
    return {canonicalize_name(name): version for name, version in pairs}


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
def test_a_lock_names_every_package_that_is_needed_by_version_and_hashes(lock):
    line = re.compile(r"[\w.-]+==[\w.]+(?: ;[^\\]+?)?(?:\s+--hash=sha256:[0-9a-f]{64})+\s*")
    assert [each for each in LOCKS[lock].splitlines() if not line.fullmatch(each)] == []
    assert not re.search(r"https?:|file:|--index|--find-links", LOCKS[lock])  # no host
    extras = [text for extra in EXTRAS[lock] for text in TABLE["optional-dependencies"][extra]]
    wanted, versions = [*map(Requirement, (*TABLE["dependencies"], *extras))], locked(lock)
    assert sorted(set(with_their_own(wanted)) - set(versions)) == []
    for requirement in wanted:
        assert requirement.specifier.contains(versions[canonicalize_name(requirement.name)])


def test_pages_are_tested_with_the_versions_that_make_them():
    assert locked("requirements.txt").items() <= locked("requirements-test.txt").items()


# ---- the stages import only from those before them, and only ``site`` knows the docs builder
STAGES = (
    *("errors", "once", "scenario", "mechanics", "measurement", "planning"),
    *("lesson", "figures", "pages", "site", "commands", "cli", "reference"),
)  # in the order in which data flows


def stage_of(file: Path) -> str:
    return file.relative_to(PACKAGE).with_suffix("").parts[0]


def imported(source: str, package: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            parts = package.split(".")
            above = parts[: len(parts) - node.level + 1] if node.level else []
            base = ".".join([*above, node.module] if node.module else above)
            yield from (f"{base}.{alias.name}" for alias in node.names)


def breaches(stage: str, source: str) -> list[str]:
    """What a module of this stage imports although it may not."""
    wrong = []
    for name in imported(source, f"fallwork.{stage}"):
        head, _, rest = name.partition(".")
        target = rest.partition(".")[0]
        if head == "fallwork" and target and STAGES.index(target) > STAGES.index(stage):
            wrong.append(name)
        if head in DOCS_BUILDER and stage != "site":
            wrong.append(name)
    return wrong


def test_imports_only_go_down_the_list():
    assert len(FILES) > 30
    assert {stage_of(file) for file in FILES} - {"__init__"} <= set(STAGES)
    for file in FILES:
        if file != PACKAGE / "__init__.py":
            assert breaches(stage_of(file), file.read_text(encoding="utf-8")) == [], file


@pytest.mark.parametrize(("stage", "source", "wrong"), cases(__file__, "imports"))
def test_a_breach_is_found_and_nothing_else(stage, source, wrong):
    assert len(breaches(stage, source)) == wrong
