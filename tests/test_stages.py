"""The stages import only from those before them, and only ``site`` knows the docs builder."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "generator" / "fallwork"
STAGES = (
    *("errors", "scenario", "mechanics", "measurement", "planning"),
    *("lesson", "figures", "pages", "site", "commands", "cli"),
)  # in the order in which data flows
DOCS_BUILDER = ("mkdocs", "material")
FILES = sorted(PACKAGE.rglob("*.py"))


def stage_of(file: Path) -> str:
    return file.relative_to(PACKAGE).with_suffix("").parts[0]


def imported(source: str, package: str) -> Iterator[str]:
    """The full names of all modules that the source imports, inside functions too."""
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


def test_there_is_something_to_check() -> None:
    assert len(FILES) > 30
    assert {stage_of(file) for file in FILES} - {"__init__"} <= set(STAGES)


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(PACKAGE)))
def test_imports_only_go_down_the_list(file: Path) -> None:
    if file != PACKAGE / "__init__.py":
        assert breaches(stage_of(file), file.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("stage", "source"),
    [
        ("scenario", "from fallwork.mechanics import solve"),
        ("mechanics", "def late():\n    import fallwork.pages.build"),
        ("lesson", "from fallwork import figures"),
        ("mechanics", "from ..lesson import build"),
        ("pages", "from mkdocs.config import load_config"),
        ("figures", "import material"),
    ],
)
def test_a_breach_is_found(stage: str, source: str) -> None:
    assert len(breaches(stage, source)) == 1


@pytest.mark.parametrize(
    ("stage", "source"),
    [
        ("mechanics", "from fallwork.scenario import Scenario"),
        ("pages", "from fallwork.errors import FallworkError"),
        ("site", "import mkdocs.config"),
        ("lesson", "from .document import Step"),
    ],
)
def test_what_is_allowed_is_no_breach(stage: str, source: str) -> None:
    assert breaches(stage, source) == []
