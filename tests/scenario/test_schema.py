"""The exported JSON Schema files: current, valid, and in agreement with the reader."""

import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from fallwork.scenario.schema import FOLDER, export

HERE = Path(__file__).parent
DEMO = Path(__file__).parents[2] / "site-data"
FILES = [
    *[(path, "scenario") for path in sorted((DEMO / "scenarios").glob("*.yaml"))],
    *[(path, "scenario") for path in sorted((HERE / "sound/scenarios").glob("*.yaml"))],
    *[(path, "term") for path in sorted((DEMO / "terms").glob("*.yaml"))],
    *[(path, "term") for path in sorted((HERE / "sound/terms").glob("*.yaml"))],
    *[(path, "term") for path in sorted((HERE / "full_terms").glob("*.yaml"))],
    *[(folder / "course.yaml", "course") for folder in (DEMO, HERE / "sound")],
]
CAUGHT_BY_EDITORS = [
    *("unit-missing", "unit-of-the-wrong-kind", "unit-unknown", "key-misspelt", "key-unknown"),
    *("key-of-another-kind", "key-missing", "kind-missing", "kind-misspelt", "title-list"),
    *("string-with-one-end", "string-not-a-list", "friction-in-degrees", "wheels-on-a-block"),
    *("name-with-capital-and-blank", "number-with-decimal-comma", "uncertainty-without-unit"),
]


def as_an_editor_reads(path: Path) -> Any:
    """The data as YAML 1.2 editors see it: numbers are numbers, dates stay text."""
    return with_numbers(yaml.load(path.read_text("utf-8"), yaml.BaseLoader))


def with_numbers(data: Any) -> Any:
    if isinstance(data, dict):
        return {key: with_numbers(value) for key, value in data.items()}
    if isinstance(data, list):
        return [with_numbers(value) for value in data]
    if re.fullmatch("-?[0-9]+", data):
        return int(data)
    return float(data) if re.fullmatch(r"-?[0-9]+\.[0-9]+", data) else data


def validator(name: str) -> Draft202012Validator:
    document = yaml.safe_load((FOLDER / f"{name}.schema.json").read_text("utf-8"))
    Draft202012Validator.check_schema(document)
    return Draft202012Validator(document)


def test_the_export_writes_the_files_that_are_checked_in(tmp_path: Path) -> None:
    export(tmp_path)
    written = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert written == {path.name: path.read_bytes() for path in FOLDER.iterdir()}


@pytest.mark.parametrize(("path", "name"), FILES, ids=lambda part: getattr(part, "stem", part))
def test_a_sound_file_fits_its_schema(path: Path, name: str) -> None:
    errors = [error.message for error in validator(name).iter_errors(as_an_editor_reads(path))]
    assert errors == []


@pytest.mark.parametrize("case", CAUGHT_BY_EDITORS)
def test_an_editor_objects_to_what_the_reader_refuses(case: str) -> None:
    data = as_an_editor_reads(HERE / "spoiled" / f"{case}.yaml")
    assert not validator("scenario").is_valid(data)


@pytest.mark.parametrize("path", [path for path, _ in FILES if path.is_relative_to(DEMO)])
def test_a_demo_file_names_its_schema(path: Path) -> None:
    first = path.read_text("utf-8").splitlines()[0]
    named = path.parent / first.removeprefix("# yaml-language-server: $schema=")
    assert named.resolve().parent == FOLDER


@pytest.mark.parametrize("name", ["scenario", "term", "course"])
def test_patterns_hold_in_the_stricter_syntax_of_editors(name: str) -> None:
    # ECMA-262 with the u flag refuses a backslash before anything but syntax characters and
    # a hyphen inside brackets (from memory).
    text = (FOLDER / f"{name}.schema.json").read_text("utf-8")
    patterns = re.findall(r'"pattern": "(.*)"', text)
    escaped = {sign for p in patterns for sign in re.findall(r"\\\\(.)", p)}
    assert patterns != []
    assert escaped <= set("^$.*+?()[]{}|/-")
