"""Spoiled files, a case and its message side by side; the record of the published; schemas."""

import os
import re
import shutil
from pathlib import Path

import pytest
import yaml
from jsonschema import Draft202012Validator

from cases import as_an_editor_reads
from fallwork import scenario
from fallwork.errors import BadInput
from fallwork.scenario.report import Impossible, Malformed, refusals
from fallwork.scenario.schema import FOLDER, export
from scenario import kit

HERE = kit.HERE
CASES = sorted(HERE.glob("spoiled*/*.yaml"))
REFUSED = kit.table("refused")
FILES, NAMES = REFUSED["files"], REFUSED["file names"]
KINDS = {"number-in-words": Malformed, "surface-unknown": Malformed, "mass-negative": Impossible}
COURSE = scenario.load_course(kit.SOUND)
DEMO = kit.DEMO


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.stem)
def test_a_spoiled_file_brings_its_message(case, tmp_path, monkeypatch):
    load, named = scenario.load_scenario, Path(case.name)
    monkeypatch.chdir(case.parent)
    if case.parent != HERE / "spoiled":
        load, named = scenario.load_course, Path()
        monkeypatch.chdir(kit.copied(tmp_path))
        of = case.parent.name.removeprefix("spoiled_")
        if of == "terms":
            Path("terms/2027-spring.yaml").unlink()
        shutil.copy(
            case, {"terms": "terms", "inventories": "inventory.yaml"}.get(of, "course.yaml")
        )
    assert kit.message(load, named) == case.with_suffix(".txt").read_text("utf-8").rstrip("\n")


WRITTEN = {
    "picture.yaml": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR",
    "zeros.yaml": b"title: A\n" + bytes(1000),
    "latin.yaml": "title: Cart\nobjects: {cart: {mass: 1 g ± 1 g}}".encode("latin-1"),
    "large.yaml": b"# a comment\n" * 900_000,
}


@pytest.mark.parametrize("file", FILES)
def test_what_is_no_scenario_file_is_refused(file, course):
    Path("empty").mkdir()
    os.mkfifo("pipe.yaml")  # which isn't waited for
    if file in WRITTEN:
        Path(file).write_bytes(WRITTEN[file])
    assert kit.message(scenario.load_scenario, Path(file)) == f"{file}:{FILES[file]}"


def test_a_file_that_the_system_refuses_is_told(course, monkeypatch):
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert kit.message(scenario.load_scenario, Path("scenarios/cart.yaml")) == (
        "scenarios/cart.yaml:1:1: the file can't be read (permission denied); make it readable"
    )


@pytest.mark.parametrize("change", NAMES)
def test_a_file_name_becomes_an_address(change, course):
    file, _, name = change.partition(" to ")
    Path(file).rename(name)
    assert kit.message(scenario.load_course, course) == f"{name}:1:1: {NAMES[change]}"


def test_all_files_are_told_at_once_and_in_order_or_that_there_is_no_course(course):
    assert kit.message(scenario.load_course, Path("terms")) == (
        "terms/course.yaml:1:1: there is no such file; terms holds 2027-spring.yaml"
    )
    shutil.copy(HERE / "spoiled_courses/figures-too-many.yaml", "course.yaml")
    shutil.copy(HERE / "spoiled/mass-negative.yaml", "scenarios/cart.yaml")
    shutil.copy(HERE / "spoiled_terms/due-before-it-opens.yaml", "terms/2027-spring.yaml")
    assert kit.message(scenario.load_course, course).splitlines() == [
        'course.yaml:4:22: "12" where the number of significant figures should stand; '
        "write a whole number from 2 to 6",
        'scenarios/cart.yaml:3:28: the mass "-420.0 g"; a mass must be more than zero',
        "terms/2027-spring.yaml:7:10: reports due before the lab opens; "
        "due must not be before opens",
    ]


@pytest.mark.parametrize("case", KINDS)
def test_malformed_and_impossible_are_different(case):
    with pytest.raises(BadInput) as caught:
        scenario.load_scenario(HERE / "spoiled" / f"{case}.yaml")
    assert [type(problem) for problem in caught.value.problems] == [KINDS[case]]


def test_the_words_of_a_refusal_are_whole():
    """A comma that isn't quoted would cut them off."""
    for reason, words in refusals().items():
        assert {"found", "expected"} <= set(words) <= {"found", "expected", "at", "kind"}, reason


# ---- the program's own record of what was published: written, read again, and never lost
RECORD = (HERE / "frozen/cart.yaml").read_text("utf-8")


def write(root: Path, text: str, lab: str = "cart", term: str = "2027-spring") -> None:
    path = scenario.frozen_path(root, term, lab)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")


def test_a_record_reads_as_it_was_written(course):
    write(course, RECORD)
    ((key, found),) = scenario.load_course(course).published.items()
    assert (key, scenario.frozen_text(found)) == (("2027-spring", "cart"), RECORD)
    assert (found.variant["track.slope"], found.results["a: b # c"]) == ("−2 deg", "1e-05 m")
    assert COURSE.published == {}


@pytest.mark.parametrize(("term", "lab"), [("2027-spring", "ramp"), ("2026-autumn", "cart")])
def test_what_was_published_cannot_be_taken_out(term, lab, course):
    write(course, RECORD, lab, term)
    assert kit.message(scenario.load_course, course) == (
        f"published/{term}/{lab}.yaml:1:1: {lab} has been published, but terms/{term}.yaml has no "
        "such lab any more; put it back; to take its pages down, give it withdrawn: "
        "{at: 2027-03-01, because: …}"
    )


@pytest.mark.parametrize(("old", "new", "said"), REFUSED["records"])
def test_a_record_that_was_spoiled_is_refused(course, old, new, said):
    write(course, RECORD.replace(old, new))
    assert kit.message(scenario.load_course, course) == (
        f"published/2027-spring/cart.yaml:{said}; the program writes this file: "
        "restore it from version control"
    )


def test_the_fields_of_a_scenario_are_all_there():
    rows = [
        f"{path}: {text}" for path, text in scenario.fields_of(COURSE.scenarios["cart"]).items()
    ]
    assert rows == kit.table("reading")["fields"]


@pytest.mark.parametrize("name", COURSE.scenarios)
def test_every_number_can_be_put_back_as_it_was_written(name):
    given = COURSE.scenarios[name]
    assert scenario.numbers_of(
        scenario.with_numbers(given, scenario.numbers_of(given))
    ) == scenario.numbers_of(given)


# ---- the exported JSON Schema files: current, valid, and in agreement with the reader
FILES_OF = {"scenario": "scenarios/*", "term": "terms/*", "course": "course.*"}
FITTING = [
    (path, kind)
    for kind, files in (*FILES_OF.items(), ("inventory", "inventory.*"))
    for path in [*DEMO.glob(files), *kit.SOUND.glob(files)]
]
FITTING += [(path, "term") for path in (HERE / "full_terms").glob("*")]


def validator(name: str) -> Draft202012Validator:
    document = yaml.safe_load((FOLDER / f"{name}.schema.json").read_text("utf-8"))
    Draft202012Validator.check_schema(document)
    return Draft202012Validator(document)


def test_the_export_writes_the_files_that_are_checked_in(tmp_path):
    export(tmp_path)
    written = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert written == {path.name: path.read_bytes() for path in FOLDER.iterdir()}


@pytest.mark.parametrize(("path", "name"), FITTING, ids=lambda part: getattr(part, "stem", part))
def test_a_sound_file_fits_its_schema(path, name):
    errors = [error.message for error in validator(name).iter_errors(as_an_editor_reads(path))]
    assert errors == []


@pytest.mark.parametrize("case", REFUSED["by editors"])
def test_an_editor_objects_to_what_the_reader_refuses(case):
    data = as_an_editor_reads(HERE / "spoiled" / f"{case}.yaml")
    assert not validator("scenario").is_valid(data)


@pytest.mark.parametrize("path", [path for path, _ in FITTING if path.is_relative_to(DEMO)])
def test_a_demo_file_names_its_schema(path):
    first = path.read_text("utf-8").splitlines()[0]
    named = path.parent / first.removeprefix("# yaml-language-server: $schema=")
    assert named.resolve().parent == FOLDER


@pytest.mark.parametrize("name", ["scenario", "term", "course"])
def test_patterns_hold_in_the_stricter_syntax_of_editors(name):
    # ECMA-262 with the u flag refuses a backslash before anything but syntax characters and
    # a hyphen inside brackets (from memory).
    text = (FOLDER / f"{name}.schema.json").read_text("utf-8")
    patterns = re.findall(r'"pattern": "(.*)"', text)
    escaped = {sign for p in patterns for sign in re.findall(r"\\\\(.)", p)}
    assert patterns != []
    assert escaped <= set("^$.*+?()[]{}|/-")
