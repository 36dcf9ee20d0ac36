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
CASES = sorted(HERE.glob("spoiled*/*.yaml"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.stem)
def test_a_spoiled_file_brings_its_message(
    case: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    load, named = load_scenario, Path(case.name)
    monkeypatch.chdir(case.parent)
    if case.parent != HERE / "spoiled":
        load, named = load_course, Path()
        monkeypatch.chdir(kit.copied(tmp_path))
        of_term = case.parent.name == "spoiled_terms"
        Path("terms/2027-spring.yaml" if of_term else "course.yaml").unlink()
        shutil.copy(case, "terms" if of_term else "course.yaml")
    assert kit.message(load, named) == case.with_suffix(".txt").read_text("utf-8").rstrip("\n")


REFUSED = kit.table("refused")
FILES, NAMES = REFUSED["files"], REFUSED["file names"]
WRITTEN = {
    "picture.yaml": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR",
    "zeros.yaml": b"title: A\n" + bytes(1000),
    "latin.yaml": "title: Cart\nobjects: {cart: {mass: 1 g ± 1 g}}".encode("latin-1"),
    "large.yaml": b"# a comment\n" * 900_000,
}


@pytest.mark.parametrize("file", FILES)
def test_what_is_no_scenario_file_is_refused(file: str, course: Path) -> None:
    Path("empty").mkdir()
    os.mkfifo("pipe.yaml")  # which isn't waited for
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


@pytest.mark.parametrize("change", NAMES)
def test_a_file_name_becomes_an_address(change: str, course: Path) -> None:
    file, _, name = change.partition(" to ")
    Path(file).rename(name)
    assert kit.message(load_course, course) == f"{name}:1:1: {NAMES[change]}"


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
            told = (problem.place for problem in error.problems)
            places = [place for place in told if place.file == str(spoiled)]
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
