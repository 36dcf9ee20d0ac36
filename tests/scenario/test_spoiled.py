"""Spoiled files: each brings its whole message, at its place, and never a traceback.

A case is a YAML file and the message beside it.
"""

import os
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallwork.errors import BadInput
from fallwork.scenario import load_course, load_scenario
from fallwork.scenario.report import Impossible, Malformed, refusals
from scenario import kit

HERE = kit.HERE
SCENARIOS = sorted((HERE / "spoiled").glob("*.yaml"))
TERMS = sorted((HERE / "spoiled_terms").glob("*.yaml"))
COURSES = sorted((HERE / "spoiled_courses").glob("*.yaml"))


def expected(case: Path) -> str:
    return case.with_suffix(".txt").read_text("utf-8").rstrip("\n")


def test_there_are_enough_cases() -> None:
    assert len(SCENARIOS) >= 30
    assert len(TERMS) + len(COURSES) >= 30


@pytest.mark.parametrize("case", SCENARIOS, ids=lambda case: case.stem)
def test_a_spoiled_scenario_brings_its_message(case: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(case.parent)
    assert kit.message(load_scenario, Path(case.name)) == expected(case)


@pytest.mark.parametrize("case", TERMS, ids=lambda case: case.stem)
def test_a_spoiled_term_brings_its_message(case: Path, course: Path) -> None:
    Path("terms/2027-spring.yaml").unlink()
    shutil.copy(case, "terms")
    assert kit.message(load_course, course) == expected(case)


@pytest.mark.parametrize("case", COURSES, ids=lambda case: case.stem)
def test_a_spoiled_course_brings_its_message(case: Path, course: Path) -> None:
    shutil.copy(case, "course.yaml")
    assert kit.message(load_course, course) == expected(case)


NOT_UTF8 = "is not UTF-8 text; save the file as UTF-8 (if it is a text file at all)"
NO_FILE = "there is no such file;"
WRITTEN = {
    "picture.yaml": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR",
    "zeros.yaml": b"title: A\n" + bytes(1000),
    "latin.yaml": "title: Cart\nobjects: {cart: {mass: 1 g ± 1 g}}".encode("latin-1"),
    "large.yaml": b"# a comment\n" * 900_000,
}
FILES = {
    "picture.yaml": f"1:1: the byte 0x89 {NOT_UTF8}",
    "zeros.yaml": (
        "2:1: the invisible character <U+0000>; take it out (if this is a text file at all)"
    ),
    "latin.yaml": f"2:28: the byte 0xB1 {NOT_UTF8}",
    "large.yaml": (
        "1:1: the file is larger than 256 kB; a scenario takes about 2 kB; was another file named "
        "by mistake?"
    ),
    "terms/2027-autumn.yaml": f"1:1: {NO_FILE} terms holds 2027-spring.yaml",
    "empty/cart.yaml": f"1:1: {NO_FILE} empty holds no YAML files",
    "labs/cart.yaml": f"1:1: {NO_FILE} the folder labs does not exist either",
    "scenarios": "1:1: this is a folder; name a YAML file in it",
    "pipe.yaml": "1:1: this is not a regular file; name a YAML file",  # nor is it waited for
}


@pytest.mark.parametrize("file", FILES)
def test_what_is_no_scenario_file_is_refused(file: str, course: Path) -> None:
    Path("empty").mkdir()
    os.mkfifo("pipe.yaml")
    if file in WRITTEN:
        Path(file).write_bytes(WRITTEN[file])
    assert kit.message(load_scenario, Path(file)) == f"{file}:{FILES[file]}"


def test_a_file_that_the_system_refuses_is_told(
    course: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert kit.message(load_scenario, Path("scenarios/cart.yaml")) == (
        "scenarios/cart.yaml:1:1: the file can't be read (permission denied); make it readable"
    )


@pytest.mark.parametrize(
    ("file", "name", "message"),
    [
        (
            *("scenarios/train.yaml", "scenarios/train.yml"),
            "a file name that ends in .yml; rename it to train.yaml",
        ),
        (
            *("scenarios/train.yaml", "scenarios/Train 2.yaml"),
            'the file name "Train 2"; it becomes part of addresses: lower-case letters, digits and '
            "single hyphens, beginning with a letter; write train-2",
        ),
        (
            *("terms/2027-spring.yaml", "terms/step.yaml"),
            'the file name "step"; choose another: the site has other pages at that address',
        ),
    ],
)
def test_a_file_name_becomes_an_address(file: str, name: str, message: str, course: Path) -> None:
    Path(file).rename(name)
    assert kit.message(load_course, course) == f"{name}:1:1: {message}"


def test_a_folder_without_a_course_is_told(course: Path) -> None:
    assert kit.message(load_course, Path("terms")) == (
        "terms/course.yaml:1:1: there is no such file; terms holds 2027-spring.yaml"
    )


def test_all_files_are_told_at_once_and_in_order(course: Path) -> None:
    shutil.copy(HERE / "spoiled_courses/figures-too-many.yaml", "course.yaml")
    shutil.copy(HERE / "spoiled/mass-negative.yaml", "scenarios/cart.yaml")
    shutil.copy(HERE / "spoiled_terms/due-before-it-opens.yaml", "terms/2027-spring.yaml")
    assert kit.message(load_course, course).splitlines() == [
        'course.yaml:4:22: "12" where the number of significant figures should stand; '
        "write a whole number from 2 to 6",
        'scenarios/cart.yaml:3:28: the mass "-420.0 g"; a mass must be more than zero',
        "terms/2027-spring.yaml:7:10: reports due before the lab opens; "
        "due must not be before opens",
    ]


WORDS = ["\t", "\n", ": ", "{", "}", "[", "]", ", ", "- ", "&a ", "*a", "!x ", "#", '"', "'", "|"]
WORDS += ["? ", "±", "---\n", "\\", "\x00", "1e9", ".", "cart", "kind", "Earth", "anchor", "mass"]
SOUND = sorted((HERE / "sound").rglob("*.yaml"))


@given(
    file=st.sampled_from(SOUND),
    at=st.floats(min_value=0, max_value=1),
    cut=st.integers(min_value=0, max_value=30),
    word=st.sampled_from(WORDS) | st.text(max_size=3),
)
def test_a_damaged_file_is_read_or_told(file: Path, at: float, cut: int, word: str) -> None:
    text = file.read_text("utf-8")
    place = int(at * len(text))
    damaged = text[:place] + word + text[place + cut :]
    with tempfile.TemporaryDirectory() as folder:
        root = Path(shutil.copytree(HERE / "sound", Path(folder) / "course"))
        spoiled = root / file.relative_to(HERE / "sound")
        spoiled.write_bytes(damaged.encode("utf-8", "surrogatepass"))
        try:
            load_course(root)
        except BadInput as error:
            problems = error.problems
        else:
            problems = ()
    places = [problem.place for problem in problems if problem.place.file == str(spoiled)]
    assert places == sorted(places)


KINDS = {"number-in-words": Malformed, "surface-unknown": Malformed, "mass-negative": Impossible}


@pytest.mark.parametrize("case", KINDS)
def test_malformed_and_impossible_are_different(case: str) -> None:
    with pytest.raises(BadInput) as caught:
        load_scenario(HERE / "spoiled" / f"{case}.yaml")
    assert [type(problem) for problem in caught.value.problems] == [KINDS[case]]


def test_the_words_of_a_refusal_are_whole() -> None:
    """A comma that isn't quoted would cut them off."""
    for reason, words in refusals().items():
        assert {"found", "expected"} <= set(words) <= {"found", "expected", "at", "kind"}, reason
