"""The lists of mistakes and questions: what is misspelt there is named with its place."""

import ast
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from fallwork.errors import BadInput
from fallwork.lesson import catalogues, textfiles
from fallwork.lesson.context import Context
from fallwork.lesson.document import Lesson
from fallwork.lesson.lab import Lab
from fallwork.lesson.measured import report_lesson
from fallwork.lesson.roles import words_of
from fallwork.lesson.setting import Setting
from lesson.kit import DEMO, ZOO, lesson_from, scenario_of, solved
from lesson.measured import kit

GENERATOR = Path(textfiles.__file__).parents[1]
FILES = sorted(ZOO.glob("*.yaml"))


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A copy of the text files, to be spoilt, that lessons are written from."""
    shutil.copytree(textfiles.FOLDER, tmp_path / "texts")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(textfiles, "FOLDER", tmp_path / "texts")
    _forget()
    yield tmp_path / "texts"
    _forget()


def _forget() -> None:
    textfiles.texts.cache_clear()
    catalogues.entries.cache_clear()


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


SLIP = "{id: S4, needs: symbols, topic: verdict, of: p"
SPOILT: dict[str, tuple[str, str, str]] = {
    "condition": (
        SLIP, SLIP.replace("symbols", "symbls"),
        'unknown condition "symbls"; did you mean "symbols"?',
    ),
    "topic": (
        SLIP, SLIP.replace("verdict", "verdct"), 'unknown topic "verdct"; did you mean "verdict"?'
    ),
    "quantity": (
        SLIP, SLIP.replace("of: p", "of: te1"), 'unknown letter "te1"; did you mean "te"?'
    ),
    "formula": (
        f"{SLIP}, formula: (am - ap)/am", f"{SLIP}, formula: (am - ap)/am)",
        '"(am - ap)/am)" is no formula; write e.g. m2*g/(m1 + m2)',
    ),
    "id": ("{id: S5,", "{id: S4,", 'the id "S4" a second time; choose another'),
    "key": (SLIP, SLIP.replace("needs", "need"), 'unknown key "need"; did you mean "needs"?'),
    "key twice": (
        SLIP, SLIP.replace("topic: ", "topic: summary, topic: "),
        'the key "topic" a second time (first in line LINE); keep one of the two',
    ),
    "no topic": (SLIP, SLIP.replace(" topic: verdict,", ""), "an entry without topic; add topic"),
}  # fmt: skip


@pytest.mark.parametrize("kind", SPOILT)
def test_what_is_misspelt_is_named_with_file_and_line(folder: Path, kind: str) -> None:
    old, new, message = SPOILT[kind]
    line = spoil(folder / "measured-slips.yaml", old, new)
    with pytest.raises(BadInput) as caught:
        report()
    (problem,) = caught.value.problems
    assert f"{problem.found}; {problem.expected}" == message.replace("LINE", str(line))
    assert (problem.place.file, problem.place.line) == ("texts/measured-slips.yaml", line)


def test_everything_that_is_misspelt_is_named_at_once(folder: Path) -> None:
    file = folder / "measured-slips.yaml"
    lines = [
        spoil(file, SLIP, SLIP.replace("symbols", "symbls")),
        spoil(file, "{id: S5,", "{id: S4,"),
    ]
    with pytest.raises(BadInput) as caught:
        report()
    assert [problem.place.line for problem in caught.value.problems] == lines


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


def test_the_vocabulary_is_what_the_set_ups_know() -> None:
    letters, fields = set[str](), set[str]()
    for file in FILES:
        scenario, apparatus, solution = solved(file)
        context = Context(
            Setting(
                scenario=scenario, apparatus=apparatus, solution=solution, figures=3, numbers=False
            )
        )
        letters |= set(Lab(context).letters)
        fields |= set(words_of(context))
    assert letters == catalogues.known("worked", "letters")
    assert fields == catalogues.known("worked", "fields")


def test_no_sentence_is_left_over() -> None:
    """Each word of a sentence's key stands somasshere in the program, alone or as a part of a name.

    A key that is put together from two words there may be left over and not be found.
    """
    words, patterns = _words_of_the_program()
    left = [
        f"{file.stem}: {'.'.join(way)}"
        for file in sorted(textfiles.FOLDER.glob("*.yaml"))
        for way in _ways(textfiles.texts(file.stem))
        if not all(_is_used(word, words, patterns) for word in way)
    ]
    assert left == []


def test_no_step_has_its_sentences_in_two_files() -> None:
    files = ("measuring", "judging")
    keys = [key for file in files for key in textfiles.texts(file)]
    assert sorted(set(keys)) == sorted(keys)


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
    """Every text in the code, whole and in pieces, and the shape of those with gaps."""
    words: set[str] = set()
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
