"""The text files of the lesson: what is misspelt there is named with its place."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
import yaml

from fallwork.errors import BadInput
from fallwork.lesson import words as text_files
from fallwork.lesson.document import Lesson
from fallwork.lesson.lab import Lab
from fallwork.lesson.lab.roles import names_of, words_of
from fallwork.lesson.measured import report_lesson
from fallwork.mechanics import Interaction
from lesson.kit import DEMO, ZOO, lesson_from, scenario_of, solved, spoilable
from lesson.measured import kit

GENERATOR = Path(text_files.__file__).parents[1]
READ = (text_files.texts, text_files._saying)
FILES = sorted(ZOO.glob("*.yaml"))


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    yield from spoilable(text_files, tmp_path / "texts", monkeypatch, READ)


def level() -> Lesson:
    return lesson_from(scenario_of(DEMO / "level-track.yaml"))


def report() -> Lesson:
    return report_lesson(kit.context(kit.level(), numbers=False), rubric=())


def spoil(file: Path, old: str, new: str) -> int:
    """Replace a text that stands there once; the line of the change."""
    text = file.read_text("utf-8")
    before, found, after = text.partition(old)
    assert (found, old in after) == (old, False)
    file.write_text(f"{before}{new}{after}", "utf-8")
    return before.count("\n") + old[: _same(old, new)].count("\n") + 1


def _same(old: str, new: str) -> int:
    pairs = enumerate(zip(old, new, strict=False))
    return next((at for at, (a, b) in pairs if a != b), min(len(old), len(new)))


def test_a_field_that_no_sentence_is_given_is_named(folder: Path) -> None:
    line = spoil(
        folder / "measuring.yaml", "  number: number of trials", "  number: number of {it}"
    )
    with pytest.raises(BadInput) as caught:
        report()
    (problem,) = caught.value.problems
    assert problem.found == "unknown field {it}"
    assert (problem.place.file, problem.place.line) == ("texts/measuring.yaml", line)


def test_a_sentence_that_is_missing_is_named(folder: Path) -> None:
    line = spoil(folder / "forces.yaml", "\nparts:\n  forces:", "\nparts:\n  forcess:")
    with pytest.raises(BadInput) as caught:
        level()
    assert str(caught.value) == (
        f'texts/forces.yaml:{line}:3: no sentence parts.forces; did you mean "forcess"?'
    )


def test_what_a_file_of_notes_can_not_say_is_named(folder: Path) -> None:
    old, new = "{{ the(string) | capital }} goes slack", "{{ the(strin) | capital }} goes slack"
    line = spoil(folder / "run.txt.j2", old, new)
    with pytest.raises(BadInput, match=f"texts/run.txt.j2:{line}:1: 'strin' is undefined; name"):
        text_files.told("run", "notes", SimpleNamespace(until=None, moves=False, gripped="s"), str)
    spoil(folder / "run.txt.j2", "{% if run.until", "{% iff run.until")
    text_files._saying.cache_clear()
    with pytest.raises(BadInput, match=r"texts/run.txt.j2:5[0-9]:1: Encountered unknown tag 'iff'"):
        text_files.told("run", "notes", None, str)


def test_no_key_stands_twice(folder: Path) -> None:
    for file in text_files.FOLDER.glob("*.yaml"):
        text_files.tree_of(file.stem)
    spoil(folder / "forces.yaml", "\nparts:\n", "\nuncertainty: It is known.\nparts:\n")
    with pytest.raises(BadInput, match="uncertainty"):
        text_files.tree_of("forces")


def test_the_vocabulary_is_what_the_set_ups_know() -> None:
    letters, fields = set[str](), set[str]()
    for file in FILES:
        lab = Lab(*solved(file), figures=3, numbers=False)
        letters |= set(lab.letters)
        fields |= set(words_of(lab))
    assert letters == names_of("letters")
    assert fields == names_of("words")


def test_no_sentence_is_left_over() -> None:
    """Each word of a sentence's key stands somewhere in the program, alone or as a part of a name.

    A key that is put together from two words there may be left over and not be found.
    """
    words, patterns = _words_of_the_program()
    left = [
        f"{file.stem}: {'.'.join(way)}"
        for file in sorted(text_files.FOLDER.glob("*.yaml"))
        if not file.stem.startswith("roles")  # names that any step may use
        for way in _ways(text_files.texts(file.stem))
        if not all(_is_used(word, words, patterns) for word in way)
    ]
    assert left == []


def _ways(node: Any, way: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _ways(value, (*way, key))
    else:
        yield way


def _is_used(word: str, words: set[str], patterns: list[re.Pattern[str]]) -> bool:
    alone = word in words or all(part in words for part in re.split("[-_]", word))
    return alone or any(pattern.fullmatch(word) for pattern in patterns)


def _words_of_the_program() -> tuple[set[str], list[re.Pattern[str]]]:
    """Every text in the code, whole and in pieces, and the shape of those with gaps; the marks that
    the table of letters gives.
    """
    table = text_files.texts("symbols")
    words = {
        *(row["mark"] for row in table["interactions"].values()),
        *(row.get("mark") for row in table["quantities"].values()),
    }
    for path in GENERATOR.rglob("*.j2"):
        words |= set(re.findall(r"[\w-]+", path.read_text("utf-8")))
    patterns: set[str] = set()
    for path in GENERATOR.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                words |= {node.value, *re.split(r"\W+", node.value)}
            elif isinstance(node, ast.Attribute | ast.Name | ast.keyword):
                name = {ast.Attribute: "attr", ast.Name: "id", ast.keyword: "arg"}[type(node)]
                words.add(str(getattr(node, name)).lower())
            elif isinstance(node, ast.JoinedStr):
                texts = (getattr(part, "value", None) for part in node.values)
                whole = "".join(text if isinstance(text, str) else "\0" for text in texts)
                patterns |= {each for each in whole.split(".") if len(each.strip("\0-")) > 1}
    return words, [re.compile(re.escape(each).replace("\0", ".*")) for each in patterns]


def test_every_kind_of_force_has_its_row_in_the_lesson_and_in_figures() -> None:
    figures = yaml.safe_load((GENERATOR / "figures/texts.yaml").read_text("utf-8"))["forces"]
    kinds = {kind.key for kind in Interaction}
    assert set(text_files.texts("symbols")["interactions"]) == set(figures) == kinds
